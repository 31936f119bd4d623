package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"loambank/config"
	"loambank/controller/plan/tune"
	"loambank/controller/trial"
)

// inWeather tries settings in years made from a weather file.
type inWeather struct {
	*tuneCommand
	climate
	plant *trial.Plant // as new, for the soil of all others
}

func (c *tuneCommand) inWeather(w *world, s *config.Settings, h *config.House) (bench, error) {
	land, err := climateIn(s, h, c.Weather)
	if err != nil {
		return nil, err
	}
	if !c.Stated {
		land.asLearned(w)
	}
	b := &inWeather{tuneCommand: c, climate: land}
	b.plant, err = trial.NewPlant(h, b.ground, trial.SettleDay(h), trial.StepS) // now, not in the middle
	return b, err
}

func (b *inWeather) seen() (seeds []uint64) {
	for i := range b.Years {
		seeds = append(seeds, b.Seed*1000+uint64(i))
	}
	return seeds
}

func (b *inWeather) unseen() []uint64 {
	seeds := []uint64{0} // the file itself
	for i := range b.Unseen - 1 {
		seeds = append(seeds, b.Seed*1000+500+uint64(i))
	}
	return seeds
}

func (b *inWeather) live(ctx context.Context, h *config.House, seeds []uint64) (years []tune.Outcome, err error) {
	for _, seed := range seeds {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		plant, err := b.plant.Again(h)
		if err != nil {
			return nil, err
		}
		r := plant.Run(tune.Reshuffled(b.laid, seed), trial.NewConfigured(&h.House), false, nil)
		years = append(years, tune.OutcomeOf(r, h.House.Decide.Tariff.HasElectricity))
	}
	return years, nil
}

func (b *inWeather) judge(_ context.Context, better, today *tried, riskCost float64) (tune.Gain, error) {
	return tune.GainOver(better.trial, today.trial, riskCost), nil
}

// weeks asks of the file's own year.
func (b *inWeather) weeks(w *world, h *config.House) ([]tune.Week, error) {
	weeks := make([]int, tune.Weeks)
	for i := range weeks {
		weeks[i] = i
	}
	shown := newBar(w, "when topping up pays", partsPerYear*(2+len(weeks)))
	defer shown.finish()
	return tune.Worth(h, weeks, func(rules []func(*trial.Plant) trial.Rule) ([]*trial.Result, error) {
		return b.years(w.ctx, h, rules, shown.add)
	})
}

// weigh asks it in the file's own year.
func (b *inWeather) weigh(w *world, better *config.House, riskCost float64) ([]weight, error) {
	lives := []life{{house: better, year: b.laid, rule: configured}, {house: b.h, year: b.laid, rule: configured}}
	weighs, lives := weigh(nil, lives[0], lives[1], func(h *config.House, y *trial.Result) float64 {
		o := tune.OutcomeOf(y, h.House.Decide.Tariff.HasElectricity)
		return o.Cost + riskCost*o.RiskH
	})
	shown := newBar(w, "what assumptions weigh", partsPerYear*len(lives))
	defer shown.finish()
	err := b.climate.live(w.ctx, lives, shown.add)
	heaviest(weighs)
	return weighs, err
}

func (b *inWeather) mark(w io.Writer) {
	fmt.Fprintln(w, b.airflow)
	for i := range b.laid.Samples {
		fmt.Fprintln(w, b.laid.Samples[i])
	}
}

func (b *inWeather) words() *words {
	var before strings.Builder
	b.tellAirflow(&before)
	return &words{
		before: before.String(),
		on:     "in the weather of " + b.year.Station,
		parts:  fmt.Sprintf("Years: %d seen by the search, %d others to judge it.", b.Years, b.Unseen),
		per:    "year", inTime: "a year", unseen: "in years the search did not see",
		caveat: fmt.Sprintf("Years are made from one file: ten-day blocks moved by up to fifteen days, seed %d. They know no winter colder "+
			"than the file's. House, soil and fans are simulated; what the settings do not say of them is usual practice. ± is the "+
			"range in which the mean of such years lies with 95 %%.", b.Seed),
	}
}

func (b *inWeather) json(out *tuneJSON) {
	out.Station, out.Years, out.Unseen, out.Airflow = b.year.Station, b.Years, b.Unseen, b.airflow
}
