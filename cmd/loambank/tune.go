package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/google/renameio/v2"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/plan/tune"
)

type tuneCommand struct {
	Config  string `help:"Settings file." required:""`
	Weather string `help:"A year of weather, EPW or TMY3, plain or gzip, to try settings in."`
	recordings
	Rested bool `help:"With --data: the fans never ran in the recording."`

	House  string `help:"The house; needed where there are several."`
	Years  int    `help:"Years that the search sees, made from the file." default:"2"`
	Unseen int    `help:"Other years on which the answer is judged, the file itself among them." default:"5"`
	Starts int    `help:"Where searches start: 1 is today's settings, each more is drawn by the seed." default:"1"`
	Trials int    `help:"Settings that each search may live through." default:"60"`
	Seed   uint64 `help:"Of the years and starts." default:"1"`

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
		"  loambank tune --config farm.toml --data winter.csv\n" +
		"  loambank tune --config farm.toml --weather burlington.epw --starts 9 --shard 1/3 --part one.json\n" +
		"  loambank tune --config farm.toml --weather burlington.epw --starts 9 --merge one.json --merge two.json --merge three.json\n\n" +
		"Lets the house live through whole years under other settings, and says which would have been better,\n" +
		"by how much in years the search did not see, and what to write into the settings. A search that is\n" +
		"stopped goes on where it stood when it is called again with the same --part. Where the daemon has\n" +
		"learned what the fans move (state_dir of the settings), that counts with --weather.\n\n" +
		"With --data it lives through the house's own recorded winter again, under the settings tried, with the\n" +
		"readings corrected by what the recording taught of it. The search sees every other ten days, and is\n" +
		"judged by those between. Where too little can be learned it says what lacks; the exit code is 1."
}

// tuning is one call of tune.
type tuning struct {
	*tuneCommand
	w     *world
	s     *config.Settings
	h     *config.House
	bench bench
	space *tune.Space
	study *tune.Study
	bar   *bar
}

// bench is what settings are tried on: years of weather, or a recording.
type bench interface {
	seen() []uint64   // the seeds or numbers of what the search sees
	unseen() []uint64 // and of what judges it
	// live is a house in some of them.
	live(ctx context.Context, h *config.House, some []uint64) ([]tune.Outcome, error)
	// judge is how much better the first of two is than the second, both in what judges.
	judge(ctx context.Context, better, today *tried, riskCost float64) (tune.Gain, error)
	// weeks are what charging in each is worth, nil where that cannot be told.
	weeks(w *world, h *config.House) ([]tune.Week, error)
	// weigh is how much each assumption weighs on the gain of a house over today's.
	weigh(w *world, better *config.House, riskCost float64) ([]weight, error)
	mark(io.Writer) // writes what makes it itself
	words() *words
	json(*tuneJSON)
}

// tried is a house and what it came to.
type tried struct {
	h     *config.House
	trial *tune.Trial
}

// words are those in which a bench's outcome is told.
type words struct {
	before  string // what is said first, "" for nothing
	on      string // "in the weather of Testfield"
	parts   string // what the search saw and what judges it, a sentence
	per     string // of costs in the table, "year"
	inTime  string // "a year"
	unseen  string // "in years the search did not see"
	learned string // what was learned of the house, "" for nothing
	caveat  string
}

// Run searches.
func (c *tuneCommand) Run(w *world) error {
	if (c.Weather == "") == (len(c.Data) == 0) {
		return usage{errors.New("give either --weather, a year to try settings in, or --data, the house's own recording")}
	}
	if c.Rested && c.Weather != "" {
		return usage{errors.New("--rested belongs to --data")}
	}
	if (c.Sensitivity || c.Stated) && c.Weather == "" {
		return usage{errors.New("--sensitivity and --stated belong to --weather; on a recording nothing of the house is assumed")}
	}
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
	s, err := load(w, c.Config)
	if err != nil {
		return nil, err
	}
	h, err := houseOf(s, c.House)
	if err != nil {
		return nil, err
	}
	t := &tuning{tuneCommand: c, w: w, s: s, h: h, space: tune.NewSpace(s, h)}
	if c.Weather != "" {
		t.bench, err = c.inWeather(w, s, h)
	} else {
		t.bench, err = c.onRecording(w, s, h)
	}
	if err != nil {
		return nil, err
	}
	t.study = &tune.Study{Schema: schema, Seeds: t.bench.seen()}
	sum := sha256.New()
	fmt.Fprintln(sum, s.Hash, h.House.Name)
	t.bench.mark(sum)
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
	years, err := t.bench.live(ctx, h, seeds)
	if ctx.Err() != nil {
		return tune.Trial{}, t.stopped()
	}
	return tune.Trial{Point: p, Years: years}, err
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
