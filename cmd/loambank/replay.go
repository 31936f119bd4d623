package main

import (
	"errors"
	"io"

	"loambank/config"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

type replayCommand struct {
	Config  string `help:"Settings file." xor:"source" required:""`
	Against string `help:"Other settings of the same houses, to compare with on the recording." placeholder:"FILE"`
	Rested  bool   `help:"With --against: the fans never ran in the recording."`
	Journal string `help:"State directory whose journal is replayed and compared." xor:"source" required:"" placeholder:"DIR"`
	recordings
	JSON  bool `help:"Write JSON, one object a line."`
	Quiet bool `help:"Leave out the changes, print the summary only."`
}

// Help shows an example.
func (replayCommand) Help() string {
	return "Examples:\n\n  loambank replay --config farm.toml --data winter.csv --from 2026-01-01\n" +
		"  loambank replay --config farm.toml --against other.toml --data winter.csv\n" +
		"  loambank replay --journal /var/lib/loambank\n\n" +
		"Prints each change of a store's state with its reason, then a summary. Heat is an estimate:\n" +
		"a recording does not feel the fans. A journal is replayed under the settings that were in\n" +
		"force, and each decision compared with the one that was taken: where any differs, the exit\n" +
		"code is 1.\n\n" +
		"With --against, the settings that were in force are compared with others, house by house: first on\n" +
		"the recording as it is, then with the readings corrected by what the recording taught of the house."
}

// Run replays recordings.
func (c *replayCommand) Run(w *world) error {
	switch {
	case c.Against != "" && c.Journal != "":
		return usage{errors.New("--against compares on a recording; give --config and --data, not --journal")}
	case c.Rested && c.Against == "":
		return usage{errors.New("--rested belongs to --against")}
	case c.Journal != "":
		return c.compare(w)
	}
	s, err := load(w, c.Config)
	if err != nil {
		return err
	}
	rows, o, finish, err := c.open(w, s)
	defer func() { finish() }()
	if err != nil {
		return err
	}
	if c.Against != "" {
		return c.whatIf(w, s, rows, o)
	}
	var out printer = &textPrinter{w: w.stdout, s: s, columns: lineWidth(w.stdout)}
	if c.JSON {
		out = newJSONPrinter(w.stdout, s)
	}
	if !c.Quiet {
		o.OnChange = out.change
	}
	sum, err := replay.Run(s, rows, o)
	finish()
	if err != nil {
		return err
	}
	return out.summary(sum, rows.Stats())
}

// printer writes what a replay finds.
type printer interface {
	change(replay.Change)
	summary(*replay.Summary, recording.Stats) error
}

// lineWidth is where lines break: nowhere in a pipe.
func lineWidth(w io.Writer) int {
	if terminal(w) {
		return width(w)
	}
	return 0
}

// houseStore names a store as people do.
func houseStore(s *config.Settings, house, store int) string {
	h := &s.Houses[house].House
	return h.Name + "/" + h.Decide.Stores[store].Name
}
