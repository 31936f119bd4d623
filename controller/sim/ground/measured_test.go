package ground

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// record reads a table of numbers: fields without one are missing.
func record(t *testing.T, name, separator string, skip int) (rows [][]field) {
	t.Helper()
	f, err := os.Open("../../../testdata/soil/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sc := bufio.NewScanner(f)
	for n := 0; sc.Scan(); n++ {
		if n < skip || strings.TrimSpace(sc.Text()) == "" {
			continue
		}
		var row []field
		for text := range strings.SplitSeq(strings.TrimSpace(sc.Text()), separator) {
			v, err := strconv.ParseFloat(text, 64)
			row = append(row, field{v, err == nil && v > -90, text})
		}
		rows = append(rows, row)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return rows
}

type field struct {
	v    float64
	ok   bool
	text string
}

// sample is what a station's probes read at a time, s from the first sample.
type sample struct {
	atS   float64
	top   field
	below []field // by depth, shallowest first
}

// misfit collects squared errors.
type misfit struct{ sum, n float64 }

func (m *misfit) add(err float64)     { m.sum += err * err; m.n++ }
func (m misfit) rmse() float64        { return math.Sqrt(m.sum / m.n) }
func diffusivity(mm2s float64) Params { return lonely(0.008, 3, 0.03, mm2s*2.4, mm2s) }

// follow holds the soil's top at the highest probe's record and returns how far the probes below
// are missed between two times.
func follow(t *testing.T, p Params, wave physics.GroundWave, day0 float64, samples []sample, depthM []float64, fromS, untilS float64) []misfit {
	t.Helper()
	p.DepthM, p.Ground = 6, wave
	s := newStore(t, p)
	s.Fill(func(z float64) unit.Celsius { return wave.At(z, day0) })
	miss := make([]misfit, len(depthM))
	var probes []Probe
	for _, z := range depthM {
		pr, err := s.Probe(Spot{DepthM: z, BesideM: 0.03})
		if err != nil {
			t.Fatal(err)
		}
		probes = append(probes, pr)
	}
	last := samples[0]
	for _, now := range samples[1:] {
		if now.atS > untilS {
			break
		}
		if !now.top.ok {
			continue
		}
		parts := max(1, math.Round((now.atS-last.atS)/21600)) // of 6 h at most
		for k := 1.0; k <= parts; k++ {
			top := last.top.v + (now.top.v-last.top.v)*k/parts
			s.Step(Drive{Day: day0 + now.atS/86400, Air: unit.Celsius(top), SurfaceWm2K: held}, (now.atS-last.atS)/parts)
		}
		last = now
		for i, b := range now.below {
			if b.ok && now.atS >= fromS {
				miss[i].add(float64(s.Read(probes[i])) - b.v)
			}
		}
	}
	return miss
}

// calibrate finds the diffusivity that misses the probes from the given one down least.
func calibrate(t *testing.T, wave physics.GroundWave, day0 float64, samples []sample, depthM []float64, deep int, fromS, untilS float64) float64 {
	return lowest(0.15, 1, 9, func(mm2s float64) float64 {
		w := wave
		w.DiffusivityM2s = mm2s * 1e-6
		var all misfit
		for _, m := range follow(t, diffusivity(mm2s), w, day0, samples, depthM, fromS, untilS)[deep:] {
			all.sum += m.sum
			all.n += m.n
		}
		return all.rmse()
	})
}

// lowest finds where f, which falls and then rises, is least, by the golden section.
func lowest(low, high float64, steps int, f func(float64) float64) float64 {
	g := (math.Sqrt(5) - 1) / 2
	a, b := high-g*(high-low), low+g*(high-low)
	fa, fb := f(a), f(b)
	for range steps {
		if fa < fb {
			high, b, fb = b, a, fa
			a = high - g*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + g*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}

// annual is the wave at the top of samples over whole years, by least squares.
func annual(samples []sample, day0, untilS float64) physics.GroundWave {
	var n, mean, c, s float64
	for _, x := range samples {
		if x.top.ok && x.atS <= untilS {
			sin, cos := math.Sincos(2 * math.Pi * (day0 + x.atS/86400) / 365)
			n, mean, c, s = n+1, mean+x.top.v, c+2*x.top.v*cos, s+2*x.top.v*sin
		}
	}
	warmest := math.Atan2(s, c) / (2 * math.Pi) * 365
	return physics.GroundWave{Mean: unit.Celsius(mean / n), Amplitude: unit.Kelvin(math.Hypot(c, s) / n), ColdestDay: warmest + 182.5}
}

// Bedford: held at the 5 cm probe, diffusivity from 2010 to 2012, tried on 2013 to 2015. The
// 50 cm probe drifts up from summer 2014 and in May 2016 breaks away by 4 K for good.
func TestMeasuredSoilUnderGrass(t *testing.T) {
	first := time.Date(2010, 1, 1, 12, 0, 0, 0, time.UTC)
	var samples []sample
	for _, r := range record(t, "USCRN_IN_Bedford_5_WNW_daily.csv", ",", 1) {
		day, err := time.Parse("20060102", r[1].text)
		if err != nil {
			t.Fatal(err)
		}
		at := day.Add(12 * time.Hour).Sub(first).Seconds()
		n := len(r)
		if at >= 0 && at < 2191*86400 {
			samples = append(samples, sample{at, r[n-5], []field{r[n-4], r[n-3], r[n-2], r[n-1]}})
		}
	}
	depths := []float64{0.05, 0.15, 0.45, 0.95} // under the 5 cm probe
	const threeYearsS = 1096 * 86400
	wave := annual(samples, 0.5, threeYearsS)
	mm2s := calibrate(t, wave, 0.5, samples, depths, 2, 90*86400, threeYearsS)
	wave.DiffusivityM2s = mm2s * 1e-6
	t.Logf("diffusivity %.3f mm²/s (soil_records-S006: 0.605, S007: 0.635), wave %+v", mm2s, wave)
	if !(mm2s > 0.45 && mm2s < 0.8) {
		t.Errorf("diffusivity is %.3f mm²/s, far from soil_records-S006 and S007", mm2s)
	}
	miss := follow(t, diffusivity(mm2s), wave, 0.5, samples, depths, threeYearsS, math.Inf(1))
	for i, most := range []float64{0.3, 0.3, 0.7, 0.5} {
		t.Logf("%3.0f cm: RMSE %.2f K over %.0f days", 100*depths[i]+5, miss[i].rmse(), miss[i].n)
		if !(miss[i].rmse() <= most && miss[i].n > 1000) {
			t.Errorf("%.0f cm: RMSE %.2f K over %.0f days, at most %g over 1000", 100*depths[i]+5, miss[i].rmse(), miss[i].n, most)
		}
	}
}

// Ford Dry Lake: held at the 4 inch probe, diffusivity from January to June, tried on July to
// December. There is one year only. soil_records-S013 warns that its probe pairs disagree.
func TestMeasuredSoilInTheDesert(t *testing.T) {
	var samples []sample
	for i, r := range record(t, "SCAN_2184_FordDryLake_2015_hourly.csv", ",", 1) {
		n := len(r)
		samples = append(samples, sample{float64(i) * 3600, r[n-4], []field{r[n-3], r[n-2], r[n-1]}})
	}
	depths := []float64{0.1016, 0.4064, 0.9144}
	wave := annual(samples, 0, math.Inf(1)) // far below, so that it matters little
	const halfS = 181 * 86400
	mm2s := calibrate(t, wave, 0, samples, depths, 1, 60*86400, halfS)
	wave.DiffusivityM2s = mm2s * 1e-6
	t.Logf("diffusivity %.3f mm²/s, wave %+v", mm2s, wave)
	miss := follow(t, diffusivity(mm2s), wave, 0, samples, depths, halfS, math.Inf(1))
	for i, most := range []float64{3, 1, 1} {
		t.Logf("%3.0f cm: RMSE %.2f K over %.0f hours", 100*depths[i]+10.16, miss[i].rmse(), miss[i].n)
		if !(miss[i].rmse() <= most && miss[i].n > 4000) {
			t.Errorf("%.0f cm: RMSE %.2f K over %.0f hours, at most %g over 4000", 100*depths[i]+10.16, miss[i].rmse(), miss[i].n, most)
		}
	}
}
