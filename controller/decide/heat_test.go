package decide_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// seaLevel gives one store with one fan of a known flow and exchange at standard pressure.
func seaLevel(flowM3s, effectiveness float64) func(*decide.Settings) {
	return func(s *decide.Settings) {
		one(s)
		s.PressurePa = 101325
		s.Stores[0].Effectiveness = effectiveness
		s.Stores[0].Fans = []decide.Fan{{PowerW: 600, FlowM3s: flowM3s, Levels: []float64{1}}}
	}
}

// Sensible heat by hand: dry air of 25 °C at 101325 Pa fills 0.8443 m³/kg (moist_air-S026) and
// has 1006 J/(kg K) (ASHRAE Fundamentals 2017, ch. 1, eq. 28).
func TestExpectedSensibleHeat(t *testing.T) {
	byHand := 0.6 / 0.8443 * 1006 * 0.6 * (25 - 15)
	y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6)), noon(t))
	d := y.pass(0, seen(25, 15))
	if math.Abs(d.HeatW-byHand) > 2e-3*byHand || d.LatentW != 0 || d.CondensateKgS != 0 {
		t.Errorf("%v W, latent %v W, condensate %v kg/s; by hand %v W", d.HeatW, d.LatentW, d.CondensateKgS, byHand)
	}
	if d.PowerW != 600 {
		t.Errorf("at %v W", d.PowerW)
	}
	t.Run("of a catalogue flow half is believed", func(t *testing.T) {
		s := farm(t, cheap, seaLevel(0.6, 0.6), func(s *decide.Settings) { s.Stores[0].Fans[0].Catalogue = true })
		d := begin(t, s, noon(t)).pass(0, seen(25, 15))
		if math.Abs(d.HeatW-byHand/2) > 2e-3*byHand || d.PowerW != 600 {
			t.Errorf("%v W at %v W, by hand %v W", d.HeatW, d.PowerW, byHand/2)
		}
	})
	t.Run("heat brought up is negative", func(t *testing.T) {
		// Dry air of 4 °C at 101325 Pa by the gas law, 287.042 J/(kg K).
		up := 0.6 * 101325 / (287.042 * 277.15) * 1006 * 0.6 * (4 - 12)
		d := begin(t, farm(t, cheap, seaLevel(0.6, 0.6)), night(t)).pass(0, seen(4, 12))
		if d.State != decide.Discharge || math.Abs(d.HeatW-up) > 1e-3*math.Abs(up) {
			t.Errorf("%v W in state %v, by hand %v W", d.HeatW, d.State, up)
		}
	})
}

// Air that leaves the pipes saturated at soil temperature, against the control volumes of
// water_and_condensate.csv.
func TestExpectedHeatOfDampAir(t *testing.T) {
	for _, c := range []struct {
		rows                       string
		air, soil                  unit.Celsius
		humidity, flowM3h          float64
		totalW, latentW, kgPerHour float64
	}{
		{"water_and_condensate-S049, S050, S052", 30, 20, 0.7, 1000, 6427.889, 3183.586, 4.634266},
		{"water_and_condensate-S054, S055, S057", 25, 15, 0.9, 800, 7303.653, 4680.718, 6.78171},
	} {
		t.Run(c.rows, func(t *testing.T) {
			y := begin(t, farm(t, cheap, seaLevel(c.flowM3h/3600, 1)), noon(t))
			in := seen(c.air, c.soil)
			damp(c.humidity, judge.Good)(&in)
			d := y.pass(0, in)
			if math.Abs(d.HeatW-c.totalW) > 5e-3*c.totalW {
				t.Errorf("%v W, want %v W", d.HeatW, c.totalW)
			}
			if math.Abs(d.LatentW-c.latentW) > 20 {
				t.Errorf("latent %v W, want %v W", d.LatentW, c.latentW)
			}
			if got := d.CondensateKgS * 3600; math.Abs(got-c.kgPerHour) > 0.02 {
				t.Errorf("condensate %v kg/h, want %v kg/h", got, c.kgPerHour)
			}
			for _, in := range []decide.Inputs{without(in, judge.Doubtful, c.humidity), without(in, judge.Good, 1.01), without(in, judge.Good, 0)} {
				d := begin(t, y.s, noon(t)).pass(0, in)
				if d.LatentW != 0 || !(d.HeatW > 0) {
					t.Errorf("humidity %+v: latent %v W of %v W", in.Humidity, d.LatentW, d.HeatW)
				}
			}
		})
	}
}

// Air at exactly 100 % is as good as any other where judge calls it good.
func TestSaturatedAirCondenses(t *testing.T) {
	y := begin(t, farm(t, cheap, seaLevel(0.3, 0.6)), noon(t))
	in := seen(20, 12)
	damp(1, judge.Good)(&in)
	if d := y.pass(0, in); !(d.LatentW > 0) {
		t.Errorf("latent %v W", d.LatentW)
	}
}

func without(in decide.Inputs, q judge.Quality, v float64) decide.Inputs {
	in.Humidity = decide.Fraction{V: v, Quality: q}
	return in
}

// A slower fan moves its air longer past the wall: NTU = UA/C, effectiveness 1 − e^(−NTU)
// (Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed., eq. 11.35a at C_r = 0).
func TestExpectedHeatAtLowerSpeeds(t *testing.T) {
	for stage, share := range []float64{0.4, 0.7, 1} {
		y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6), threeSpeeds), noon(t))
		in := seen(25, 15)
		order(decide.OrderRun, uint8(stage+1), 600)(&in)
		d := y.pass(0, in)
		ntu := -math.Log(1-0.6) / share
		byHand := share * 0.6 / 0.8443 * 1006 * (1 - math.Exp(-ntu)) * (25 - 15)
		if math.Abs(d.HeatW-byHand) > 2e-3*byHand || !near(d.PowerW, 600*share*share*share) {
			t.Errorf("at %v of full speed %v W at %v W, by hand %v W", share, d.HeatW, d.PowerW, byHand)
		}
	}
}

func TestExpectedHeatNeedsAirAndSoil(t *testing.T) {
	run := order(decide.OrderRun, 0, 600)
	for _, c := range []struct {
		name string
		with func(*decide.Inputs)
	}{{"no soil", noSoil}, {"no air", noAir}} {
		e := edge{air: 20, soil: 12, with: inputs(run, c.with)}
		d, _ := e.decide(t)
		if got := d.Stores[0]; got.HeatW != 0 || got.PowerW != 600 {
			t.Errorf("%s: %v W at %v W", c.name, got.HeatW, got.PowerW)
		}
	}
	e := edge{air: 13, soil: 12}
	if d, _ := e.decide(t); d.Stores[0].HeatW != 0 || d.Stores[0].PowerW != 0 {
		t.Errorf("at rest: %+v", d.Stores[0])
	}
}
