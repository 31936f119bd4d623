package size

import (
	"testing"

	"loambank/config"
)

// ladderOf is a ladder of a bare film, the settings' own bare house and stores, by cost, yearly energy
// cost and hours at risk.
func ladderOf(lived ...[3]float64) (rungs []Rung) {
	for i, l := range lived {
		r := Rung{Lived: true, Outcome: Outcome{Fuel: l[1], FrostH: l[2], HeaterKWh: 10 * l[1]}}
		r.Costs, r.Bare = l[0], i == 1
		if i > 1 {
			r.Pipes.Count = 10 * i
		}
		rungs = append(rungs, r)
	}
	return rungs
}

// Over 15 years at 5 % a dollar a year is worth 10.38 now.
func TestTheStoreThatIsWorthMostIsChosen(t *testing.T) {
	for _, c := range []struct {
		name   string
		rungs  []Rung
		purse  float64
		priced bool
		change func([]Rung)
		store  int
		build  bool
	}{
		{"the one of most worth", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 500, 9}, [3]float64{3500, 380, 5}), 0, true, nil, 2, true},
		{"none earns its cost", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 640, 9}, [3]float64{3500, 600, 5}), 0, true, nil, 2, false},
		{"the purse rules out the best", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 590, 9}, [3]float64{3500, 380, 5}), 1500, true, nil, 2, true},
		{"it just reaches", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 590, 9}, [3]float64{3500, 380, 5}), 2500, true, nil, 3, true},
		{"it reaches none", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 590, 9}), 500, true, nil, -1, false},
		{
			"what is forbidden is not chosen", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 500, 9}, [3]float64{3500, 460, 5}), 0, true,
			func(r []Rung) { r[2].Obstacles = []Obstacle{{What: "water"}, {What: "rock", Forbids: true}} }, 3, false,
		},
		{
			"what must be looked into may be", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 500, 9}), 0, true,
			func(r []Rung) { r[2].Obstacles = []Obstacle{{What: "water"}} }, 2, true,
		},
		{
			"what stands beside the ladder is not", ladderOf([3]float64{500, 900, 50}, [3]float64{1000, 700, 20}, [3]float64{2000, 500, 9}), 0, true,
			func(r []Rung) { r[2].Beside = true }, -1, false,
		},
		{"without prices the knee of hours", ladderOf([3]float64{500, 0, 90}, [3]float64{1000, 0, 80}, [3]float64{2000, 0, 20}, [3]float64{5000, 0, 10}), 0, false, nil, 2, true},
		{"without prices and hours spared none", ladderOf([3]float64{500, 0, 90}, [3]float64{1000, 0, 0}, [3]float64{2000, 0, 0}, [3]float64{5000, 0, 0}), 0, false, nil, 2, false},
	} {
		if c.change != nil {
			c.change(c.rungs)
		}
		if got := Choose(c.rungs, config.Costs{Rate: 0.05, Years: 15, Purse: c.purse}, c.priced); got.Store != c.store || got.Build != c.build || got.Bare != 1 {
			t.Errorf("%s: %+v, want store %d, build %v", c.name, got, c.store, c.build)
		}
	}
}

// Savings and worth are against the first rung: money_and_pv-S030's 3000 and 450 over 10 years.
func TestRungsAreValuedAgainstTheFirst(t *testing.T) {
	rungs := ladderOf([3]float64{500, 900, 50}, [3]float64{3500, 450, 20})
	Choose(rungs, config.Costs{Rate: 0.05, Years: 10}, true)
	if r := &rungs[1]; r.Saves != 450 || r.Value < 474.73 || r.Value > 474.83 {
		t.Errorf("it saves %v and is worth %v, want 450 and 474.78", r.Saves, r.Value)
	}
	if r := &rungs[0]; r.Saves != 0 || r.Value != 0 {
		t.Errorf("the first saves %v", r.Saves)
	}
}
