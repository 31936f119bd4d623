package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"

	"loambank/config"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

type replayCommand struct {
	Config  string   `help:"Settings file." xor:"source" required:""`
	Against string   `help:"Other settings of the same houses, to compare with on the recording." placeholder:"FILE"`
	Rested  bool     `help:"With --against: the fans never ran in the recording."`
	Journal string   `help:"State directory whose journal is replayed and compared." xor:"source" required:"" placeholder:"DIR"`
	Data    []string `help:"Recording, CSV; more than one are merged by time." sep:"none"`
	From    string   `help:"First day or time, such as 2026-01-05 or 2026-01-05T06:00." placeholder:"TIME"`
	Until   string   `help:"Day or time before which to stop." placeholder:"TIME"`
	Zone    string   `help:"Zone of times without an offset; the site's if not given."`
	Time    []string `help:"Header of the column of times: one for all recordings, or one for each." default:"time"`
	JSON    bool     `help:"Write JSON, one object a line."`
	Quiet   bool     `help:"Leave out the changes, print the summary only."`
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
	if len(c.Data) == 0 {
		return usage{errors.New("missing flag: --data")}
	}
	s, err := load(w, c.Config)
	if err != nil {
		return err
	}
	zone := s.Site.Zone
	if c.Zone != "" {
		if zone, err = time.LoadLocation(c.Zone); err != nil {
			return fmt.Errorf("--zone %q is not a zone; write one such as America/New_York", c.Zone)
		}
	}
	o := replay.Options{}
	if o.From, err = moment(c.From, zone, "--from"); err != nil {
		return err
	}
	if o.Until, err = moment(c.Until, zone, "--until"); err != nil {
		return err
	}
	files, err := openAll(c.Data)
	defer func() { closeAll(files) }()
	if err != nil {
		return err
	}
	bar, finish := progress(w, files)
	defer finish()
	var readers []*recording.Reader
	for i, f := range files {
		r, err := recording.NewReader(io.TeeReader(f, bar),
			recording.Options{Name: c.Data[i], Zone: zone, TimeColumn: c.Time[min(i, len(c.Time)-1)]})
		if err != nil {
			return err
		}
		readers = append(readers, r)
	}
	rows := recording.Merge(readers...)
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

// moment reads a day or a local time.
func moment(text string, zone *time.Location, flag string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	for _, form := range []string{time.DateOnly, "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(form, text, zone); err == nil {
			return t, nil
		}
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	return time.Time{}, fmt.Errorf("%s %q is no time; write 2026-01-05 or 2026-01-05T06:00", flag, text)
}

func openAll(paths []string) ([]*os.File, error) {
	var files []*os.File
	for _, path := range paths {
		f, err := os.Open(path)
		if err != nil {
			return files, fmt.Errorf("recording: %w", err)
		}
		files = append(files, f)
	}
	return files, nil
}

func closeAll(files []*os.File) {
	for _, f := range files {
		_ = f.Close() // only read from
	}
}

// progress shows how far the files are read, where a person waits and changes do not scroll by. What
// is written to it counts as read; finish takes it away and may be called twice.
func progress(w *world, files []*os.File) (read io.Writer, finish func()) {
	if !terminal(w.stderr) || terminal(w.stdout) {
		return io.Discard, func() {}
	}
	var bytes int64
	for _, f := range files {
		if info, err := f.Stat(); err == nil {
			bytes += info.Size()
		}
	}
	bar := progressbar.NewOptions64(bytes, progressbar.OptionSetWriter(w.stderr),
		progressbar.OptionSetDescription("replaying"), progressbar.OptionShowBytes(true),
		progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish())
	return bar, func() { _ = bar.Finish() } // a terminal that cannot be drawn on has nothing to take away
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
