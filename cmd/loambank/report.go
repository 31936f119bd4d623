package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/schollz/progressbar/v3"

	"loambank/config"
	"loambank/controller/history"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

type reportCommand struct {
	Config string `help:"Settings file of the farm." default:"/etc/loambank/farm.toml"`
	House  string `help:"One house; all of them if not given."`
	From   string `help:"First day or time, such as 2026-01-05; without it today, this month and the season." placeholder:"TIME"`
	Until  string `help:"Day or time before which to stop; now if not given." placeholder:"TIME"`
	Saved  bool   `help:"What was saved in each month and season that is kept, instead."`
	CSV    bool   `help:"Write history as a recording that replay --data reads; with --saved a table." xor:"form"`
	JSON   bool   `help:"Write JSON, one object a line." xor:"form"`
	HTML   string `help:"Write a page to print into this file." placeholder:"FILE" xor:"form"`
	Bill   string `help:"Type in a bill of the electricity meter, and hold it against the account." placeholder:"BILL" xor:"typed"`
	Fill   string `help:"Type in fuel that filled the tank up, and hold it against the heater." placeholder:"FILL" xor:"typed"`
}

// Help shows an example.
func (reportCommand) Help() string {
	return "Examples:\n\n  loambank report --config farm.toml\n  loambank report --config farm.toml --csv --from 2026-01-01 > january.csv\n" +
		"  loambank report --config farm.toml --saved\n  loambank report --config farm.toml --html season.html\n" +
		"  loambank report --config farm.toml --bill '2026-11-01..2026-11-30 412 kWh'\n" +
		"  loambank report --config farm.toml --house lower --fill '2026-11-14 83 gal'\n\n" +
		"Reads what the daemon kept in its state directory, also while it runs. In the recording a\n" +
		"store's state is a number: 0 rest, and on in the order of the states in the documentation.\n\n" +
		"--bill is of the meter of the whole farm, or with --house of that house's own. --fill makes good\n" +
		"what was burned since the fill before. Both are kept and told again with every report of their\n" +
		"time; the same days typed again replace them. Exit code 1: bill and account cannot both be right."
}

// period is a part of time with its name. With told, what was saved in it is told by its span.
type period struct {
	name     string
	from, to time.Time
	told     bool
	span     ledger.Span
}

// Run reports.
func (c *reportCommand) Run(w *world) error {
	s, err := load(w, c.Config)
	if err != nil {
		return err
	}
	if c.House != "" && s.FindHouse(c.House) == nil {
		return usage{fmt.Errorf("there is no house %q in the settings", c.House)}
	}
	if c.Saved {
		return c.saved(w, s)
	}
	if c.Bill != "" || c.Fill != "" {
		return c.typeIn(w, s)
	}
	periods, err := c.periods(s, time.Now())
	if err != nil {
		return err
	}
	r, err := history.OpenReader(s.StateDir)
	if err != nil {
		return err
	}
	defer r.Close()
	if c.CSV {
		last := periods[len(periods)-1]
		tell, finish := dayProgress(w, last)
		defer finish()
		return report.WriteCSV(w.stdout, r, s, last.from, last.to, tell)
	}
	kept, _, err := ledger.Load(s.StateDir)
	if err != nil {
		return err
	}
	if c.HTML != "" {
		return c.print(w, s, r, kept, periods)
	}
	out := &reportPrinter{w: w.stdout, s: s}
	for i := range s.Houses {
		if out.h = &s.Houses[i]; c.House != "" && c.House != out.h.House.Name {
			continue
		}
		if !c.JSON && c.Until == "" {
			out.printf("%s\n\n", wrap(commissionedWords(s, out.h.House.Name, time.Now()), width(w.stdout), 0))
		}
		if err := c.report(out, r, kept.Account(out.h.House.Name), periods); err != nil {
			return err
		}
	}
	if err := c.bills(w, s, r, periods[len(periods)-1]); err != nil {
		return err
	}
	if out.method(); out.err != nil {
		return out.err
	}
	if n := r.Damaged(); n > 0 {
		return fmt.Errorf("%d damaged rows of the history were passed over", n)
	}
	return nil
}

// periods are those asked for, the longest last.
func (c *reportCommand) periods(s *config.Settings, now time.Time) ([]period, error) {
	now = now.In(s.Site.Zone)
	from, err := moment(c.From, s.Site.Zone, "--from")
	if err != nil {
		return nil, err
	}
	until, err := moment(c.Until, s.Site.Zone, "--until")
	if err != nil {
		return nil, err
	}
	if until.IsZero() {
		until = now
	}
	if !from.IsZero() {
		if !from.Before(until) {
			return nil, usage{errors.New("--from is not before --until")}
		}
		return []period{{name: "from " + from.Format(time.DateOnly), from: from, to: until}}, nil
	}
	day := time.Date(until.Year(), until.Month(), until.Day(), 0, 0, 0, 0, s.Site.Zone)
	month := time.Date(until.Year(), until.Month(), 1, 0, 0, 0, 0, s.Site.Zone)
	told := c.Until == "" // up to now
	return []period{
		{"today", day, until, told, ledger.Day},
		{"this month", month, until, told, ledger.Month},
		{"this season", s.Turn.SeasonBegan(until), until, told, ledger.Season},
	}, nil
}

// report reports a house, of which now is the account as it stands, or nil.
func (c *reportCommand) report(out *reportPrinter, r *history.Reader, now *ledger.House, periods []period) error {
	for _, p := range periods {
		sum, saved, err := c.gather(r, out.h, now, p)
		if err != nil {
			return err
		}
		if c.JSON {
			out.json(p.name, sum, saved)
		} else {
			out.text(p.name, sum, saved)
		}
	}
	return out.err
}

// gather adds up a period of a house, of which now is the account as it stands, or nil; what was saved
// in it is nil where that was not told.
func (c *reportCommand) gather(r *history.Reader, h *config.House, now *ledger.House, p period) (*report.House, *ledger.Saving, error) {
	account := now
	if c.Until != "" {
		account = nil // it stands at another time
	}
	sum, err := report.Gather(r, h, account, p.from, p.to)
	if err != nil || now == nil || !p.told {
		return sum, nil, err
	}
	return sum, now.Saved.Find(p.span, p.from.Format(time.DateOnly)), nil
}

// dayProgress shows how far a recording is written, where a person waits.
func dayProgress(w *world, p period) (tell func(time.Time), finish func()) {
	if !terminal(w.stderr) || terminal(w.stdout) {
		return nil, func() {}
	}
	days := int64(p.to.Sub(p.from).Hours()/24) + 1
	bar := progressbar.NewOptions64(days, progressbar.OptionSetWriter(w.stderr),
		progressbar.OptionSetDescription("writing days"), progressbar.OptionClearOnFinish())
	// A terminal that cannot be drawn on shows nothing.
	return func(at time.Time) { _ = bar.Set64(int64(at.Sub(p.from).Hours() / 24)) }, func() { _ = bar.Finish() }
}
