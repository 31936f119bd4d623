package greenhouse_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
)

// Fog over surfaces that are cold all at once: they take half of the air's water in a step and no more, two
// of them share that half, and the heat of what they do not take is not lost. Where fans blow it is half of
// what pipes as cold as they were cannot take.
func TestColdSurfacesTakeHalfOfAFog(t *testing.T) {
	for _, c := range []struct {
		name                     string
		leafArea                 float64
		air, leaves, cover, soil unit.Celsius
		outside                  unit.Celsius
		flowM3s                  float64
	}{
		{"leaves", 8, -5, -10, 5, 10, 0, 0},
		{"cover", 0, -5, 0, -5, 30, -25, 0},
		{"soil", 0, 5, 0, 30, -20, -25, 0},
		{"leaves and cover", 8, -5, -10, -5, 10, -25, 0},
		{"soil and cover", 0, -5, 0, -5, -10, -25, 0},
		{"all", 8, -5, -10, -5, -10, -25, 0},
		{"cover and pipes", 0, -5, 0, -5, 30, -25, 0.2},
	} {
		p := hoop()
		p.Crop.LeafArea, p.Vents, p.LeakPerH, p.DampSoil = c.leafArea, greenhouse.Vents{}, 0, 1
		p.Cover.Films, p.CoverM2, p.VolumeM3 = 1, 5*p.FloorM2, 0.5*p.FloorM2
		h, _ := build(t, p, c.soil, 1e7)
		st := greenhouse.Start(c.air, 0.025)
		st.Crop, st.Cover = c.leaves, [3]unit.Celsius{c.cover, c.cover, c.cover}
		h.Restore(st)
		heat, water := h.HeatJ(), h.WaterKg()
		f := h.Step(night(c.outside, 0.9, 15, 10), []greenhouse.Fan{{FlowM3s: c.flowM3s}}, 300)
		took := max(0, -f.TranspiredKg) + max(0, f.CondensedKg) + max(0, -f.EvaporatedKg)
		pipesKg := 300 * c.flowM3s / physics.SpecificVolume(c.air, st.Vapour, pressure) *
			(st.Vapour - physics.SatHumidityRatio(st.Wall[0], pressure))
		if share := took / (water - pipesKg); !(math.Abs(share-0.5) < 1e-6) || f.CondensedKg < 0 {
			t.Errorf("%s: %.6f of the water were taken; leaves %.3g, cover %.3g, soil %.3g kg",
				c.name, share, -f.TranspiredKg, f.CondensedKg, -f.EvaporatedKg)
		}
		passed := size(f.SunJ, f.HeaterJ, f.FanJ, f.SkyJ, f.OutsideJ, f.OpenJ, f.WaterJ, f.SoilJ, heat)
		if off := heatsJ(&f) - (h.HeatJ() - heat); !(math.Abs(off) <= 1e-9*passed) {
			t.Errorf("%s: heat is off by %g J of %g", c.name, off, passed)
		}
		if off := waterKg(&f) - (h.WaterKg() - water); !(math.Abs(off) <= 1e-9*water) {
			t.Errorf("%s: water is off by %g kg of %g", c.name, off, water)
		}
	}
}

// A cover whose water has dripped has none to give back when the house warms it.
func TestADryingCoverGivesNothingBack(t *testing.T) {
	h, _ := build(t, hoop(), 20, 1e7)
	st := greenhouse.Start(20, physics.HumidityRatio(20, 0.5, pressure))
	st.Cover = [3]unit.Celsius{8, 8, 8}
	h.Restore(st)
	heat := h.HeatJ()
	f := h.Step(noon(30, 900), nil, 300)
	if f.CondensedKg != 0 {
		t.Errorf("%g kg drip from a cover that warms from 8 to %.1f °C", f.CondensedKg, h.State().Cover[1])
	}
	if off := heatsJ(&f) - (h.HeatJ() - heat); !(math.Abs(off) <= 1e-9*heat) {
		t.Errorf("heat is off by %g J of %g", off, heat)
	}
}

// What leaks brings each kg of dry air with its vapour: ASHRAE Fundamentals 2017, ch. 1, eq. 30.
func TestLeaksBringMoistAir(t *testing.T) {
	p := hoop()
	p.LeakPerH = 5
	h, _ := build(t, p, 15, 1e6)
	w := night(30, 0.9, 0, 0)
	f := h.Step(w, nil, 300)
	airKg := h.WaterKg() / h.State().Vapour
	air, openKg := float64(h.State().Air), f.LeakPerH/3600*300*airKg
	want := openKg*(1006+1860*w.Vapour)*(float64(w.Outside)-air) + f.OpenKg*(2501e3+1860*air)
	if f.VentPerH != 0 || math.Abs(f.OpenJ/want-1) > 1e-9 {
		t.Errorf("leaks bring %g J, want %g", f.OpenJ, want)
	}
}

// noted is soil that notes what drives it.
type noted struct {
	slab
	was ground.Drive
}

func (s *noted) Advance(in *ground.Drive, dtS float64, f *ground.Flux) {
	s.was = *in
	s.slab.Advance(in, dtS, f)
}

// What evens a bed out is by how much less heat it gets where it is a kelvin warmer.
func TestABedIsEvenedOutByAllItMeets(t *testing.T) {
	p := hoop()
	p.Cover.Thermal, p.DampSoil = 0.6, 0
	drive := func(soil unit.Celsius) ground.Drive {
		s := &noted{slab: slab{c: soil, floorM2: p.FloorM2}}
		h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: p.FloorM2, Soil: s}})
		if err != nil {
			t.Fatal(err)
		}
		h.Restore(greenhouse.Start(12, physics.HumidityRatio(12, 0.4, pressure)))
		h.Step(night(-3, 0.8, 2, 15), nil, 1) // so short that the house does not answer
		return s.was
	}
	const byK = 0.01
	a, b := drive(12), drive(12+byK)
	want := (a.RadiationW - b.RadiationW) / p.FloorM2 / byK
	if math.Abs(a.EvenWm2K/want-1) > 0.03 {
		t.Errorf("a bed gives off %.3f W/(m² K) more, it is said %.3f", want, a.EvenWm2K)
	}
}
