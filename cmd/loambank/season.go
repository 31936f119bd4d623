package main

import (
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"github.com/schollz/progressbar/v3"

	"loambank/config"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

type seasonCommand struct {
	Config  string `help:"Settings file." required:""`
	Weather string `help:"A year of weather, EPW or TMY3, plain or gzip." required:""`
	House   string `help:"The house; needed where there are several."`
	JSON    bool   `help:"Write JSON."`
	Plot    string `help:"Draw the year into this SVG file." placeholder:"FILE"`
}

// Help shows an example.
func (seasonCommand) Help() string {
	return "Example:\n\n  loambank season --config farm.toml --weather burlington.epw --plot year.svg\n\n" +
		"Lets the house live through a year of weather, from summer to summer after a year to settle:\n" +
		"under the policy of its settings, never running its fans, and under a usual pair of\n" +
		"thermostats. The decisions are those that the board would take; house and soil are simulated."
}

// seasons are the three years of one house, side by side.
type seasons struct {
	s       *config.Settings
	h       *config.House
	weather *weather.Year
	never   *trial.Result
	pair    *trial.Result
	policy  *trial.Result
	rules   *trial.Thermostats
}

// Run simulates the year.
func (c *seasonCommand) Run(w *world) error {
	s, err := load(w, c.Config)
	if err != nil {
		return err
	}
	h, err := houseOf(s, c.House)
	if err != nil {
		return err
	}
	year, err := readWeather(c.Weather)
	if err != nil {
		return err
	}
	all := &seasons{s: s, h: h, weather: year, rules: trial.UsualThermostats(h, s.Turn)}
	if err := all.live(w); err != nil {
		return err
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

// houseOf is the house of that name; with one house it needs none.
func houseOf(s *config.Settings, name string) (*config.House, error) {
	names := ""
	for i := range s.Houses {
		h := &s.Houses[i]
		if name == h.House.Name || name == "" && len(s.Houses) == 1 {
			return h, nil
		}
		names += " " + h.House.Name
	}
	if name == "" {
		return nil, usage{fmt.Errorf("the settings have several houses; write --house with one of:%s", names)}
	}
	return nil, usage{fmt.Errorf("there is no house %q; there is:%s", name, names)}
}

func readWeather(path string) (*weather.Year, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("weather: %w", err)
	}
	defer f.Close()
	return weather.Read(path, f)
}

// live lets the house live under each rule, each on a core of its own.
func (a *seasons) live(w *world) error {
	laid, err := trial.Lay(a.weather, a.s.Site.Zone)
	if err != nil {
		return err
	}
	ground, err := trial.Ground(a.weather)
	if err != nil {
		return err
	}
	tell, finish := a.progress(w)
	defer finish()
	years := []struct {
		rule  trial.Rule
		trace bool
		into  **trial.Result
	}{
		{trial.NewConfigured(&a.h.House), true, &a.policy},
		{trial.Never{}, false, &a.never},
		{a.rules, false, &a.pair},
	}
	faults := make([]error, len(years))
	var group sync.WaitGroup
	for i, y := range years {
		group.Go(func() {
			plant, err := trial.NewPlant(a.h, ground, trial.SettleDay(a.h))
			if err != nil {
				faults[i] = err
				return
			}
			*y.into = plant.Run(laid, y.rule, y.trace, tell(len(years)))
		})
	}
	group.Wait()
	return errors.Join(faults[0]) // they all stand on the same settings
}

// progress shows how far the years are, where a person waits.
func (a *seasons) progress(w *world) (tell func(of int) func(float64), finish func()) {
	if !terminal(w.stderr) {
		return func(int) func(float64) { return nil }, func() {}
	}
	bar := progressbar.NewOptions(1000, progressbar.OptionSetWriter(w.stderr),
		progressbar.OptionSetDescription("living through the year"), progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetPredictTime(true), progressbar.OptionClearOnFinish())
	var done atomic.Int64
	tell = func(of int) func(float64) {
		last := 0.0
		return func(share float64) {
			now := done.Add(int64(1e6 * (share - last) / float64(of)))
			last = share
			_ = bar.Set(int(now / 1000)) // a terminal that cannot be drawn on shows nothing
		}
	}
	return tell, func() { _ = bar.Finish() }
}
