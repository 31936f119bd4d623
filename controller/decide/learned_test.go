package decide_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/physics"
)

// learnt gives the only store a learned exchange.
func learnt(l decide.Learned) func(*decide.State) {
	return func(st *decide.State) { st.Stores[0].Learned = l }
}

// Dry air of 25 °C by hand, as in TestExpectedSensibleHeat. A wall that warms by r K for each W that
// stays there takes q = c e (T − T_soil) / (1 + r c e): heat and rise in proportion.
func TestTheLearnedExchangeIsReckonedWith(t *testing.T) {
	const cp = 1006
	for _, c := range []struct {
		what   string
		l      decide.Learned
		stated bool
	}{
		{"nothing learned", decide.Learned{}, true},
		{"a flow alone is not enough", decide.Learned{FlowM3s: 0.3}, true},
		{"transfer units alone are not", decide.Learned{NTU: 1.2}, true},
		{"soil that does not warm", decide.Learned{FlowM3s: 0.3, NTU: 1.2}, false},
		{"soil that warms a little", decide.Learned{FlowM3s: 0.3, NTU: 1.2, NearKW: 0.0005}, false},
		{"soil that holds most of it back", decide.Learned{FlowM3s: 0.3, NTU: 1.2, NearKW: 0.02}, false},
	} {
		t.Run(c.what, func(t *testing.T) {
			flow, eff := c.l.FlowM3s, 1-math.Exp(-c.l.NTU)
			if c.stated {
				flow, eff = 0.6, 0.6
			}
			perK := flow / 0.8443 * cp * eff
			want := perK * (25 - 15)
			if !c.stated {
				want /= 1 + c.l.NearKW*perK
			}
			y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6)), noon(t))
			learnt(c.l)(&y.st)
			d := y.pass(0, seen(25, 15))
			if math.Abs(d.HeatW-want) > 3e-3*want {
				t.Errorf("%v W, by hand %v W", d.HeatW, want)
			}
			if d.Reason.Learned == c.stated {
				t.Errorf("the reason says learned: %v", d.Reason.Learned)
			}
		})
	}
}

// What is brought up cools the wall, at a catalogue's flow too: what is learned replaces the half.
func TestLearnedHeatComesUp(t *testing.T) {
	l := decide.Learned{FlowM3s: 0.45, NTU: 0.9, NearKW: 0.001}
	perK := 0.45 * 101325 / (287.042 * 277.15) * 1006 * (1 - math.Exp(-0.9))
	want := perK * (4 - 12) / (1 + 0.001*perK)
	s := farm(t, cheap, seaLevel(0.6, 0.6), func(s *decide.Settings) { s.Stores[0].Fans[0].Catalogue = true })
	y := begin(t, s, night(t))
	learnt(l)(&y.st)
	if d := y.pass(0, seen(4, 12)); d.State != decide.Discharge || math.Abs(d.HeatW-want) > 3e-3*math.Abs(want) {
		t.Errorf("%v W in state %v, by hand %v W", d.HeatW, d.State, want)
	}
}

// At a part of the flow transfer units rise with its power −0.2 (Incropera et al., eq. 8.60 over the
// stream).
func TestLearnedHeatAtLowerSpeeds(t *testing.T) {
	for stage, share := range []float64{0.4, 0.7, 1} {
		y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6), threeSpeeds), noon(t))
		learnt(decide.Learned{FlowM3s: 0.5, NTU: 1.1})(&y.st)
		in := seen(25, 15)
		order(decide.OrderRun, uint8(stage+1), 600)(&in)
		d := y.pass(0, in)
		want := share * 0.5 / 0.8443 * 1006 * (1 - math.Exp(-1.1*math.Pow(share, -0.2))) * (25 - 15)
		if math.Abs(d.HeatW-want) > 3e-3*want {
			t.Errorf("at %v of full speed %v W, by hand %v W", share, d.HeatW, want)
		}
	}
}

// With water condensing heat is not in proportion; what is found must still agree with itself: no more
// than against the soil itself, no less than against a wall as warm as that would make it.
func TestLearnedDampHeatLiesBetween(t *testing.T) {
	damped := func(l decide.Learned, soil unit.Celsius) float64 {
		y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6)), noon(t))
		learnt(l)(&y.st)
		in := seen(25, soil)
		damp(0.9, judge.Good)(&in)
		return y.pass(0, in).HeatW
	}
	soil := decide.Learned{FlowM3s: 0.3, NTU: 1.2}
	held := soil
	held.NearKW = 0.0006
	first, settled := damped(soil, 15), damped(held, 15)
	least := damped(soil, unit.Celsius(15+held.NearKW*first))
	if !(settled < first && settled > least) {
		t.Errorf("%v W, not between %v and %v W", settled, least, first)
	}
	if again := damped(soil, unit.Celsius(15+held.NearKW*settled)); math.Abs(again-settled) > 0.03*settled {
		t.Errorf("%v W against the wall that %v W make", again, settled)
	}
}

// Water condenses on the pipe's wall itself, which is warmer than the soil that the learned exchange
// counts from. By hand: 25 °C air at 75 % over soil of 15 °C leaves at 25 − 10 e; the wall is where the
// film's share of the way leads there; towards saturation at it goes the same share of the water. The
// saturation itself is checked in physics.
func TestLearnedWaterMeetsTheWallItself(t *testing.T) {
	const pPa = 101325
	condenses := func(l decide.Learned) float64 {
		y := begin(t, farm(t, cheap, seaLevel(0.6, 0.6)), noon(t))
		learnt(l)(&y.st)
		in := seen(25, 15)
		damp(0.75, judge.Good)(&in)
		return y.pass(0, in).CondensateKgS
	}
	w := physics.HumidityRatio(25, 0.75, pPa)
	for _, c := range []struct{ ntu, film, share float64 }{
		{0.3, 1.8, 1.8}, {0.7, 1.8, 1.8}, {0.7, 0.1, 0.7}, // less than to the soil is none
	} {
		outC := 25 - 10*(1-math.Exp(-c.ntu))
		film := 1 - math.Exp(-c.share)
		wall := physics.SatHumidityRatio(unit.Celsius(25-(25-outC)/film), pPa)
		want := 0.3 / physics.SpecificVolume(25, w, pPa) * film * max(0, w-wall)
		if got := condenses(decide.Learned{FlowM3s: 0.3, NTU: c.ntu, FilmNTU: c.film}); math.Abs(got-want) > 1e-6*want+1e-12 {
			t.Errorf("%v transfer units, %v of the film: %v kg/s condense, by hand %v", c.ntu, c.film, got, want)
		}
	}
}
