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

// recordings is how a command is given recordings.
type recordings struct {
	Data  []string `help:"Recording, CSV; more than one are merged by time." sep:"none"`
	From  string   `help:"First day or time of it, such as 2026-01-05 or 2026-01-05T06:00." placeholder:"TIME"`
	Until string   `help:"Day or time of it before which to stop." placeholder:"TIME"`
	Zone  string   `help:"Zone of times without an offset; the site's if not given."`
	Time  []string `help:"Header of the column of times: one for all recordings, or one for each." default:"time"`
}

// open opens the recordings; what part of them is asked for is in o. finish closes them, and takes the
// bar of how far they are read away; it may be called twice, also after an error.
func (c *recordings) open(w *world, s *config.Settings) (rows *recording.Merged, o replay.Options, finish func(), err error) {
	finish = func() {}
	if len(c.Data) == 0 {
		return nil, o, finish, usage{errors.New("missing flag: --data")}
	}
	zone := s.Site.Zone
	if c.Zone != "" {
		if zone, err = time.LoadLocation(c.Zone); err != nil {
			return nil, o, finish, fmt.Errorf("--zone %q is not a zone; write one such as America/New_York", c.Zone)
		}
	}
	if o.From, err = moment(c.From, zone, "--from"); err != nil {
		return nil, o, finish, err
	}
	if o.Until, err = moment(c.Until, zone, "--until"); err != nil {
		return nil, o, finish, err
	}
	files, err := openAll(c.Data)
	finish = func() { closeAll(files) }
	if err != nil {
		return nil, o, finish, err
	}
	bar, away := progress(w, files)
	finish = func() {
		away()
		closeAll(files)
	}
	var readers []*recording.Reader
	for i, f := range files {
		r, err := recording.NewReader(io.TeeReader(f, bar),
			recording.Options{Name: c.Data[i], Zone: zone, TimeColumn: c.Time[min(i, len(c.Time)-1)]})
		if err != nil {
			return nil, o, finish, err
		}
		readers = append(readers, r)
	}
	return recording.Merge(readers...), o, finish, nil
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
