package main

import (
	"errors"

	"loambank/controller/trial"
)

type seasonCommand struct {
	Config  string `help:"Settings file." required:""`
	Weather string `help:"A year of weather, EPW or TMY3, plain or gzip." required:""`
	House   string `help:"The house; needed where there are several."`
	Quality bool   `help:"Say also what the best schedule would have earned that knew the weather; a minute or two."`
	Runs    int    `name:"foresight-runs" help:"Years in which that schedule, and the best pair of thermostats, may each be improved." default:"40"`
	JSON    bool   `help:"Write JSON."`
	Plot    string `help:"Draw the year into this SVG file." placeholder:"FILE"`

	Stated bool `help:"Count the airflow that the settings state, also where the daemon has learned it."`
}

// Help shows an example.
func (seasonCommand) Help() string {
	return "Examples:\n\n  loambank season --config farm.toml --weather burlington.epw --plot year.svg\n" +
		"  loambank season --config farm.toml --weather burlington.epw --quality\n\n" +
		"Lets the house live through a year of weather, from summer to summer after a year to settle:\n" +
		"under the policy of its settings, never running its fans, and under a usual pair of\n" +
		"thermostats. The decisions are those that the board would take; house and soil are simulated.\n" +
		"Where the daemon has learned what the fans move (state_dir of the settings), that counts."
}

// seasons are the three years of one house, side by side.
type seasons struct {
	climate
	w      *world
	never  *trial.Result
	pair   *trial.Result
	policy *trial.Result
	rules  *trial.Thermostats
	best   *foresighted // nil where nobody asked
}

// Run simulates the year.
func (c *seasonCommand) Run(w *world) error {
	if c.Runs < 1 || c.Runs > 10000 {
		return usage{errors.New("--foresight-runs is 1 to 10000")}
	}
	land, err := climateOf(w, c.Config, c.Weather, c.House)
	if err != nil {
		return err
	}
	if !c.Stated {
		land.asLearned(w)
	}
	all := &seasons{climate: land, w: w, rules: trial.UsualThermostats(land.h, land.s.Turn)}
	if err := all.begin(); err != nil {
		return err
	}
	if c.Quality {
		if err := all.foresee(c.Runs); err != nil {
			return err
		}
	}
	if c.Plot != "" {
		if err := all.plot(c.Plot); err != nil {
			return err
		}
	}
	if c.JSON {
		return all.json(w.stdout)
	}
	return all.text(w.stdout)
}

// begin lets the house live under each rule.
func (a *seasons) begin() error {
	rules := []trial.Rule{trial.NewConfigured(&a.h.House), trial.Never{}, a.rules}
	shown := newBar(a.w, "living through the year", partsPerYear*len(rules))
	defer shown.finish()
	years, err := a.through(rules, shown.add)
	if err == nil {
		a.policy, a.never, a.pair = years[0], years[1], years[2]
	}
	return err
}

// partsPerYear is how often a trial tells how far it is: at each hundredth of its two years.
const partsPerYear = 200

// through lets the house live through the year under each rule, on all cores.
func (a *seasons) through(rules []trial.Rule, tell func()) ([]*trial.Result, error) {
	each := make([]func(*trial.Plant) trial.Rule, len(rules))
	for i, rule := range rules {
		each[i] = func(*trial.Plant) trial.Rule { return rule }
	}
	return a.years(a.w.ctx, a.h, each, tell)
}
