package learn_test

import (
	"math"
	"testing"

	"loambank/controller/learn"
	"loambank/controller/physics"
)

// even has a store's fans at full speed for some hours, in air of a constant state that leaves at outC, over
// soil that stays at 14 °C.
func even(p learn.Params, s *learn.Settings, inC, humidity, outC, hours float64) learn.Params {
	for range int(hours * 3600 / stepS) {
		x := learn.Sample{StepS: stepS, Air: known(inC), Humidity: learn.Number{V: humidity, Known: true}}
		x.Stores[0] = learn.StoreSample{Level: 1, Between: known(14), Root: known(14), DuctIn: known(inC), DuctOut: known(outC)}
		p = learn.Update(s, p, x)
	}
	return p
}

// TestTheAirsDoubtIsOfItsProbes: a tenth of a kelvin between the duct probes, a fiftieth of the vapour that the
// hygrometer tells of, and pipes that may be rougher than stated, which count where water condenses.
func TestTheAirsDoubtIsOfItsProbes(t *testing.T) {
	s := settings()
	store := &s.Stores[0]
	heatW := func(inC, humidity, more, wider, outC float64) float64 {
		in := physics.Air{C: unitC(inC), W: more * physics.HumidityRatio(unitC(inC), humidity, 101325)}
		ntu := wider * -2 * math.Log1p(-store.Effectiveness)
		return physics.ExchangeTo(in, store.FlowM3s, physics.Effectiveness(ntu), unitC(outC), 101325).TotalW()
	}
	for _, c := range []struct {
		name                string
		inC, humidity, outC float64
		leastW, mostW       float64 // by hand: 1.23 kg/s of dry air
	}{
		{"dry air that warms the soil", 25, 0.3, 17, 120, 135},
		{"damp air", 25, 0.95, 17, 400, 1500},
		{"air that is warmed", 5, 0.95, 11, 125, 140},
	} {
		p := even(learn.Params{}, s, c.inC, c.humidity, c.outC, 10)
		d := p.Stores[0].Day
		stated := heatW(c.inC, c.humidity, 1, 1, c.outC)
		want := heatW(c.inC, c.humidity, 1, 1, c.outC-0.1) - stated
		if c.outC < c.inC {
			want = math.Hypot(want, heatW(c.inC, c.humidity, 1.02, 1, c.outC)-stated)
			want = math.Hypot(want, heatW(c.inC, c.humidity, 1, 1/1.3, c.outC)-stated)
		}
		if got := d.DoubtJ / d.TimeS; math.Abs(got-want) > 1e-6*want || got < c.leastW || got > c.mostW {
			t.Errorf("%s: ± %.1f W, want %.1f, between %.0f and %.0f", c.name, got, want, c.leastW, c.mostW)
		}
	}
}

// TestTheAccountsErrorHasTheFlows beside the probes'.
func TestTheAccountsErrorHasTheFlows(t *testing.T) {
	s := settings()
	p := even(learn.Params{}, s, 25, 0.3, 17, 60)
	b, flow := p.Balance(0), p.Values(s, 0).FlowM3s
	probes, fans := p.Stores[0].Account.DoubtJ, b.AirJ*flow.SE/flow.Value
	if want := math.Hypot(probes, fans); !(probes > 0) || !(fans > probes) || math.Abs(b.AirSE-want) > 1e-9*want {
		t.Errorf("± %.4g J of %.4g J, want %.4g of %.3g by probes and %.3g by the flow", b.AirSE, b.AirJ, want, probes, fans)
	}
}

// TestDaysThatAccountsDifferAreCountedForEachSide, which is the soil's: it tells of less where it stays as it was.
func TestDaysThatAccountsDifferAreCountedForEachSide(t *testing.T) {
	s := settings()
	p := even(learn.Params{}, s, 25, 0.3, 17, 30)
	p.Stores[0].Account = learn.Accounts{}
	p = even(p, s, 25, 0.3, 17, 24)
	if a := p.Stores[0].Account; a.Days != 1 || !(a.Apart < -0.5) || !(a.Both < a.Air2) {
		t.Errorf("after a day on which the soil stays as it was: %+v", a)
	}
	for side, want := range map[int]int{1: 2, -1: 7} { // that it differed by before, for five days
		q := p
		q.Stores[0].Account = learn.Accounts{Days: 60, Air2: 1000, Both: -800, Side: side, OffFor: 5}
		q = even(q, s, 25, 0.3, 17, 48)
		if a := q.Stores[0].Account; a.Days != 62 || a.Side != -1 || a.OffFor != want {
			t.Errorf("from side %d: %+v, want side -1 for %d days", side, a, want)
		}
	}
}
