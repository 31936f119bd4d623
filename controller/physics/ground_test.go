package physics

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

// Rows ground_wave-S001 to S031.
func TestGroundWaveAgreesWithTheReferenceTable(t *testing.T) {
	walk(t, "ground_wave.csv", func(r *row) []float64 {
		alpha, z := r.in["alpha_mm2_s"]/1e6, r.in["z_m"]
		share, lagS := WaveAtDepth(alpha, yearDays*dayS, z)
		hourly, hourlyLagS := WaveAtDepth(alpha, dayS, z)
		switch r.quantity {
		case "damping depth sqrt(alpha*P/pi)":
			return []float64{DampingDepthM(alpha, r.in["period_s"])}
		case "annual damping convention (OSU soil physics toolkit): d=sqrt(2 Dh/w), w=2pi/365 per day":
			return []float64{DampingDepthM(r.in["Dh_m2_d"]/dayS, yearDays*dayS)}
		case "undisturbed ground temperature":
			w := GroundWave{unit.Celsius(r.in["Tmean_C"]), unit.Kelvin(r.in["amp_K"]), r.in["d0"], alpha}
			return []float64{float64(w.At(z, r.in["day"]))}
		case "phase lag at depth":
			return []float64{lagS / dayS}
		case "amplitude ratio at depth":
			return []float64{share}
		case "diurnal amplitude ratio":
			return []float64{hourly}
		case "diurnal lag":
			return []float64{hourlyLagS / 3600}
		case "depth of 5 % annual amplitude":
			depthM := 0.0
			for share := 1.0; share > 0.05; depthM += 1e-4 {
				share, _ = WaveAtDepth(alpha, r.in["period_d"]*dayS, depthM)
			}
			return []float64{depthM}
		}
		return nil
	}, nil)
}

// bedford reads the daily soil temperatures of 2011 to 2016 at the given depths, days in years of
// 365 of which each has 365.25 real ones.
func bedford(t *testing.T, depthsCM ...string) (readings []GroundReading) {
	t.Helper()
	f, err := os.Open("../../testdata/soil/USCRN_IN_Bedford_5_WNW_daily.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range lines[0] {
		column[strings.ToLower(name)] = i
	}
	start := time.Date(2011, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, l := range lines[1:] {
		date, err := time.Parse("20060102", l[column["lst_date"]])
		if err != nil {
			t.Fatal(err)
		}
		if date.Year() < 2011 || date.Year() > 2016 {
			continue
		}
		for _, depth := range depthsCM {
			i, ok := column["soil_temp_"+depth+"_daily"]
			if !ok {
				t.Fatalf("no column of %s cm in %v", depth, lines[0])
			}
			c, err := strconv.ParseFloat(l[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			cm, err := strconv.ParseFloat(depth, 64)
			if err != nil {
				t.Fatal(err)
			}
			if c > -90 {
				days := math.Mod(date.Sub(start).Hours()/24, 365.25) * yearDays / 365.25
				readings = append(readings, GroundReading{days, cm / 100, unit.Celsius(c)})
			}
		}
	}
	return readings
}

func TestAFittedRecordHasThePublishedWave(t *testing.T) {
	// soil_records-S001 to S005: days after 1 January of the warmest, K left.
	for _, c := range []struct {
		id, depthCM                    string
		mean, amplitude, warmest, left float64
		days                           int
	}{
		{"soil_records-S001", "5", 12.907, 11.007, 204.13, 2.225, 2186},
		{"soil_records-S002", "10", 12.895, 10.781, 205.76, 2.068, 2186},
		{"soil_records-S003", "20", 12.912, 10.344, 207.63, 1.853, 2186},
		{"soil_records-S004", "50", 13.476, 9.303, 217.10, 1.945, 2186},
		{"soil_records-S005", "100", 13.060, 7.488, 225.99, 1.088, 2186},
	} {
		readings := bedford(t, c.depthCM)
		for i := range readings {
			readings[i].DepthM = 0 // the wave at that depth itself
		}
		w, off, err := FitGround(readings, 0.6e-6)
		if err != nil {
			t.Fatal(err)
		}
		if len(readings) != c.days {
			t.Errorf("%s: %d days, want %d", c.id, len(readings), c.days)
		}
		near(t, c.id+" mean", 0, float64(w.Mean), c.mean, 0.02)
		near(t, c.id+" amplitude", 0, float64(w.Amplitude), c.amplitude, 0.02)
		near(t, c.id+" warmest day", 0, math.Mod(w.ColdestDay+yearDays/2, yearDays)*365.25/yearDays, c.warmest, 0.2)
		near(t, c.id+" K left", 0, float64(off), c.left, 0.02)
	}
}

func TestTheWaveOfAYearsHourlyAir(t *testing.T) {
	// testdata/weather/statistics.csv, Golden: the harmonic of the dry bulb.
	var readings []GroundReading
	for i, f := range epw(t, "USA_CO_Golden-NREL.724666_TMY3.epw.gz") {
		readings = append(readings, GroundReading{(float64(i) + 0.5) / 24, 0, unit.Celsius(number(t, f[6]))})
	}
	w, off, err := FitGround(readings, 0.6e-6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", 0, float64(w.Mean), 9.761, 0.002)
	near(t, "amplitude", 0, float64(w.Amplitude), 11.307, 0.01)
	near(t, "warmest day", 0, math.Mod(w.ColdestDay+yearDays/2, yearDays), 202.28, 0.1)
	near(t, "K left", 0, float64(off), 6.594, 0.01)
}

func TestTwoDepthsTellTheDiffusivity(t *testing.T) {
	// soil_records-S006 and S007: 0.605 by amplitudes, 0.635 by lag; a fit of both lies near.
	w, off, err := FitGround(bedford(t, "5", "100"), 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "diffusivity mm²/s", 0, w.DiffusivityM2s*1e6, 0.62, 0.035)
	near(t, "mean", 0, float64(w.Mean), (12.907+13.060)/2, 0.05)
	near(t, "K left", 0, float64(off), 1.75, 0.15) // of 2.225 and 1.088, as squares
	// The surface swings more than 5 cm under it, 11.007 K, and is earlier than day 204.
	if !(w.Amplitude > 11.1 && w.Amplitude < 12.2) {
		t.Errorf("amplitude at the surface is %.3f K", w.Amplitude)
	}
	near(t, "warmest day", 0, math.Mod(w.ColdestDay+yearDays/2, yearDays), 201.8, 2)
}

func TestAFitFindsTheWaveThatMadeTheReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := GroundWave{
			Mean:           unit.Celsius(rapid.Float64Range(-5, 25).Draw(t, "mean")),
			Amplitude:      unit.Kelvin(rapid.Float64Range(2, 20).Draw(t, "amplitude")),
			ColdestDay:     rapid.Float64Range(0, 364.9).Draw(t, "coldest day"),
			DiffusivityM2s: rapid.Float64Range(0.1, 2).Draw(t, "mm²/s") * 1e-6,
		}
		var readings []GroundReading
		for day := 0.0; day < 365; day += 7 {
			for _, depthM := range []float64{0, 0.5, 2} {
				readings = append(readings, GroundReading{day, depthM, want.At(depthM, day)})
			}
		}
		for _, alpha := range []float64{0, want.DiffusivityM2s} {
			got, off, err := FitGround(readings, alpha)
			if err != nil {
				t.Fatal(err)
			}
			if off > 1e-3 || math.Abs(got.DiffusivityM2s/want.DiffusivityM2s-1) > 1e-3 {
				t.Fatalf("%+v came back as %+v, %g K off", want, got, off)
			}
			for _, r := range readings {
				if back := got.At(r.DepthM, r.Day); math.Abs(float64(back.Sub(r.C))) > 0.01 {
					t.Fatalf("%g °C at %g m on day %g came back as %g", r.C, r.DepthM, r.Day, back)
				}
			}
		}
	})
}

func TestReadingsThatTellNoWaveAreRefused(t *testing.T) {
	year := GroundWave{10, 12, 20, 0.6e-6}
	span := func(days, depthM float64) (readings []GroundReading) {
		for day := 0.0; day < days; day++ {
			readings = append(readings, GroundReading{day, depthM, year.At(depthM, day)})
		}
		return readings
	}
	for _, c := range []struct {
		name     string
		readings []GroundReading
		alpha    float64
		want     error
	}{
		{"none", nil, 0.6e-6, ErrShortRecord},
		{"none, of unknown soil", nil, 0, ErrOneDepth},
		{"two days", span(2, 0), 0.6e-6, ErrShortRecord},
		{"two months", span(60, 0), 0.6e-6, ErrShortRecord},
		{"the same day over and over", []GroundReading{{5, 0, 1}, {5, 0, 2}, {5, 0, 3}, {5, 0, 4}}, 0.6e-6, ErrShortRecord},
		{"two months at two depths", append(span(60, 0), span(60, 0.01)...), 0, ErrShortRecord},
		{"a year at one depth of unknown soil", span(365, 0.5), 0, ErrOneDepth},
		{"half a year", span(200, 0), 0.6e-6, nil},
		{"a year", span(365, 0), 0.6e-6, nil},
	} {
		if _, _, err := FitGround(c.readings, c.alpha); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	for _, bad := range []GroundReading{
		{math.NaN(), 0, 1}, {1, math.Inf(1), 1}, {1, 0, unit.Celsius(math.NaN())}, {1, -0.1, 1},
	} {
		if _, _, err := FitGround(append(span(365, 0), bad), 0.6e-6); err == nil {
			t.Errorf("reading %+v is taken", bad)
		}
	}
}

func TestGroundWithoutConductionKeepsItsMean(t *testing.T) {
	w := GroundWave{Mean: 9, Amplitude: 12, ColdestDay: 20}
	if got := w.At(1, 20); got != 9 {
		t.Errorf("ground that conducts nothing is %g °C", got)
	}
	if got := w.At(0, 20); got != -3 {
		t.Errorf("its surface is %g °C on the coldest day", got)
	}
	if share, lag := WaveAtDepth(0, dayS, 1); share != 0 || lag != 0 {
		t.Errorf("share %g, lag %g", share, lag)
	}
}
