package main

import (
	"context"
	"errors"
	"runtime"
	"sync"

	"loambank/config"
	"loambank/controller/trial"
)

// life is a house to live through a year, under the rule for its plant; done, which may be called from
// several goroutines at once, is given what came of it.
type life struct {
	house *config.House
	year  *trial.Year
	rule  func(*config.House, *trial.Plant) trial.Rule
	done  func(*config.House, *trial.Result)
}

// configured is the rule of a house's own settings.
func configured(h *config.House, _ *trial.Plant) trial.Rule { return trial.NewConfigured(&h.House) }

// never is the rule of fans at rest.
func never(*config.House, *trial.Plant) trial.Rule { return trial.Never{} }

// live lives through all, on all cores; tell is told of each hundredth of a trial's years.
func (c *climate) live(ctx context.Context, all []life, tell func()) error {
	if len(all) == 0 {
		return nil
	}
	// Lives whose soil is alike share it: to make it costs a tenth of a year.
	first, err := trial.NewPlant(all[0].house, c.ground, trial.SettleDay(all[0].house), trial.StepS)
	if err != nil {
		return err
	}
	faults := make([]error, len(all))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for i, l := range all {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			if ctx.Err() != nil {
				faults[i] = errors.New("stopped")
				return
			}
			plant, err := first.Again(l.house)
			if err != nil {
				faults[i] = err
				return
			}
			l.done(l.house, plant.Run(l.year, l.rule(l.house, plant), true, func(float64) { tell() }))
		})
	}
	group.Wait()
	for _, err := range faults {
		if err != nil {
			return err
		}
	}
	return nil
}

// years are what a house comes to in the file's year under each rule.
func (c *climate) years(ctx context.Context, h *config.House, rules []func(*trial.Plant) trial.Rule, tell func()) ([]*trial.Result, error) {
	years, all := make([]*trial.Result, len(rules)), make([]life, len(rules))
	for i, rule := range rules {
		all[i] = life{
			house: h, year: c.laid, rule: func(_ *config.House, p *trial.Plant) trial.Rule { return rule(p) },
			done: func(_ *config.House, y *trial.Result) { years[i] = y },
		}
	}
	if err := c.live(ctx, all, tell); err != nil {
		return nil, err
	}
	return years, nil
}
