package learn_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/learn"
)

func known(c float64) learn.Temp { return learn.Temp{C: unit.Celsius(c), Known: true} }

// TestTheSetpointHoldsDownToTheOutsideThatIsTold: a night at just that outside with fans at full speed
// leaves the house at the setpoint, within what is told of the error, in nine of ten houses.
func TestTheSetpointHoldsDownToTheOutsideThatIsTold(t *testing.T) {
	const setpoint = 5.0
	f := within{name: "hold outside"}
	for seed := range uint64(30) {
		g, s := varied(seed), settings()
		p := g.learnFor(s, learn.Params{}, 60, nil)
		night := p.Tonight(s, &learn.Now{Setpoint: setpoint, Stores: [learn.MaxStores]learn.StoreNow{
			{Soil: known(g.soil), Root: known(g.root), Useful: setpoint},
		}})
		if !night.Known || night.Bind != learn.BindUnknown {
			t.Fatalf("%+v", night)
		}
		// The truth: what outside, held for a night with the soil as it is, leaves the house at the setpoint.
		g.bring = func(float64, float64) bool { return true }
		soil, root := g.soil, g.root
		low, high := -60.0, 20.0
		for range 25 {
			middle := (low + high) / 2
			end := *g
			for range 10 * 12 {
				end.bias, end.soil, end.root = 0, soil, root
				end.timeS = 86400*100 + 3*stepS // the sky is as usual
				end.under(middle, 0, true)
			}
			if end.air > setpoint {
				high = middle
			} else {
				low = middle
			}
		}
		f.add(learn.Estimate{Value: float64(night.HoldOutside), SE: float64(night.HoldSE)}, (low+high)/2)
		if night.HoldSE > 6 {
			t.Errorf("seed %d: held down to %.1f ± %.1f °C says little", seed, night.HoldOutside, night.HoldSE)
		}
	}
	t.Logf("within 2 σ in %d of %d, worst %.1f", f.hit, f.of, f.worst)
	if f.hit < 27 {
		t.Errorf("held down to what is told in %d of %d, worst %.1f σ", f.hit, f.of, f.worst)
	}
}

// TestTheStoreLastsAsLongAsIsTold checks by hand: W leave the pipes' soil and arrive at the probe with a
// first-order lag τ, so that after t it has fallen by W (t − τ (1 − e^(−t/τ)))/C.
func TestTheStoreLastsAsLongAsIsTold(t *testing.T) {
	g, s := newRig(usual(), 2), settings()
	p := g.learnFor(s, learn.Params{}, 60, nil)
	q := &p.Stores[0]
	const loss, rest, overK = 2, 3, 6.0 // places in Soil
	q.Soil.X[loss], q.Soil.X[rest], q.Arriving = 0, 0, 0
	v, h := p.Values(s, 0), p.HouseValues(s)
	now := learn.Now{Setpoint: 5, NightS: 12 * 3600, Low: learn.Low{Temp: known(3.5), Origin: learn.Typed}}
	now.Stores[0] = learn.StoreNow{Soil: known(15), Root: known(5), Useful: 9, Cap: known(27)}
	fallK := func(hours, drawW float64) float64 {
		const lagS = 40e3
		atS := hours * 3600
		return drawW * (atS - lagS*(1-math.Exp(-atS/lagS))) / v.CapacityJK.Value
	}
	left := p.Tonight(s, &now).Stores[0]
	soilW := left.RateW - 500 // the fan's own heat comes from no soil
	needW := h.LossWK.Value * 1.5 * soilW / left.RateW
	if got := fallK(left.HoursLeft, needW); left.Lasts || math.Abs(got-overK) > 0.01*overK {
		t.Errorf("%.1f h are left, in which the soil falls by %.2f K, want %v", left.HoursLeft, got, overK)
	}
	if got := fallK(left.UsefulKWh/(soilW/1000), soilW); math.Abs(got-overK) > 0.01*overK || math.Abs(left.Fill-overK/18) > 1e-12 {
		t.Errorf("%.1f kWh cool the soil by %.2f K, want %v; filled %.2f", left.UsefulKWh, got, overK, left.Fill)
	}
	if !(left.UsefulSE > 0.2*left.UsefulKWh && left.UsefulSE < 0.5*left.UsefulKWh) {
		t.Errorf("± %v of %v", left.UsefulSE, left.UsefulKWh)
	}
	more := func(change func(q *learn.StoreParams)) float64 {
		other := p
		change(&other.Stores[0])
		return other.Tonight(s, &now).Stores[0].HoursLeft
	}
	if h := more(func(q *learn.StoreParams) { q.Arriving = 2000 }); !(h > left.HoursLeft) {
		t.Errorf("with heat on its way %.1f h are left, %.1f without", h, left.HoursLeft)
	}
	if h := more(func(q *learn.StoreParams) { q.Soil.X[loss] = 0.1 / 86400 }); !(h < left.HoursLeft) {
		t.Errorf("soil that cools by itself leaves %.1f h, %.1f without", h, left.HoursLeft)
	}
	if h := more(func(q *learn.StoreParams) { q.Soil.X[rest] = 0.1 / 86400 }); !(h > left.HoursLeft) {
		t.Errorf("soil that is warmed from around leaves %.1f h, %.1f without", h, left.HoursLeft)
	}
	now.Low.Temp = known(4.99) // next to nothing is asked
	if left := p.Tonight(s, &now).Stores[0]; !left.Lasts {
		t.Errorf("a store that is asked next to nothing is used up in %.0f h", left.HoursLeft)
	}
}

func TestWhatBindsTonight(t *testing.T) {
	g, s := newRig(usual(), 2), settings()
	p := g.learnFor(s, learn.Params{}, 60, nil)
	p.Stores[0].Arriving = 0 // no heat is on its way
	for _, c := range []struct {
		name      string
		soil, low learn.Temp
		want      learn.Bind
		lasts     bool
	}{
		{"a mild night asks nothing", known(15), known(12), learn.Holds, true},
		{"a cool night holds", known(15), known(3), learn.Holds, false},
		{"a bitter night is too cold at any amount", known(15), known(-30), learn.BindRate, false},
		{"a store near its end is used up", known(9.1), known(4), learn.BindAmount, false},
		{"no low is expected", known(15), learn.Temp{}, learn.BindUnknown, false},
		{"the soil is not known", learn.Temp{}, known(3), learn.BindUnknown, false},
		{"the soil is absurd", known(math.NaN()), known(3), learn.BindUnknown, false},
	} {
		now := learn.Now{Setpoint: 5, NightS: 12 * 3600, Low: learn.Low{Temp: c.low}}
		now.Stores[0] = learn.StoreNow{Soil: c.soil, Root: known(6), Useful: 9}
		night := p.Tonight(s, &now)
		if night.Bind != c.want || night.Stores[0].Lasts != c.lasts {
			t.Errorf("%s: %v, %+v", c.name, night.Bind, night.Stores[0])
		}
	}
}

// TestAHeaterHoldsFurtherDown by its output over the house's loss.
func TestAHeaterHoldsFurtherDown(t *testing.T) {
	g, s := newRig(usual(), 2), settings()
	p := g.learnFor(s, learn.Params{}, 40, nil)
	now := learn.Now{Setpoint: 5}
	now.Stores[0] = learn.StoreNow{Soil: known(15), Useful: 9}
	without := p.Tonight(s, &now)
	s.Heater = learn.Heater{Present: true, OutputW: 10e3}
	with := p.Tonight(s, &now)
	if got, want := float64(without.HoldOutside.Sub(with.HoldOutside)), 10e3/p.HouseValues(s).LossWK.Value; math.Abs(got-want) > 1e-9 {
		t.Errorf("with the heater it holds %.2f K further down, want %.2f", got, want)
	}
	now.Stores[0].Soil = known(5)
	if cold := p.Tonight(s, &now).Stores[0]; cold.RateW != 0 || cold.UsefulKWh != 0 || cold.Fill != 0 {
		t.Errorf("a store as cold as the house gives %+v", cold)
	}
}

func TestTheFullStoreIsAtItsCapOrTheSeasonsHighest(t *testing.T) {
	s := settings()
	p := learn.Update(s, learn.Params{}, learn.Sample{StepS: 300, Stores: [learn.MaxStores]learn.StoreSample{{Between: known(21)}}})
	p = learn.Update(s, p, learn.Sample{StepS: 300, Stores: [learn.MaxStores]learn.StoreSample{{Between: known(15)}}})
	for _, c := range []struct {
		soil float64
		top  learn.Temp
		want float64
	}{
		{15, learn.Temp{}, 0.5}, {15, known(27), 6.0 / 18}, {30, known(27), 1}, {9, known(27), 0}, {7, known(27), 0}, {15, known(8), 0},
	} {
		now := learn.Now{Setpoint: 5}
		now.Stores[0] = learn.StoreNow{Soil: known(c.soil), Useful: 9, Cap: c.top}
		if got := p.Tonight(s, &now).Stores[0].Fill; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v: filled %.3f, want %.3f", c, got, c.want)
		}
	}
}

func TestTheExpectedLowSaysWhereItComesFrom(t *testing.T) {
	s := settings()
	nights := func(lows ...float64) (p learn.Params) {
		for _, low := range lows {
			for _, c := range []float64{low + 3, low, low + 1} {
				for range 8 {
					p = learn.Update(s, p, learn.Sample{StepS: 1800, Outside: known(c), Dark: true})
				}
			}
			for range 20 {
				p = learn.Update(s, p, learn.Sample{StepS: 1800, Outside: known(low - 5)})
			}
		}
		return p
	}
	climate := known(-12)
	for _, c := range []struct {
		name   string
		lows   []float64
		typed  learn.Temp
		clim   learn.Temp
		want   float64
		origin learn.Origin
	}{
		{"typed in", []float64{1, 2, 3, 4, 5}, known(-7), climate, -7, learn.Typed},
		{"five nights", []float64{1, -2, 3, 4, 5}, learn.Temp{}, climate, -2, learn.LastNights},
		{"of six the last five", []float64{-20, 1, -2, 3, 4, 5}, learn.Temp{}, climate, -2, learn.LastNights},
		{"four nights are not five", []float64{1, 2, 3, 4}, learn.Temp{}, climate, -12, learn.Climate},
		{"nobody knows", nil, learn.Temp{}, learn.Temp{}, 0, learn.NoLow},
	} {
		p := nights(c.lows...)
		got := p.ExpectedLow(c.typed, c.clim)
		if got.Origin != c.origin || got.Temp.Known != (c.origin != learn.NoLow) || float64(got.Temp.C) != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}
