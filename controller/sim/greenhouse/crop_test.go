package greenhouse_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
)

// The steady house's leaves, which give off what their own temperature drives, transpire what the
// combination equation says that has leaf temperature eliminated, with the heat that they turn over
// for net radiation:
//
//	λE = (Δ Rn + 2 LAI ρ c_p D / r_h) / (Δ + γ (r_b + r_s) / r_h)
//
// J. L. Monteith 1965, Evaporation and environment, Symposia of the Society for Experimental Biology
// 19:205–234, for both sides of the leaves; within what its straight lines are worth, 2 %.
func TestLeavesAgreeWithTheCombinationEquation(t *testing.T) {
	fan := []greenhouse.Fan{{FlowM3s: 1.5}}
	for _, c := range []struct {
		name    string
		sun     float64
		leaves  float64
		outside unit.Celsius
		soil    unit.Celsius
		fans    []greenhouse.Fan
	}{
		{"a bright day", 600, 3, 10, 18, nil},
		{"dusk", 8, 3, 10, 18, nil},
		{"a dull day", 120, 3, 10, 18, nil},
		{"young plants", 500, 0.5, 10, 18, nil},
		{"young plants on a dull day", 150, 0.2, 10, 18, nil},
		{"a hot day with open vents", 850, 2, 28, 22, nil},
		{"air that dries in cold pipes", 500, 2, 10, 6, fan},
		{"air that warms in warm pipes", 20, 2, 0, 20, fan},
	} {
		p := hoop()
		p.Crop.LeafArea = c.leaves
		h, _ := build(t, p, c.soil, 0)
		f := settle(h, noon(c.outside, c.sun), c.fans)
		st := h.State()
		lai := c.leaves * p.FloorM2

		const rb, cp = 275.0, 1006.0
		rho := 1 / physics.SpecificVolume(10, physics.HumidityRatio(10, 0.8, pressure), pressure) // the house's air
		rh := rho * cp / 5
		es := physics.SatPressurePa(st.Air)
		deficit := es - st.Vapour*pressure/(0.621945+st.Vapour)
		leafDeficit := physics.SatPressurePa(st.Crop) - st.Vapour*pressure/(0.621945+st.Vapour)
		sunIn := c.sun * p.Cover.Transmission
		// The stomata as published: 82 s/m least, 4.30 and 0.54 W/m², 4.3e-6 Pa⁻².
		rs := 82 * (sunIn + 4.3) / (sunIn + 0.54) * min(5.8, 1+4.3e-6*leafDeficit*leafDeficit)
		lambda := 2.501e6 - 2361*float64(st.Crop)
		// γ for vapour pressure, where vapour is not small beside air: a pascal is more humidity ratio.
		dry := 1 - (es-deficit/2)/pressure
		gamma := cp * pressure / (0.622 * lambda) * dry * dry
		slope := (physics.SatPressurePa(st.Crop) - es) / float64(st.Crop.Sub(st.Air))

		gotW := f.TranspiredKg * lambda / 300
		netW := gotW + 2*lai*5*float64(st.Crop.Sub(st.Air))
		wantW := (slope*netW + 2*lai*rho*cp*deficit/rh) / (slope + gamma*(rb+rs)/rh)
		t.Logf("%s: air %.1f °C, leaves %.1f °C, humidity %.0f %%, %.0f W/m² of floor, %.0f s/m", c.name, st.Air, st.Crop, 100*h.Humidity(pressure), gotW/p.FloorM2, rs)
		if math.Abs(gotW-wantW) > 0.02*wantW {
			t.Errorf("%s: leaves turn over %.0f W, want %.0f", c.name, gotW, wantW)
		}
	}
}

// By night stomata are nearly shut, eight times their least resistance (4.30 / 0.54); by day sun
// opens them and dry air closes them.
func TestLeavesTranspireByDay(t *testing.T) {
	p := hoop()
	p.DampSoil = 0
	byDay, _ := build(t, p, 15, 0)
	byNight, _ := build(t, p, 15, 0)
	day := settle(byDay, noon(10, 500), nil).TranspiredKg
	dark := settle(byNight, night(10, 0.5, 3, 15), nil).TranspiredKg
	if !(dark > 0 && day > 5*dark) {
		t.Errorf("leaves give off %.3g kg in five minutes by day and %.3g by night", day, dark)
	}
	// A greenhouse crop in full leaf gives off 2 to 4 litres a day for each m²; common practice, no
	// source: at noon 0.2 to 0.7 l/(m² h).
	p.Crop.LeafArea = 3
	h, _ := build(t, p, 18, 0)
	if got := settle(h, noon(18, 800), nil).TranspiredKg * 12 / p.FloorM2; got < 0.2 || got > 0.7 {
		t.Errorf("leaves give off %.2f l/(m² h) at noon", got)
	}
}

// Dew falls on leaves colder than the house's dew point, shut or not, and warms them.
func TestDewFallsOnColdLeaves(t *testing.T) {
	h, _ := build(t, hoop(), 2, 0)
	st := greenhouse.Start(12, physics.HumidityRatio(12, 0.95, pressure))
	st.Crop = 4
	h.Restore(st)
	f := h.Step(night(0, 0.9, 1, 20), nil, 10)
	if f.TranspiredKg >= 0 || f.EvaporatedKg >= 0 {
		t.Errorf("leaves take %g kg, the cold soil %g", -f.TranspiredKg, -f.EvaporatedKg)
	}
}

// Soil dries the less it is wet, and not under leaves.
func TestSoilEvaporatesByItsDampness(t *testing.T) {
	rise := func(damp, leaves float64) float64 {
		p := hoop()
		p.DampSoil, p.Crop.LeafArea = damp, leaves
		h, _ := build(t, p, 20, 0)
		h.Restore(greenhouse.Start(20, physics.HumidityRatio(20, 0.5, pressure)))
		return h.Step(night(10, 0.5, 2, 10), nil, 0.1).EvaporatedKg
	}
	wet := rise(1, 0)
	if wet <= 0 || math.Abs(rise(0.25, 0)-wet/4) > 1e-3*wet || rise(0, 0) != 0 {
		t.Errorf("%g kg from wet soil, %g from damp, %g from dry", wet, rise(0.25, 0), rise(0, 0))
	}
	// Beer's law with 0.7: two m² of leaf leave e^-1.4 of the floor open.
	if got := rise(1, 2) / wet; math.Abs(got-math.Exp(-1.4)) > 1e-3 {
		t.Errorf("under leaves %.3f of bare soil's evaporation, want %.3f", got, math.Exp(-1.4))
	}
}

// Vapour over its saturation at a cold cover drips, and the drip warms the cover.
func TestCondensationWarmsTheCover(t *testing.T) {
	temperature := func(vapour float64) unit.Celsius {
		h, _ := build(t, hoop(), 12, 0)
		w := night(-5, 0.8, 3, 15)
		settle(h, w, nil)
		st := h.State()
		st.Air, st.Vapour = 12, vapour
		h.Restore(st)
		h.Step(w, nil, 10)
		return h.State().Cover[1]
	}
	dry, damp := temperature(0.001), temperature(physics.HumidityRatio(12, 0.98, pressure))
	if by := damp.Sub(dry); by < 0.5 || by > 8 {
		t.Errorf("the wet cover is %.2f K warmer than the dry one", by)
	}
}

// Water drips from the cover as fast as air brings vapour to it: the coefficient of heat, 1.95 ΔT^0.3
// (Papadakis et al. 1992), over the air's heat capacity (Lewis number 1), times how far the air's
// humidity ratio is over saturation at the cover.
func TestTheCoverDripsByLewis(t *testing.T) {
	p := hoop()
	h, _ := build(t, p, 12, 0)
	f := settle(h, night(-3, 0.8, 3, 10), nil)
	st := h.State()
	over := st.Vapour - physics.SatHumidityRatio(st.Cover[1], pressure)
	want := p.CoverM2 * 1.95 * math.Pow(float64(st.Air.Sub(st.Cover[1])), 0.3) / 1006 * over * 300
	if !(want > 0.1) || math.Abs(f.CondensedKg-want) > 0.02*want {
		t.Errorf("%.4g kg drip, want %.4g", f.CondensedKg, want)
	}
}
