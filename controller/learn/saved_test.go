package learn_test

import (
	"math"
	"testing"

	"loambank/controller/learn"
)

// twins are two houses under the same weather, the second with its fans at rest.
func twins(tr truth, seed uint64) (with, less *rig) {
	with, less = newRig(tr, seed), newRig(tr, seed)
	less.never = true
	return with, less
}

// TestSavedHeatOfAHouseThatIsKnown: thirty houses with a heater, and the same with fans at rest.
func TestSavedHeatOfAHouseThatIsKnown(t *testing.T) {
	hit, n := 0, 30
	for seed := range uint64(n) {
		s := settings()
		s.Heater = learn.Heater{Present: true, Setpoint: 4, OutputW: 25e3}
		g := varied(seed)
		g.heaterW, g.setpoint, g.meanC = 25e3, 4, -3
		g, less := twins(g.truth, seed)
		less.learnFor(s, learn.Params{}, 45, nil)
		from := less.heaterJ
		less.learnFor(s, learn.Params{}, 30, nil)
		p := g.learnFor(s, learn.Params{}, 45, nil)
		sums, began := p.Other.Sum, g.heaterJ
		p = g.learnFor(s, p, 30, nil)
		truth := (less.heaterJ - from - (g.heaterJ - began)) / 3.6e6
		got := p.Saved(s, sums)
		if math.Abs(truth-got.HeatKWh) <= got.SpreadKWh {
			hit++
		} else {
			t.Logf("seed %d: saved %.0f kWh, told %.0f ± %.0f", seed, truth, got.HeatKWh, got.SpreadKWh)
		}
		if !got.Claimed || got.NetKWh != got.HeatKWh-got.ElectricityKWh || got.SpreadKWh <= 0 {
			t.Errorf("%+v", got)
		}
	}
	if hit*10 < n*9 {
		t.Errorf("the truth lies within ± in %d of %d", hit, n)
	}
}

// TestAnUnheatedHouseCountsNightsAndNoFuel compares with the same house never running.
func TestAnUnheatedHouseCountsNightsAndNoFuel(t *testing.T) {
	hits, n := 0, 20
	for seed := range uint64(n) {
		s := settings()
		const limit = 3.0
		s.CropLimit = learn.Temp{C: limit, Known: true}
		g := varied(seed)
		g.meanC = 1
		g, less := twins(g.truth, seed)
		var p learn.Params
		var from learn.Sums
		truth := 0.0
		for i := range 60 * 288 {
			if i == 30*288 {
				from, truth = p.Other.Sum, 0
			}
			p = learn.Update(s, p, g.step())
			less.step()
			truth += (max(0, limit-less.air) - max(0, limit-g.air)) * stepS / 3600
		}
		got := p.Saved(s, from)
		if math.Abs(got.DegreeHours-truth) <= got.DegreeSpread {
			hits++
		} else {
			t.Logf("seed %d: spared %.0f K h, told %.0f ± %.0f", seed, truth, got.DegreeHours, got.DegreeSpread)
		}
		if got.Claimed || got.HeatKWh != 0 || got.NetKWh != 0 {
			t.Errorf("an unheated house claims %+v", got)
		}
		if got.Nights < 0 || got.Nights > 30 {
			t.Errorf("seed %d: %v nights of 30 were kept", seed, got.Nights)
		}
	}
	if hits*10 < n*9 {
		t.Errorf("the truth lies within ± in %d of %d", hits, n)
	}
}

// TestFansAtRestSaveNothing, with no ±.
func TestFansAtRestSaveNothing(t *testing.T) {
	s := settings()
	s.Heater = learn.Heater{Present: true, Setpoint: 4, OutputW: 25e3}
	tr := usual()
	tr.never, tr.heaterW, tr.setpoint = true, 25e3, 4
	g := newRig(tr, 1)
	p := g.learnFor(s, learn.Params{}, 30, nil)
	if got := p.Saved(s, learn.Sums{}); got.HeatKWh != 0 || got.SpreadKWh != 0 || got.ElectricityKWh != 0 {
		t.Errorf("%+v", got)
	}
	if p.Other.Sum.CountedS < 29*86400 || g.heaterJ == 0 {
		t.Errorf("only %.0f s were counted, the heater gave %.0f J", p.Other.Sum.CountedS, g.heaterJ)
	}
}

// TestLostTimeWidensTheSpread: half the hours without a reading outside.
func TestLostTimeWidensTheSpread(t *testing.T) {
	s := settings()
	s.Heater = learn.Heater{Present: true, Setpoint: 4, OutputW: 25e3}
	tr := usual()
	tr.heaterW, tr.setpoint, tr.meanC = 25e3, 4, -3
	run := func(change func(*learn.Sample)) learn.Saved {
		p := newRig(tr, 2).learnFor(s, learn.Params{}, 40, change)
		return p.Saved(s, learn.Sums{})
	}
	i := 0
	whole, half := run(nil), run(func(s *learn.Sample) {
		if i++; i/48%2 == 0 {
			s.Outside = learn.Temp{}
		}
	})
	if half.LostH < 400 || whole.LostH > 2 || half.SpreadKWh/math.Abs(half.HeatKWh) < 1.5*whole.SpreadKWh/math.Abs(whole.HeatKWh) {
		t.Errorf("whole %+v, half %+v", whole, half)
	}
}
