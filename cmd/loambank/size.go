package main

import (
	"errors"
	"fmt"
	"math"

	"loambank/config"
	"loambank/controller/plan/size"
	"loambank/controller/plan/tune"
	"loambank/controller/trial"
)

type sizeCommand struct {
	Config      string  `help:"Settings file: house, soil, crop, prices, [costs]." required:""`
	Weather     string  `help:"A year of weather, EPW or TMY3, plain or gzip." required:""`
	House       string  `help:"The house; needed where there are several."`
	Lost        float64 `help:"Share of the fans' use that an array without a grid may leave unmet." default:"0.02"`
	Sensitivity bool    `help:"Also print how much each assumption weighs on the answer; it takes several times as long."`
	JSON        bool    `help:"Write JSON."`
	Plot        string  `help:"Draw the ladder of designs into this SVG file." placeholder:"FILE"`
	PlotSolar   string  `help:"Draw fans and solar panels by month into this SVG file." placeholder:"FILE"`
}

// Help shows an example.
func (sizeCommand) Help() string {
	return "Example:\n\n  loambank size --config farm.toml --weather burlington.epw --plot ladder.svg\n\n" +
		"Designs stores for a house, from bare film to over-built, and lets the house live through a\n" +
		"year of weather with each: pipes, fan, cost, fuel spared, what it is worth, and what forbids it.\n" +
		"Fans are then held against solar panels, month by month. Exits with 1 where the answer is not\n" +
		"to build a store."
}

// sizing is a ladder lived through.
type sizing struct {
	*sizeCommand
	climate
	w *world

	rungs  []size.Rung
	choice size.Choice
	spread money   // of what the store saves in a year, over the bare house
	own    float64 // of it, in the file's own year
	weighs []weight
	solar  *solar
}

// money is a yearly sum and how far it may be off, both in the currency.
type money struct{ mean, off float64 }

// solar is panels against the fans of a store. Energies are kWh.
type solar struct {
	fans, yield [12]float64 // by month; yield of one kilowatt
	netMetered  size.NetMetered
	offGrid     size.OffGrid
}

// lives is how many years the uncertainty of savings is taken from, the file's own first.
const lives = 4

// modelOff is how far a simulated saving may be off as a share of it, beside the weather: common
// practice, no source.
const modelOff = 0.3

// Run sizes.
func (c *sizeCommand) Run(w *world) error {
	if !(c.Lost > 0 && c.Lost < 1) {
		return usage{fmt.Errorf("--lost %g is no share; write 0.02 for 2 %%", c.Lost)}
	}
	land, err := climateOf(w, c.Config, c.Weather, c.House)
	if err != nil {
		return err
	}
	a := &sizing{sizeCommand: c, climate: land, w: w}
	if err := a.climb(); err != nil {
		return err
	}
	if c.Plot != "" {
		if err := a.plot(c.Plot); err != nil {
			return err
		}
	}
	if c.PlotSolar != "" && a.solar != nil {
		if err := a.plotSolar(c.PlotSolar); err != nil {
			return err
		}
	}
	write := a.text
	if c.JSON {
		write = a.json
	}
	if err := write(w.stdout); err != nil {
		return err
	}
	if !a.choice.Build {
		return answerNo{errors.New("")}
	}
	return nil
}

// climb lives through the ladder, chooses, and looks at the choice more closely.
func (a *sizing) climb() error {
	for _, step := range size.Ladder(a.h, a.s.Costs) {
		a.rungs = append(a.rungs, size.Rung{Step: step, Obstacles: size.Obstacles(a.s, a.h, step.Pipes, a.ground)})
	}
	var lives []life
	for i := range a.rungs {
		r := &a.rungs[i]
		if r.Forbidden() {
			continue
		}
		lives = append(lives, a.life(r, a.laid, func(h *config.House, y *trial.Result) {
			r.Outcome, r.Lived = size.OutcomeOf(h, y), true
		}))
	}
	if err := a.watch("living with each design", lives); err != nil {
		return err
	}
	d := &a.h.House.Decide
	a.choice = size.Choose(a.rungs, a.s.Costs, d.Heater.Present && d.Tariff.HasFuel && d.Tariff.HasElectricity)
	if a.choice.Store < 0 {
		return nil
	}
	return a.closer()
}

// closer asks of the chosen store how sure its savings are, what they hang on, and what the sun gives.
func (a *sizing) closer() error {
	store, bare := &a.rungs[a.choice.Store], &a.rungs[a.choice.Bare]
	var years [lives]struct{ with, without float64 }
	var traced *trial.Result
	var all []life
	for seed := range years {
		laid := tune.Reshuffled(a.laid, uint64(seed))
		all = append(all,
			a.life(store, laid, func(h *config.House, y *trial.Result) {
				years[seed].with = costOf(h, y)
				if seed == 0 {
					traced = y
				}
			}),
			a.life(bare, laid, func(h *config.House, y *trial.Result) { years[seed].without = costOf(h, y) }))
	}
	if a.Sensitivity {
		with, without := a.life(store, a.laid, nil), a.life(bare, a.laid, nil)
		a.weighs, all = weigh(all, with, without, costOf)
	}
	if err := a.watch("looking closer", all); err != nil {
		return err
	}
	saved := make([]float64, 0, lives)
	for _, y := range years {
		saved = append(saved, y.without-y.with)
	}
	a.own, a.spread = saved[0], sure(saved)
	heaviest(a.weighs)
	return a.sun(traced)
}

// life is a year with a design: with a store under the settings, without one with fans at rest.
func (a *sizing) life(r *size.Rung, year *trial.Year, done func(*config.House, *trial.Result)) life {
	l := life{house: r.House(a.h), year: year, rule: configured, done: done}
	if !r.Store() {
		l.rule = never
	}
	return l
}

// watch lives through all and shows how far it is.
func (a *sizing) watch(what string, all []life) error {
	shown := newBar(a.w, what, partsPerYear*len(all))
	defer shown.finish()
	return a.live(a.w.ctx, all, shown.add)
}

// sun holds panels against the fans of the year that was traced.
func (a *sizing) sun(traced *trial.Result) error {
	yield, err := size.Yield(a.year)
	if err != nil {
		return err
	}
	load := size.Load(a.year, traced)
	a.solar = &solar{
		fans: size.Months(a.year, load), yield: size.Months(a.year, yield),
		netMetered: size.ZeroBill(yield, load), offGrid: size.Island(yield, load, a.Lost, a.s.Costs),
	}
	return nil
}

// costOf is what energy cost in a year.
func costOf(h *config.House, y *trial.Result) float64 {
	o := size.OutcomeOf(h, y)
	return o.Running()
}

// sure is the mean of what years save, and how far it may be off: twice the standard error of the
// mean, and the model's own doubt.
func sure(saved []float64) money {
	n := float64(len(saved))
	var sum, squares float64
	for _, v := range saved {
		sum += v
	}
	mean := sum / n
	for _, v := range saved {
		squares += (v - mean) * (v - mean)
	}
	return money{mean, math.Hypot(2*math.Sqrt(squares/(n-1)/n), modelOff*mean)}
}
