package drivers_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"loambank/controller/judge"
	"loambank/drivers"
)

// holding is a file with a good reading, which is changed while broken.
func holding(name, good string, change func(path string) error) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		path := filepath.Join(t.TempDir(), name)
		p, err := drivers.OpenProbe(t.Context(), drivers.Stanza{Name: "lower/air", Driver: "file", Path: path})
		write := func() error { return os.WriteFile(path, []byte(good), 0o600) }
		if err := write(); err != nil {
			t.Fatal(err)
		}
		return &kept{Probe: p, broken: broken, write: write, change: func() error { return change(path) }, clear: func() error { return os.RemoveAll(path) }}, err
	}
}

// kept is a probe whose file another program keeps.
type kept struct {
	drivers.Probe
	broken               *atomic.Bool
	was                  bool
	write, change, clear func() error
}

// Read reads the file, which has just been changed for better or worse.
func (k *kept) Read(ctx context.Context) (float64, error) {
	if k.was != k.broken.Load() {
		k.was = k.broken.Load()
		steps := []func() error{k.clear, k.write}
		if k.was {
			steps = []func() error{k.change}
		}
		for _, step := range steps {
			if err := step(); err != nil {
				return 0, err
			}
		}
	}
	return k.Probe.Read(ctx)
}

func fileFaults() []fault {
	const kernels = "a2 00 4b 46 7f ff 0c 10 d8 : crc=d8 YES\na2 00 4b 46 7f ff 0c 10 d8 t=10125\n"
	text := func(s string) func(string) error {
		return func(path string) error { return os.WriteFile(path, []byte(s), 0o600) }
	}
	row := func(name, file, good string, change func(string) error, is error, says string) fault {
		return fault{
			driver: "file", name: name, role: judge.Air, place: judge.Crop, open: holding(file, good, change), is: is, says: says,
			atOnce: judge.Fine, later: judge.Stale,
		}
	}
	value := func(name, s string, reads float64, cause judge.Cause) fault {
		f := row(name, "air", "10.1", text(s), nil, "")
		f.reads, f.atOnce, f.later = reads, cause, cause
		return f
	}
	folder := func(path string) error {
		os.Remove(path)
		return os.Mkdir(path, 0o700)
	}
	half := row("half a contact", "smoke", "0", text("0.5"), nil, "")
	half.role, half.place, half.reads, half.atOnce, half.later = judge.Smoke, judge.NoPlace, 0.5, judge.ErrorValue, judge.ErrorValue
	return []fault{
		half,
		row("removed", "air", "10.1", os.Remove, drivers.ErrAbsent, "no such file"),
		row("emptied by a full disk", "air", "10.1", text(""), drivers.ErrFormat, "the file is empty; expected a decimal number"),
		row("garbage", "air", "10.1", text("\x00\xff<html>"), drivers.ErrFormat, "expected a decimal number"),
		row("NaN", "air", "10.1", text("NaN"), drivers.ErrFormat, `it holds "NaN"`),
		row("a number too large", "air", "10.1", text("1e999"), drivers.ErrFormat, "out of range"),
		row("a comma for a point", "air", "10.1", text("10,1"), drivers.ErrFormat, `it holds "10,1"`),
		row("a log in its place", "air", "10.1", text(strings.Repeat("10.1\n", 1000)), drivers.ErrFormat, "more than 4096 bytes"),
		row("a folder in its place", "air", "10.1", folder, nil, "is a directory"),
		row("the kernel's word for a wrong checksum", "w1_slave", kernels, text(strings.Replace(kernels, "YES", "NO", 1)), drivers.ErrCRC, "the checksum does not match"),
		row("the kernel's word for zeros", "w1_slave", kernels, text("00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n"), drivers.ErrFormat, "shorted line"),
		row("the kernel's word for power-on", "w1_slave", kernels, text(strings.Replace(kernels, "t=10125", "t=85000", 1)), drivers.ErrPowerOn, "85.000 °C"),
		row("half of the kernel's two lines", "w1_slave", kernels, text(kernels[:40]), drivers.ErrFormat, "expected two lines"),
		value("-127, common software's word for a lost probe", "-127.00", -127, judge.ErrorValue),
		value("85, power-on behind other software", "85.0", 85, judge.ErrorValue), // sensors-S015
		value("°F in a file of °C", "88.5", 88.5, judge.OutOfRange),
		value("-999, a logger's word for nothing", "-999", -999, judge.OutOfRange),
	}
}

// recorded is a recording with a good row, a bad one an hour later, and a good one after another
// hour. The clock stands at the first, at the second while broken, and at the third afterwards.
func recorded(bad string) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		path := filepath.Join(t.TempDir(), "farm.csv")
		rows := "time,lower/air_degC\n2026-01-20T08:00:00Z,10.1\n" + bad + "\n2026-01-20T10:00:00Z,10.2\n"
		if err := os.WriteFile(path, []byte(rows), 0o600); err != nil {
			t.Fatal(err)
		}
		was := false
		return drivers.OpenProbe(t.Context(), drivers.Stanza{
			Name: "lower/air", Driver: "recording", Path: path, Now: func() time.Time {
				was = was || broken.Load()
				hour := 8
				switch {
				case broken.Load():
					hour = 9
				case was:
					hour = 10
				}
				return time.Date(2026, time.January, 20, hour, 0, 0, 0, time.UTC)
			},
		})
	}
}

func recordingFaults() []fault {
	row := func(name, bad string, is error, says string, reads float64, atOnce, later judge.Cause) fault {
		return fault{
			reads:  reads,
			driver: "recording", name: name, role: judge.Air, place: judge.Crop, open: recorded(bad), is: is, says: says,
			atOnce: atOnce, later: later,
		}
	}
	damaged := row("a row that is damaged", "2026-01-20T08:30:00Z,10.1\n2026-01-20T09:00:00Z,10.1,7", drivers.ErrFormat, "farm.csv:4: ", 0, judge.Fine, judge.Stale)
	damaged.lost = true
	return []fault{
		row("an empty cell", "2026-01-20T09:00:00Z,", drivers.ErrAbsent, "is empty", 0, judge.Fine, judge.Stale),
		row("a cell of NaN", "2026-01-20T09:00:00Z,NaN", drivers.ErrAbsent, "is empty", 0, judge.Fine, judge.Stale),
		row("85, power-on that was recorded", "2026-01-20T09:00:00Z,85.0", nil, "", 85, judge.ErrorValue, judge.ErrorValue),
		row("-127 that was recorded", "2026-01-20T09:00:00Z,-127", nil, "", -127, judge.ErrorValue, judge.ErrorValue),
		damaged,
	}
}
