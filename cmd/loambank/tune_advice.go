package main

import (
	"loambank/config"
	"loambank/controller/plan/tune"
	"loambank/controller/trial"
)

// advice is what a search came to.
type advice struct {
	*tuning
	riskCost float64 // of an hour at the frost limit, in the unit of cost
	front    []*tune.Trial
	best     *tune.Trial // in the years the search saw
	// The same in years it did not see.
	bestUnseen, todayUnseen *tune.Trial
	frontUnseen             []*tune.Trial
	gain                    tune.Gain
	weeks                   []tune.Week // what charging in each is worth under the advised settings
	weighs                  []weight    // of the gain in the file's own year, where it was asked for
}

// mostOfFront is how many settings of the trade-off are shown.
const mostOfFront = 6

// advise judges what the search found by years that it did not see.
func (t *tuning) advise() (*advice, error) {
	a := &advice{tuning: t, riskCost: t.riskCost()}
	a.best = t.study.Best(a.riskCost)
	a.front = thinned(t.study.Front(), a.best)
	seeds := []uint64{0} // the file itself
	for i := range t.Unseen - 1 {
		seeds = append(seeds, t.Seed*1000+500+uint64(i))
	}
	points := []tune.Point{t.space.Today(), a.best.Point}
	for _, f := range a.front {
		points = append(points, f.Point)
	}
	t.bar = newBar(t.w, "years it did not see", len(points))
	defer t.bar.finish()
	trials, err := t.through(points, seeds)
	if err != nil {
		return nil, err
	}
	a.todayUnseen, a.bestUnseen = &trials[0], &trials[1]
	for i := range a.front {
		a.frontUnseen = append(a.frontUnseen, &trials[i+2])
	}
	a.gain = tune.GainOver(a.bestUnseen, a.todayUnseen, a.riskCost)
	if err := a.ask(); err != nil || !t.Sensitivity {
		return a, err
	}
	return a, a.weigh()
}

// weigh asks how much each assumption weighs on the advice.
func (a *advice) weigh() error {
	best, _ := a.space.House(a.best.Point)
	lives := []life{{house: best, year: a.laid, rule: configured}, {house: a.h, year: a.laid, rule: configured}}
	a.weighs, lives = weigh(nil, lives[0], lives[1], func(h *config.House, y *trial.Result) float64 {
		o := tune.OutcomeOf(y, h.House.Decide.Tariff.HasElectricity)
		return o.Cost + a.riskCost*o.RiskH
	})
	shown := newBar(a.w, "what assumptions weigh", partsPerYear*len(lives))
	defer shown.finish()
	err := a.live(a.w.ctx, lives, shown.add)
	heaviest(a.weighs)
	return err
}

// ask asks what charging is worth, week by week, in the file's own year.
func (a *advice) ask() error {
	h, _ := a.space.House(a.best.Point)
	weeks := make([]int, tune.Weeks)
	for i := range weeks {
		weeks[i] = i
	}
	shown := newBar(a.w, "when topping up pays", partsPerYear*(1+len(weeks)))
	defer shown.finish()
	var err error
	a.weeks, err = tune.Worth(h, weeks, func(rules []func(*trial.Plant) trial.Rule) ([]*trial.Result, error) {
		return a.years(a.w.ctx, h, rules, shown.add)
	})
	return err
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
