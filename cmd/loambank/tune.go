package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/google/renameio/v2"

	"loambank/config/unit"
	"loambank/controller/plan/tune"
	"loambank/controller/trial"
)

type tuneCommand struct {
	Config  string `help:"Settings file." required:""`
	Weather string `help:"A year of weather, EPW or TMY3, plain or gzip." required:""`
	House   string `help:"The house; needed where there are several."`
	Years   int    `help:"Years that the search sees, made from the file." default:"2"`
	Unseen  int    `help:"Other years on which the answer is judged, the file itself among them." default:"5"`
	Starts  int    `help:"Where searches start: 1 is today's settings, each more is drawn by the seed." default:"1"`
	Trials  int    `help:"Settings that each search may live through." default:"60"`
	Seed    uint64 `help:"Of the years and starts." default:"1"`

	Part  string   `help:"Keep what was lived through in this file, and go on from it." placeholder:"FILE"`
	Shard string   `help:"Do only the searches of one share, such as 2/5; needs --part." placeholder:"I/N"`
	Merge []string `help:"Take in the parts of other shares." placeholder:"FILE"`

	Sensitivity bool `help:"Also print how much each assumption weighs on the advice; as long again as a short search."`

	JSON bool   `help:"Write JSON."`
	Plot string `help:"Draw the trade-off into this SVG file." placeholder:"FILE"`

	Stated bool `help:"Count the airflow that the settings state, also where the daemon has learned it."`
}

// Help shows an example.
func (tuneCommand) Help() string {
	return "Examples:\n\n  loambank tune --config farm.toml --weather burlington.epw --plot trade-off.svg\n" +
		"  loambank tune --config farm.toml --weather burlington.epw --starts 9 --shard 1/3 --part one.json\n" +
		"  loambank tune --config farm.toml --weather burlington.epw --starts 9 --merge one.json --merge two.json --merge three.json\n\n" +
		"Lets the house live through whole years under other settings, and says which would have been better,\n" +
		"by how much in years the search did not see, and what to write into the settings. A search that is\n" +
		"stopped goes on where it stood when it is called again with the same --part. Where the daemon has\n" +
		"learned what the fans move (state_dir of the settings), that counts."
}

// tuning is one call of tune.
type tuning struct {
	*tuneCommand
	climate
	w     *world
	plant *trial.Plant // as new, for the soil of all others
	space *tune.Space
	study *tune.Study
	bar   *bar
}

// Run searches.
func (c *tuneCommand) Run(w *world) error {
	if c.Years < 1 || c.Years > 50 || c.Unseen < 2 || c.Unseen > 50 || c.Starts < 1 || c.Trials < 1 {
		return usage{errors.New("--years is 1 to 50, --unseen 2 to 50, --starts and --trials 1 or more")}
	}
	share, shares, err := c.share()
	if err != nil {
		return usage{err}
	}
	t, err := c.tuning(w)
	if err != nil {
		return err
	}
	if err := t.gather(); err != nil {
		return err
	}
	if err := t.search(share, shares); err != nil {
		return err
	}
	if shares > 1 {
		_, err := fmt.Fprintf(w.stdout, "share %d of %d: %d settings lived through, kept in %s\n", share, shares, len(t.study.Trials), c.Part)
		return err
	}
	a, err := t.advise()
	if err != nil {
		return err
	}
	if c.Plot != "" {
		if err := a.plot(c.Plot); err != nil {
			return err
		}
	}
	if c.JSON {
		return a.json(w.stdout)
	}
	return a.text(w.stdout)
}

// share reads --shard: 1 of 1 where there is none.
func (c *tuneCommand) share() (share, shares int, err error) {
	if c.Shard == "" {
		return 1, 1, nil
	}
	of, n, _ := strings.Cut(c.Shard, "/")
	share, _ = strconv.Atoi(of)
	shares, _ = strconv.Atoi(n)
	switch {
	case share < 1 || shares < 2 || share > shares:
		return 0, 0, fmt.Errorf("--shard %s is no share; write such as 2/5", c.Shard)
	case c.Part == "":
		return 0, 0, errors.New("a share needs --part FILE to keep what it finds")
	}
	return share, shares, nil
}

// tuning reads what the search stands on.
func (c *tuneCommand) tuning(w *world) (*tuning, error) {
	land, err := climateOf(w, c.Config, c.Weather, c.House)
	if err != nil {
		return nil, err
	}
	if !c.Stated {
		land.asLearned(w)
	}
	t := &tuning{tuneCommand: c, climate: land, w: w}
	if t.plant, err = trial.NewPlant(t.h, t.ground, trial.SettleDay(t.h), trial.StepS); err != nil { // now, not in the middle
		return nil, err
	}
	t.space = tune.NewSpace(t.s, t.h)
	t.study = &tune.Study{Schema: schema}
	for i := range c.Years {
		t.study.Seeds = append(t.study.Seeds, c.Seed*1000+uint64(i))
	}
	sum := sha256.New()
	fmt.Fprintln(sum, t.s.Hash, t.h.House.Name, t.airflow)
	for i := range t.laid.Samples {
		fmt.Fprintln(sum, t.laid.Samples[i])
	}
	t.study.Of = hex.EncodeToString(sum.Sum(nil))
	return t, nil
}

// gather takes in what earlier calls and other shares lived through.
func (t *tuning) gather() error {
	for i, path := range append(slices.Clone(t.Merge), t.Part) {
		if path == "" {
			continue
		}
		text, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) && i == len(t.Merge) {
			continue // --part is begun anew
		}
		if err != nil {
			return err
		}
		var part tune.Study
		if err := json.Unmarshal(text, &part); err != nil {
			return fmt.Errorf("%s: it is no part of a search: %w", path, err)
		}
		if err := t.study.Join(&part); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		if n := len(part.Trials); n > 0 && !t.JSON {
			fmt.Fprintf(t.w.stderr, "%s: %d settings are known already\n", path, n)
		}
	}
	return nil
}

// search runs the searches of a share, and keeps what they live through.
func (t *tuning) search(share, shares int) error {
	jobs := tune.Jobs(t.hourCost(), t.Starts, t.Seed)
	t.bar = newBar(t.w, "searching", t.Trials*((len(jobs)+shares-share)/shares))
	defer t.bar.finish()
	for i, job := range jobs {
		if i%shares != share-1 {
			continue
		}
		if err := t.study.Search(t.space, job, t.Trials, t.keep); err != nil {
			return err
		}
		t.bar.at(t.Trials * (i/shares + 1))
	}
	return nil
}

// hourCost is what all fans cost in an hour, in currency or, without prices, in kWh.
func (t *tuning) hourCost() (cost float64) {
	d := &t.h.House.Decide
	for i := range d.Stores {
		for _, f := range d.Stores[i].Fans {
			cost += f.PowerW / 1000
		}
	}
	if d.Tariff.HasElectricity {
		cost *= d.Tariff.ElectricityPerKWh
	}
	return cost
}

// keep lets the house live through the study's years at each point, and keeps what came of it.
func (t *tuning) keep(points []tune.Point) ([]tune.Trial, error) {
	trials, err := t.through(points, t.study.Seeds)
	if t.Part != "" && len(trials) > 0 {
		kept := *t.study
		kept.Trials = append(slices.Clone(kept.Trials), trials...)
		text, fault := json.Marshal(&kept)
		if fault == nil {
			fault = renameio.WriteFile(t.Part, text, 0o644)
		}
		err = errors.Join(err, fault)
	}
	return trials, err
}

// through lets the house live through years at each point, on all cores. When it is stopped it
// returns the points that were lived through in all years.
func (t *tuning) through(points []tune.Point, seeds []uint64) ([]tune.Trial, error) {
	trials := make([]tune.Trial, len(points))
	done := make([]bool, len(points))
	faults := make([]error, len(points))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for i, p := range points {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			trials[i], faults[i] = t.lived(t.w.ctx, p, seeds)
			done[i] = faults[i] == nil
			t.bar.add()
		})
	}
	group.Wait()
	var lived []tune.Trial
	for i := range trials {
		if done[i] {
			lived = append(lived, trials[i])
		}
	}
	for _, err := range faults {
		if err != nil {
			return lived, err
		}
	}
	return lived, nil
}

// lived is one point in all years.
func (t *tuning) lived(ctx context.Context, p tune.Point, seeds []uint64) (tune.Trial, error) {
	h, ok := t.space.House(p)
	if !ok {
		return tune.Trial{}, errors.New("the search asks for settings that contradict each other")
	}
	out := tune.Trial{Point: p}
	for _, seed := range seeds {
		if ctx.Err() != nil {
			return tune.Trial{}, t.stopped()
		}
		plant, err := t.plant.Again(h)
		if err != nil {
			return tune.Trial{}, err
		}
		r := plant.Run(tune.Reshuffled(t.laid, seed), trial.NewConfigured(&h.House), false, nil)
		out.Years = append(out.Years, tune.OutcomeOf(r, h.House.Decide.Tariff.HasElectricity))
	}
	return out, nil
}

// stopped says how to go on.
func (t *tuning) stopped() error {
	if t.Part == "" {
		return errors.New("stopped; with --part FILE a search that is stopped goes on where it stood")
	}
	return fmt.Errorf("stopped; the same call goes on from %s", t.Part)
}

// unitOfCost names what costs are counted in.
func (t *tuning) unitOfCost() string {
	if t.h.House.Decide.Tariff.HasElectricity {
		return unit.Symbol(t.s.Currency)
	}
	return "kWh"
}
