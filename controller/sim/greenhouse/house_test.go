package greenhouse_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/weather"
)

// noon is a bright hour.
func noon(outside unit.Celsius, sunWm2 float64) *weather.Sample {
	w := night(outside, 0.5, 3, 15)
	w.GlobalWm2 = sunWm2
	return w
}

func TestVentsHoldTheHouseWithinTheirBand(t *testing.T) {
	p := hoop()
	h, _ := build(t, p, 20, 0)
	f := settle(h, noon(12, 700), nil)
	air := h.State().Air
	if air <= p.Vents.OpensAt || air > p.Vents.OpensAt.Add(p.Vents.Band) {
		t.Errorf("the house has %.2f °C, want the vents' %v to %v more", air, p.Vents.OpensAt, p.Vents.Band)
	}
	if share := f.VentPerH / p.Vents.PerH; math.Abs(share-float64(air.Sub(p.Vents.OpensAt)/p.Vents.Band)) > 1e-6 {
		t.Errorf("the vents are %.2f open at %.2f °C", share, air)
	}

	t.Run("no further than they go", func(t *testing.T) {
		f := settle(h, noon(35, 900), nil)
		if math.Abs(f.VentPerH-p.Vents.PerH) > 1e-9 || h.State().Air < p.Vents.OpensAt.Add(p.Vents.Band) {
			t.Errorf("%.1f changes per hour at %.1f °C, want all of %v", f.VentPerH, h.State().Air, p.Vents.PerH)
		}
	})
	t.Run("not in the cold", func(t *testing.T) {
		if f := settle(h, noon(-5, 100), nil); f.VentPerH != 0 {
			t.Errorf("%.1f changes per hour at %.1f °C", f.VentPerH, h.State().Air)
		}
	})
	t.Run("without a band wholly or just enough", func(t *testing.T) {
		p.Vents.Band = 0
		h, _ := build(t, p, 20, 0)
		f := settle(h, noon(12, 700), nil)
		if math.Abs(float64(h.State().Air-p.Vents.OpensAt)) > 0.05 || f.VentPerH <= 0 {
			t.Errorf("%.1f changes per hour at %.2f °C, want %v °C held", f.VentPerH, h.State().Air, p.Vents.OpensAt)
		}
		if f := settle(h, noon(35, 900), nil); math.Abs(f.VentPerH-p.Vents.PerH) > 1e-9 {
			t.Errorf("%.1f changes per hour in the heat, want all", f.VentPerH)
		}
	})
}

func heated(outputW float64) greenhouse.Params {
	p := hoop()
	p.Heater = greenhouse.Heater{OutputW: outputW, Efficiency: 0.8, Setpoint: 4, Band: 1}
	return p
}

func TestTheHeaterHoldsItsSetpoint(t *testing.T) {
	for _, stepS := range []float64{10, 60, 300} {
		p := heated(60e3)
		h, _ := build(t, p, 4, 0)
		frost := night(-15, 0.8, 4, 15)
		settle(h, frost, nil)
		var heatJ, fuelJ, lostJ, ranS float64
		lowest, highest := unit.Celsius(99), unit.Celsius(-99)
		runs := 0
		for range int(6 * 3600 / stepS) {
			f := h.Step(frost, nil, stepS)
			heatJ, fuelJ, ranS = heatJ+f.HeaterJ, fuelJ+f.FuelJ, ranS+f.HeaterS
			lostJ -= f.SkyJ + f.OutsideJ + f.OpenJ - f.SoilJ + f.FanJ + f.WaterJ
			lowest, highest = min(lowest, h.State().Air), max(highest, h.State().Air)
			if f.HeaterS > 0 {
				runs++
			}
		}
		if lowest < 3 || highest > 5.3 {
			t.Errorf("steps of %v s: the house swings from %.2f to %.2f °C, want 4 to 5", stepS, lowest, highest)
		}
		if math.Abs(heatJ-lostJ) > 0.03*heatJ || math.Abs(fuelJ-heatJ/0.8) > 1e-6*fuelJ || math.Abs(heatJ-ranS*60e3) > 1e-6*heatJ {
			t.Errorf("steps of %v s: heat %.4g J, lost %.4g J, fuel %.4g J, ran %.0f s", stepS, heatJ, lostJ, fuelJ, ranS)
		}
		if runs == 0 {
			t.Errorf("steps of %v s: the heater never ran", stepS)
		}
	}
}

// An even heater ends each step in the middle of its band where it can, and gives all it has where it
// cannot; in the warmth it rests.
func TestAnEvenHeaterHoldsItsMiddle(t *testing.T) {
	p := heated(30e3)
	middle := p.Heater.Setpoint.Add(p.Heater.Band / 2)
	for _, stepS := range []float64{30, 300} {
		h, _ := build(t, p, 6, 0)
		h.EvenHeater()
		held, full := 0, 0
		for i := range 2000 {
			outside := unit.Celsius(-8 + 6*math.Sin(float64(i)*stepS/20000))
			if i >= 1000 {
				outside -= 35 // more than it can
			}
			f := h.Step(night(outside, 0.8, 2, 15), nil, stepS)
			switch off := float64(h.State().Air.Sub(middle)); {
			case f.HeaterS > stepS*(1+1e-9):
				t.Fatalf("it ran for %v of %v s", f.HeaterS, stepS)
			case f.HeaterS > stepS*(1-1e-9):
				full++
			case f.HeaterJ > 0 && math.Abs(off) > 1e-6:
				t.Fatalf("it holds the house %g K off the middle", off)
			case f.HeaterJ > 0:
				held++
			}
		}
		if held < 500 || full < 500 {
			t.Errorf("steps of %v s: held in %d of them, full in %d", stepS, held, full)
		}
		if f := h.Step(night(20, 0.5, 0, 0), nil, stepS); h.State().Air > middle.Add(1) && f.HeaterJ > 0 {
			t.Errorf("at %.1f °C it gives %v J", h.State().Air, f.HeaterJ)
		}
	}
}

func TestASmallHeaterRunsAllTheTime(t *testing.T) {
	h, _ := build(t, heated(2e3), 0, 0)
	f := settle(h, night(-20, 0.8, 4, 15), nil)
	if f.HeaterS != 300 || !h.State().Heating || h.State().Air > 4 {
		t.Errorf("ran %v of 300 s at %.1f °C", f.HeaterS, h.State().Air)
	}
	if f := settle(h, night(20, 0.5, 2, 5), nil); f.HeaterJ != 0 || h.State().Heating {
		t.Errorf("in the warmth it gives %v J", f.HeaterJ)
	}
}

// A thermostat between its two limits goes on with what it did.
func TestTheThermostatHasMemory(t *testing.T) {
	for _, was := range []bool{false, true} {
		h, _ := build(t, heated(60e3), 4, 0)
		st := greenhouse.Start(4.5, 0.004)
		st.Heating = was
		h.Restore(st)
		if f := h.Step(night(3, 0.8, 1, 2), nil, 1); (f.HeaterJ > 0) != was {
			t.Errorf("between its limits, after heating %v, it gives %v J", was, f.HeaterJ)
		}
	}
}

func TestTheScreenSavesHeatInTheDarkOnly(t *testing.T) {
	open, screened := heated(60e3), heated(60e3)
	screened.Cover.Screen = greenhouse.Screen{UnderWm2: 20, Thermal: 0.3}
	for _, c := range []struct {
		name string
		w    *weather.Sample
		less bool
	}{{"by night", night(-10, 0.8, 4, 15), true}, {"by day", noon(-25, 30), false}} {
		a, _ := build(t, open, 2, 0)
		b, _ := build(t, screened, 2, 0)
		var without, with float64
		for range 200 {
			without += a.Step(c.w, nil, 300).HeaterJ
			with += b.Step(c.w, nil, 300).HeaterJ
		}
		if c.less && !(with < 0.8*without) || !c.less && math.Abs(with-without) > 1e-9*without {
			t.Errorf("%s: %.4g J with the screen, %.4g without", c.name, with, without)
		}
	}
}

// Fans carry heat down by day and up by night, and dry the air over cold pipes.
func TestFansMoveHeatBetweenAirAndSoil(t *testing.T) {
	fan := []greenhouse.Fan{{FlowM3s: 1.2, PowerW: 500}}
	for _, c := range []struct {
		name string
		w    *weather.Sample
		soil unit.Celsius
		sign float64
	}{{"by day", noon(0, 500), 12, -1}, {"by night", night(-8, 0.8, 2, 15), 14, 1}} {
		off, _ := build(t, hoop(), c.soil, 0)
		on, _ := build(t, hoop(), c.soil, 0)
		settle(off, c.w, nil)
		f := settle(on, c.w, fan)
		if by := c.sign * float64(on.State().Air.Sub(off.State().Air)); by < 0.5 {
			t.Errorf("%s fans move the air by %.2f K the right way", c.name, by)
		}
		if c.sign*(f.Beds[0].SensibleJ+f.Beds[0].LatentJ) >= 0 {
			t.Errorf("%s the pipes leave %g J in the soil", c.name, f.Beds[0].SensibleJ+f.Beds[0].LatentJ)
		}
		// Settled, the pipes meet the air that is there: their share of 0.7 of the way to the soil.
		st := on.State()
		flow := 1.2 / physics.SpecificVolume(st.Air, st.Vapour, pressure)
		want := 0.7 * flow * (1006 + 1860*min(st.Vapour, physics.SatHumidityRatio(c.soil, pressure))) * float64(st.Air.Sub(c.soil)) * 300
		if got := f.Beds[0].SensibleJ; math.Abs(got-want) > 0.01*math.Abs(want) {
			t.Errorf("%s the pipes leave %.4g J of sensible heat, want %.4g", c.name, got, want)
		}
		if got := f.FanJ; math.Abs(got-600*300) > 1e-6 {
			t.Errorf("%s the fans give %g J, want their 500 W and 100 W of mixing", c.name, got)
		}
	}
	dry, _ := build(t, hoop(), 5, 0)
	damp, _ := build(t, hoop(), 5, 0)
	w := noon(10, 300)
	settle(damp, w, nil)
	f := settle(dry, w, fan)
	if f.PipesKg <= 0 || dry.State().Vapour > 0.95*damp.State().Vapour {
		t.Errorf("cold pipes take %g kg, the air has %.5f and %.5f", f.PipesKg, dry.State().Vapour, damp.State().Vapour)
	}
}

// Two beds take each their own; a missing fan rests.
func TestEachBedHasItsOwnFan(t *testing.T) {
	p := hoop()
	a, b := &slab{c: 8, floorM2: p.FloorM2 / 4}, &slab{c: 16, floorM2: 3 * p.FloorM2 / 4}
	h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: a.floorM2, Soil: a}, {FloorM2: b.floorM2, Soil: b}})
	if err != nil {
		t.Fatal(err)
	}
	if st := h.State(); math.Abs(float64(st.Air)-14) > 1e-9 {
		t.Errorf("it begins at %v °C, want the soils' 14 by area", st.Air)
	}
	f := settle(h, noon(5, 300), []greenhouse.Fan{{FlowM3s: 0.5, PowerW: 200}})
	if f.Beds[0].SensibleJ <= 0 || f.Beds[1].SensibleJ != 0 {
		t.Errorf("the pipes take %g and %g J", f.Beds[0].SensibleJ, f.Beds[1].SensibleJ)
	}
	took := 0.0
	for _, bed := range f.Beds {
		took += bed.SurfaceJ + bed.SensibleJ + bed.LatentJ + bed.WaterJ
	}
	if math.Abs(took-f.SoilJ) > 1e-9*math.Abs(took) {
		t.Errorf("the beds took %g J, the house says %g", took, f.SoilJ)
	}
}

func TestASavedHouseGoesOnAlike(t *testing.T) {
	a, soil := build(t, heated(30e3), 9, 4e5)
	w := noon(3, 250)
	for range 50 {
		a.Step(w, []greenhouse.Fan{{FlowM3s: 1}}, 300)
	}
	text, err := json.Marshal(a.State())
	if err != nil {
		t.Fatal(err)
	}
	var st greenhouse.State
	if err := json.Unmarshal(text, &st); err != nil {
		t.Fatal(err)
	}
	b, _ := build(t, heated(30e3), soil.c, 4e5)
	b.Restore(st)
	for range 50 {
		fa, fb := a.Step(w, nil, 60), b.Step(w, nil, 60)
		if diff := cmp.Diff(fa, fb); diff != "" {
			t.Fatal(diff)
		}
	}
}

func TestStepsOfNoLengthAndTooLong(t *testing.T) {
	h, _ := build(t, hoop(), 9, 0)
	before := h.State()
	for _, dtS := range []float64{0, -5, math.NaN()} {
		if f := h.Step(noon(3, 250), nil, dtS); f != (greenhouse.Flux{}) || h.State() != before {
			t.Errorf("a step of %v s gives %+v", dtS, f)
		}
	}
	twin, _ := build(t, hoop(), 9, 0)
	if diff := cmp.Diff(h.Step(noon(3, 250), nil, 1e9), twin.Step(noon(3, 250), nil, greenhouse.LongestStepS)); diff != "" {
		t.Error(diff)
	}
}

func TestFaultsOfAHouseComeAllAtOnce(t *testing.T) {
	p := hoop()
	p.Cover.Films, p.LeakPerH, p.Cover.Absorption = 3, math.NaN(), 0.6
	p.Heater = greenhouse.Heater{OutputW: 1e4}
	_, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: 10, Soil: &slab{}}})
	for _, want := range []string{"films is 3", "leakage", "absorption", "efficiency", "10 m² of a floor"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: want it to speak of %q", err, want)
		}
	}
	if _, err := greenhouse.New(hoop(), nil); err == nil || !strings.Contains(err.Error(), "0 beds") {
		t.Errorf("%v: want it to speak of 0 beds", err)
	}
	many := make([]greenhouse.Bed, greenhouse.MaxBeds+1)
	for i := range many {
		many[i] = greenhouse.Bed{FloorM2: hoop().FloorM2 / float64(len(many)), Soil: &slab{}}
	}
	if _, err := greenhouse.New(hoop(), many); err == nil {
		t.Error("too many beds are taken")
	}
}

// The house's humidity is at its saturation at most, whatever rises.
func TestHumidityIsAShare(t *testing.T) {
	h, _ := build(t, hoop(), 15, 0)
	st := greenhouse.Start(15, 2*physics.SatHumidityRatio(15, pressure))
	h.Restore(st)
	if got := h.Humidity(pressure); got != 1 {
		t.Errorf("humidity %v, want 1", got)
	}
	st.Vapour = physics.HumidityRatio(15, 0.5, pressure)
	h.Restore(st)
	if got := h.Humidity(pressure); math.Abs(got-0.5) > 1e-7 {
		t.Errorf("humidity %v, want 0.5", got)
	}
}

// Wind, sky and clouds that a file lacks have usual values, whatever stands in the fields.
func TestWhatAFileLacksHasUsualValues(t *testing.T) {
	flux := func(w weather.Sample) greenhouse.Flux {
		h, _ := build(t, hoop(), 9, 0)
		return h.Step(&w, nil, 300)
	}
	base := *night(-3, 0.8, 3, 0)
	dew := physics.DewPoint(0.8 * physics.SatPressurePa(-3))
	base.SkyWm2 = physics.SkyEmissivity(dew, 0.5) * physics.InfraredWm2(-3)
	want := flux(base)

	noWind := base
	noWind.Have, noWind.WindMS = weather.Sky, 12
	if got := flux(noWind); math.Abs(got.OutsideJ-want.OutsideJ) > 1e-9*math.Abs(want.OutsideJ) {
		t.Errorf("without wind %g J pass, in 3 m/s %g", got.OutsideJ, want.OutsideJ)
	}
	noSky := base
	noSky.Have, noSky.SkyWm2, noSky.Cloud = weather.Wind, 0, 1
	if got := flux(noSky); math.Abs(got.SkyJ-want.SkyJ) > 1e-9*math.Abs(want.SkyJ) {
		t.Errorf("without sky %g J are radiated, half under clouds %g", got.SkyJ, want.SkyJ)
	}
	noSky.Have |= weather.Cloud
	if got := flux(noSky); !(got.SkyJ > want.SkyJ+0.05*math.Abs(want.SkyJ)) {
		t.Errorf("under full clouds %g J are radiated, half under clouds %g", got.SkyJ, want.SkyJ)
	}
}

// The sun's heat is shared out in full: what comes in or stays in the films, less what leaves and
// soil reflect (a fifth and 15 %) of what contents leave them.
func TestSunshineIsSharedOut(t *testing.T) {
	for _, leaves := range []float64{0, 1, 4} {
		p := hoop()
		p.Crop.LeafArea = leaves
		h, _ := build(t, p, 9, 0)
		shade := 1 - math.Exp(-0.7*leaves)
		want := 500 * p.FloorM2 * 60 * (0.08 + 0.6*(0.05+0.95*(0.8*shade+0.85*(1-shade))))
		if got := h.Step(noon(5, 500), nil, 60).SunJ; math.Abs(got-want) > 1e-9*want {
			t.Errorf("with %v m² of leaf a m² %g J of sun stay, want %g", leaves, got, want)
		}
	}
}

// Heat and vapour of the house's air are those of moist air as physics has them.
func TestTheHouseHoldsMoistAir(t *testing.T) {
	p := hoop()
	p.ContentsJm2K, p.Crop.LeafArea = 0, 0
	h, _ := build(t, p, 10, 0)
	airKg := p.VolumeM3 / physics.SpecificVolume(10, physics.HumidityRatio(10, 0.8, pressure), pressure)
	h.Restore(greenhouse.Start(17, 0.009))
	if want := airKg * physics.Enthalpy(17, 0.009); math.Abs(h.HeatJ()-want) > 1e-9*want {
		t.Errorf("the air holds %g J, want %g", h.HeatJ(), want)
	}
	if want := airKg * 0.009; math.Abs(h.WaterKg()-want) > 1e-9*want {
		t.Errorf("the air holds %g kg of vapour, want %g", h.WaterKg(), want)
	}
}

// A house full of wet leaves that dark, frost and a great fan over frozen soil meet at once: its
// surfaces take no more water than is there.
func TestSurfacesTakeNoMoreWaterThanThereIs(t *testing.T) {
	p := hoop()
	p.ContentsJm2K, p.LeakPerH, p.DampSoil, p.Vents = 1, 1, 1, greenhouse.Vents{}
	p.Cover.Thermal, p.Crop.LeafArea = 0.9, 5
	h, _ := build(t, p, -5, 5e5)
	const thinPa = 75e3
	for _, c := range []struct {
		outside unit.Celsius
		sun     float64
		flow    float64
	}{{1, 1000, 0}, {-15.875, 9.875, 3}} {
		w := night(c.outside, 1, 1, 0)
		w.GlobalWm2, w.PressurePa, w.SkyWm2 = c.sun, thinPa, 100
		w.Vapour = physics.HumidityRatio(c.outside, 1, thinPa)
		for i := range 4 {
			f := h.Step(w, []greenhouse.Fan{{FlowM3s: c.flow, PowerW: 400}}, 300)
			if !(h.State().Vapour > 1e-5) {
				t.Fatalf("step %d at %v °C outside: the air holds %v kg/kg after %+v", i, c.outside, h.State().Vapour, f)
			}
		}
	}
}
