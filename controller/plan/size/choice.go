package size

import (
	"loambank/config"
)

// Rung is a step with what stands against it and what came of it.
type Rung struct {
	Step
	Obstacles []Obstacle
	Outcome   Outcome
	Lived     bool    // Outcome is known
	Saves     float64 // money a year, against the first rung
	Value     float64 // now, of building it instead of the first rung: cost against savings
}

// Forbidden reports whether it cannot or should not be built.
func (r *Rung) Forbidden() bool {
	for i := range r.Obstacles {
		if r.Obstacles[i].Forbids {
			return true
		}
	}
	return r.Err != nil
}

// Choice is what is made of a ladder whose rungs were lived through; −1 is none.
type Choice struct {
	Priced bool // by money; else by the hours at the frost limit that a cost spares
	Store  int  // the store to build, or to think of first where Build is false
	Bare   int  // the same house without a store
	Knee   int
	Build  bool
}

// Choose values the rungs and picks a store. With prices and a heater it is the store of the highest
// present value, and it is built where that is over the bare house's; without, it is the knee of
// hours spared over cost, and it is built where it spares any. A purse, over 0, rules out what costs
// more over the bare house.
func Choose(rungs []Rung, c config.Costs, priced bool) Choice {
	choice := Choice{Priced: priced, Store: -1, Bare: -1, Knee: -1}
	for i := range rungs {
		r := &rungs[i]
		if !r.Lived {
			continue
		}
		if r.Saves = rungs[0].Outcome.Running() - r.Outcome.Running(); priced {
			r.Value = PresentValue(r.Costs-rungs[0].Costs, r.Saves, c.Rate, c.Years)
		}
		if r.Bare {
			choice.Bare = i
		}
	}
	if choice.Bare < 0 {
		return choice
	}
	bare := &rungs[choice.Bare]
	benefit := func(r *Rung) float64 {
		if priced {
			return -r.Outcome.Running() - r.Costs*recoveryFactor(c.Rate, c.Years)
		}
		return -r.Outcome.FrostH
	}
	possible := possibleStores(rungs, bare, c.Purse)
	choice.Knee = kneeOf(rungs, choice.Bare, possible)
	if !priced {
		choice.Store = choice.Knee
	}
	for _, i := range possible {
		if choice.Store < 0 || priced && benefit(&rungs[i]) > benefit(&rungs[choice.Store]) {
			choice.Store = i
		}
	}
	choice.Build = choice.Store >= 0 && benefit(&rungs[choice.Store]) > benefit(bare)
	return choice
}

// possibleStores are the stores on the ladder that may be built and paid.
func possibleStores(rungs []Rung, bare *Rung, purse float64) (all []int) {
	for i := range rungs {
		r := &rungs[i]
		if r.Store() && r.Lived && !r.Beside && !r.Forbidden() && (purse == 0 || r.Costs-bare.Costs <= purse) {
			all = append(all, i)
		}
	}
	return all
}

// kneeOf is the store at the knee of what heat the crop is spared from missing, over cost: heater
// heat in a heated house, hours at the frost limit in another. −1 where there is none.
func kneeOf(rungs []Rung, bare int, stores []int) int {
	at := append([]int{bare}, stores...)
	var cost, benefit []float64
	for _, i := range at {
		o := &rungs[i].Outcome
		b := -o.FrostH
		if rungs[bare].Outcome.HeaterKWh > 0 {
			b = -o.HeaterKWh
		}
		cost, benefit = append(cost, rungs[i].Costs), append(benefit, b)
	}
	if k := knee(cost, benefit); k > 0 {
		return at[k]
	}
	return -1
}
