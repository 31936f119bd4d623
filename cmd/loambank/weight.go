package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"loambank/config"
	"loambank/controller/plan/size"
	"loambank/controller/trial"
)

// weight is what one way of living saves over another in a year, with an assumption at its ends.
type weight struct {
	size.Assumption
	low, high float64
}

// weigh adds to lives those that tell how much each assumption weighs on what a year with one life
// costs less than with another.
func weigh(all []life, with, without life, cost func(*config.House, *trial.Result) float64) ([]weight, []life) {
	assumptions := size.Assumptions()
	weighs := make([]weight, len(assumptions))
	var lock sync.Mutex
	for i := range assumptions {
		w := &weighs[i]
		w.Assumption = assumptions[i]
		for _, high := range [...]bool{false, true} {
			into := &w.low
			if high {
				into = &w.high
			}
			for _, side := range [...]struct {
				of   life
				sign float64
			}{{with, -1}, {without, 1}} {
				l := side.of
				l.house = w.Changed(l.house, high)
				l.done = func(h *config.House, y *trial.Result) {
					lock.Lock()
					defer lock.Unlock()
					*into += side.sign * cost(h, y)
				}
				all = append(all, l)
			}
		}
	}
	return weighs, all
}

// heaviest puts first what weighs most.
func heaviest(weighs []weight) {
	slices.SortStableFunc(weighs, func(p, q weight) int {
		return cmp.Compare(math.Abs(q.high-q.low), math.Abs(p.high-p.low))
	})
}

// writeWeights writes what assumptions weigh, as a table.
func writeWeights(out *strings.Builder, weighs []weight) {
	for i := range weighs {
		w := &weighs[i]
		fmt.Fprintf(out, "  %-34s %-12s %7.0f   %-12s %7.0f\n", w.Name, w.Low, w.low, w.High, w.high)
	}
}

// weightJSON is one of them, in what costs are counted in.
type weightJSON struct {
	Name     string  `json:"assumption"`
	Low      string  `json:"low"`
	High     string  `json:"high"`
	LowSaves float64 `json:"saves_per_year_low"`
	HighSave float64 `json:"saves_per_year_high"`
}

func weightsJSON(weighs []weight) (all []weightJSON) {
	for _, w := range weighs {
		all = append(all, weightJSON{w.Name, w.Low, w.High, cents(w.low), cents(w.high)})
	}
	return all
}
