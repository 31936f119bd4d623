package main

import (
	"errors"

	"loambank/controller/plan/tune"
)

// advice is what a search came to.
type advice struct {
	*tuning
	riskCost float64 // of an hour at the frost limit, in the unit of cost
	front    []*tune.Trial
	best     *tune.Trial // in what the search saw
	// The same in what it did not see.
	bestUnseen, todayUnseen *tune.Trial
	frontUnseen             []*tune.Trial
	gain                    tune.Gain
	weeks                   []tune.Week // what charging in each is worth under the advised settings; nil: not told
	weighs                  []weight    // of the gain in the file's own year, where it was asked for
}

// mostOfFront is how many settings of the trade-off are shown.
const mostOfFront = 6

// advise judges what the search found by what it did not see.
func (t *tuning) advise() (*advice, error) {
	a := &advice{tuning: t, riskCost: t.riskCost()}
	a.best = t.study.Best(a.riskCost)
	a.front = thinned(t.study.Front(), a.best)
	points := []tune.Point{t.space.Today(), a.best.Point}
	for _, f := range a.front {
		points = append(points, f.Point)
	}
	t.bar = newBar(t.w, "what it did not see", len(points))
	defer t.bar.finish()
	trials, err := t.through(points, t.bench.unseen())
	if err != nil {
		return nil, err
	}
	a.todayUnseen, a.bestUnseen = &trials[0], &trials[1]
	for i := range a.front {
		a.frontUnseen = append(a.frontUnseen, &trials[i+2])
	}
	better, ok := t.space.House(a.best.Point)
	if !ok {
		return nil, errors.New("the advised settings contradict each other")
	}
	a.gain, err = t.bench.judge(t.w.ctx, &tried{better, a.bestUnseen}, &tried{t.h, a.todayUnseen}, a.riskCost)
	if err != nil {
		return nil, err
	}
	if a.weeks, err = t.bench.weeks(t.w, better); err != nil || !t.Sensitivity {
		return a, err
	}
	a.weighs, err = t.bench.weigh(t.w, better, a.riskCost)
	return a, err
}

// riskCost is what an hour at the frost limit counts for the advice: five hours of all fans where a
// heater stands by, fifty where the store alone keeps the crop.
func (t *tuning) riskCost() float64 {
	if t.h.House.Decide.Heater.Present {
		return 5 * t.hourCost()
	}
	return 50 * t.hourCost()
}

// thinned keeps the ends of a front, best, and some between.
func thinned(front []*tune.Trial, best *tune.Trial) (kept []*tune.Trial) {
	for i, f := range front {
		share := i * (mostOfFront - 1) / max(1, len(front)-1)
		before := (i - 1) * (mostOfFront - 1) / max(1, len(front)-1)
		if i == 0 || share != before || f == best {
			kept = append(kept, f)
		}
	}
	return kept
}
