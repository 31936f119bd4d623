package greenhouse_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/weather"
)

// heatsJ is what of f entered, and waterKg likewise.
func heatsJ(f *greenhouse.Flux) float64 {
	return f.SunJ + f.HeaterJ + f.FanJ + f.SkyJ + f.OutsideJ + f.OpenJ + f.WaterJ - f.SoilJ
}

func waterKg(f *greenhouse.Flux) float64 {
	return f.TranspiredKg + f.EvaporatedKg + f.OpenKg - f.CondensedKg - f.PipesKg
}

func size(v ...float64) (sum float64) {
	for _, x := range v {
		sum += math.Abs(x)
	}
	return sum
}

func params(t *rapid.T) greenhouse.Params {
	p := hoop()
	f := func(least, most float64, name string) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
	p.LeakPerH, p.DampSoil = f(0, 5, "leak"), f(0, 1, "damp")
	p.ContentsJm2K = f(0, 3e4, "contents")
	p.Cover.Films = rapid.IntRange(1, 2).Draw(t, "films")
	p.Cover.Thermal = f(0, 0.9, "thermal")
	p.Crop.LeafArea = rapid.SampledFrom([]float64{0, 0.1, 2, 5}).Draw(t, "leaves")
	p.Vents.PerH = rapid.SampledFrom([]float64{0, 5, 80}).Draw(t, "vents")
	p.Vents.Band = rapid.SampledFrom([]unit.Kelvin{0, 3}).Draw(t, "band")
	if rapid.Bool().Draw(t, "screened") {
		p.Cover.Screen = greenhouse.Screen{UnderWm2: 20, Thermal: 0.3}
	}
	if rapid.Bool().Draw(t, "heated") {
		p.Heater = greenhouse.Heater{OutputW: f(1e3, 2e5, "heater"), Efficiency: 0.8, Setpoint: 6, Band: 1}
	}
	return p
}

func sample(t *rapid.T) *weather.Sample {
	f := func(least, most float64, name string) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
	w := &weather.Sample{
		Have: weather.Wind | weather.Sky, Outside: unit.Celsius(f(-35, 40, "outside")), PressurePa: f(75e3, 104e3, "pressure"),
		GlobalWm2: max(0, f(-500, 1000, "sun")), WindMS: f(0, 20, "wind"), SkyWm2: f(100, 450, "sky"),
	}
	if rapid.Bool().Draw(t, "no wind, no sky in the file") {
		w.Have, w.WindMS, w.SkyWm2 = 0, 0, 0
	}
	w.Vapour = physics.HumidityRatio(w.Outside, f(0.05, 1, "humidity"), w.PressurePa)
	return w
}

// Whatever the house, weather and fans: heat and water that entered are what the house holds more,
// to 1e-9 of what passed, and every number stays one.
func TestEveryStepKeepsHeatAndWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := params(t)
		s := &slab{c: unit.Celsius(rapid.Float64Range(-5, 35).Draw(t, "soil")), capacityJK: 5e5 * p.FloorM2, floorM2: p.FloorM2}
		h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: p.FloorM2, Soil: s}})
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 8).Draw(t, "weathers") {
			w := sample(t)
			dtS := rapid.SampledFrom([]float64{1, 10, 60, 300}).Draw(t, "step")
			fans := []greenhouse.Fan{{FlowM3s: rapid.SampledFrom([]float64{0, 0.3, 3}).Draw(t, "flow"), PowerW: 400}}
			for range 4 {
				heat, water, soil := h.HeatJ(), h.WaterKg(), s.c
				f := h.Step(w, fans, dtS)
				passed := size(f.SunJ, f.HeaterJ, f.FanJ, f.SkyJ, f.OutsideJ, f.OpenJ, f.WaterJ, f.SoilJ, heat)
				if off := math.Abs(heatsJ(&f) - f.StoredJ); !(off <= 1e-9*passed) || !(math.Abs(h.HeatJ()-heat-f.StoredJ) <= 1e-9*passed) {
					t.Fatalf("heat is off by %g J of %g: %+v", off, passed, f)
				}
				if off := math.Abs(waterKg(&f) - f.StoredKg); !(off <= 1e-9*(water+size(f.TranspiredKg, f.OpenKg, f.CondensedKg, f.PipesKg))) {
					t.Fatalf("water is off by %g kg: %+v", off, f)
				}
				if got := f.SoilJ; math.Abs(got-f.Beds[0].SurfaceJ-f.Beds[0].SensibleJ-f.Beds[0].LatentJ-f.Beds[0].WaterJ) > 1e-9*passed {
					t.Fatalf("the soil took %g J of %g", s.capacityJK*float64(s.c-soil), got)
				}
				st := h.State()
				if !(st.Air > -60 && st.Air < 90) || !(st.Vapour > 0) || st.Vapour > 0.2 || !(h.Humidity(pressure) > 0) {
					t.Fatalf("the house is at %+v", st)
				}
			}
		}
	})
}
