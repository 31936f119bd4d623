package main

import (
	"math"
	"testing"

	"loambank/config"
	"loambank/controller/trial"
)

// TestAnAssumptionWeighsWhatItChanges gives every life a cost by its price of electricity, one of them a
// third more: with the price at its ends what is saved goes along, all else weighs nothing.
func TestAnAssumptionWeighsWhatItChanges(t *testing.T) {
	a := sized(t, true)
	price := a.h.House.Decide.Tariff.ElectricityPerKWh
	cheap, dear := *a.h, *a.h
	dear.House.Name = "dear"
	weighs, lives := weigh(nil, life{house: &cheap}, life{house: &dear}, func(h *config.House, _ *trial.Result) float64 {
		cost := 90 * h.House.Decide.Tariff.ElectricityPerKWh / price
		if h.House.Name == "dear" {
			cost *= 4. / 3
		}
		return cost
	})
	for _, l := range lives {
		l.done(l.house, nil)
	}
	heaviest(weighs)
	for i, w := range weighs {
		low, high := 30., 30.
		if i == 0 {
			low, high = 0.75*30, 1.5*30
		}
		if (w.Name == "price of electricity") != (i == 0) || math.Abs(w.low-low) > 1e-9 || math.Abs(w.high-high) > 1e-9 {
			t.Errorf("%d, %s: %v to %v, want %v to %v", i, w.Name, w.low, w.high, low, high)
		}
	}
	if len(weighs) < 9 || len(lives) != 4*len(weighs) {
		t.Errorf("%d assumptions, %d lives", len(weighs), len(lives))
	}
}
