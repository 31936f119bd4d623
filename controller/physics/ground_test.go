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
		date, err := time.Parse(layoutOf(l[column[dateColumn]]), l[column[dateColumn]])
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
