package recording

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loambank/drivers/device"
)

// played is a recording on disk with a clock that the test sets.
type played struct {
	path string
	now  time.Time
}

func play(t *testing.T, lines ...string) *played {
	t.Helper()
	p := &played{path: filepath.Join(t.TempDir(), "farm.csv")}
	if err := os.WriteFile(p.path, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *played) probe(t *testing.T, column string) *Probe {
	t.Helper()
	probe, err := OpenProbe(t.Context(), ProbeOptions{
		Name: "lower/beds/deep", Path: p.path, Column: column, Zone: place(t, "Europe/Rome"),
		Now: func() time.Time { return p.now },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { probe.Close() })
	return probe
}

// clock is a local time of an invented winter's day in Rome.
func clock(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04:05", text, place(t, "Europe/Rome"))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestProbePlaysTheRowThatCoversNow(t *testing.T) {
	p := play(t, "time,lower/air_degC,lower/beds/deep_degF",
		"2026-01-20T08:00:00,5,50", "2026-01-20T08:10:00,6,", "2026-01-20T09:00:00,7,59", "2026-01-20T09:30:00+01:00,8,68")
	probe := p.probe(t, "")
	for _, c := range []struct {
		what, at string
		want     float64
		err      string // "" is none
	}{
		{"before the first row", "2026-01-20 07:59:59", 0, "the recording begins at 2026-01-20 08:00:00 +0100"},
		{"at the first", "2026-01-20 08:00:00", 10, ""},
		{"until the second", "2026-01-20 08:09:59", 10, ""},
		{"whose cell is empty", "2026-01-20 08:10:00", 0, "the cell of 2026-01-20 08:10:00 +0100 is empty"},
		{"the third is past at once", "2026-01-20 09:29:59", 15, ""},
		{"the last has an offset of its own", "2026-01-20 09:30:00", 20, ""},
		{"and stands for a day of 25 hours", "2026-01-21 10:30:00", 20, ""},
		{"no longer", "2026-01-21 10:30:01", 0, "nothing was recorded since 2026-01-20 09:30:00 +0100"},
		{"it is not rewound", "2026-01-20 09:29:59", 0, "the clock was set back before 2026-01-20 09:30:00 +0100, and a recording is not rewound"},
		{"but goes on where it was", "2026-01-20 09:31:00", 20, ""},
	} {
		p.now = clock(t, c.at)
		v, err := probe.Read(t.Context())
		want := ""
		if c.err != "" {
			want = "probe lower/beds/deep at " + p.path + ": the device is not there: " + c.err
		}
		if v != c.want || (err == nil) != (c.err == "") || err != nil && (err.Error() != want || !errors.Is(err, device.ErrAbsent)) {
			t.Errorf("%s, %s: %v, %v; want %v, %s", c.at, c.what, v, err, c.want, want)
		}
	}
}

func TestProbeTakesAnyColumnByItsHeader(t *testing.T) {
	p := play(t, "time,lower/beds/deep_degC,soil 2", "2026-01-20T08:00:00,5,6")
	p.now = clock(t, "2026-01-20 08:00:00")
	if v, err := p.probe(t, "soil 2").Read(t.Context()); v != 6 || err != nil {
		t.Errorf("%v, %v; want 6", v, err)
	}
}

func TestProbeSaysWhatIsWrongWithARecording(t *testing.T) {
	p := play(t, "time,lower/beds/deep_degC", "2026-01-20T08:00:00,5", "2026-01-20T09:00:00,warm")
	probe := p.probe(t, "")
	p.now = clock(t, "2026-01-20 08:30:00")
	v, err := probe.Read(t.Context())
	want := "probe lower/beds/deep at " + p.path + ": not in the expected form: " + p.path +
		`:3: column "lower/beds/deep_degC" holds "warm"; it should hold a decimal number, or nothing where the value is missing`
	if v != 0 || err == nil || err.Error() != want || !errors.Is(err, device.ErrFormat) {
		t.Errorf("%v, %v; want %s", v, err, want)
	}
	empty := play(t, "time,lower/beds/deep_degC")
	if _, err := empty.probe(t, "").Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.HasSuffix(err.Error(), "the recording has no row") {
		t.Errorf("of a recording without rows: %v", err)
	}
}

func TestProbeIsNotOpened(t *testing.T) {
	p := play(t, "time,lower/air_degC,lower/deep_degC", "2026-01-20T08:00:00,5,6")
	dir := filepath.Dir(p.path)
	for _, c := range []struct {
		name, path, column string
		is                 error
		want               string
	}{
		{"a file that is not there", filepath.Join(dir, "none.csv"), "", device.ErrAbsent, "no such file or directory"},
		{"a folder", dir, "", device.ErrFormat, "it is not a plain file; give a recording"},
		{"a device", os.DevNull, "", device.ErrFormat, "it is not a plain file; give a recording"},
		{"no column of its name", p.path, "", device.ErrFormat, `no column "lower/beds/deep_<unit>"; it has lower/air_degC, lower/deep_degC`},
		{"no such column", p.path, "air", device.ErrFormat, `no column "air"; it has lower/air_degC, lower/deep_degC`},
	} {
		t.Run(c.name, func(t *testing.T) {
			probe, err := OpenProbe(t.Context(), ProbeOptions{Name: "lower/beds/deep", Path: c.path, Column: c.column})
			want := "probe lower/beds/deep at " + c.path + ": " + c.is.Error() + ": " + c.want
			if probe != nil || err == nil || err.Error() != want || !errors.Is(err, c.is) {
				t.Errorf("%v, %v; want %s", probe, err, want)
			}
		})
	}
}

// TestProbeGoesALongWayInSeveralCalls starts at the end of a long recording with contexts that are
// done after a while.
func TestProbeGoesALongWayInSeveralCalls(t *testing.T) {
	lines := []string{"time,lower/beds/deep_degC"}
	begin := clock(t, "2026-01-20 08:00:00")
	const rows = 5000
	for i := range rows {
		lines = append(lines, fmt.Sprintf("%s,%d", begin.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), i))
	}
	p := play(t, lines...)
	p.now = begin.Add((rows - 10) * time.Minute)
	probe := p.probe(t, "")
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	calls := 1
	for ; ; calls++ {
		v, err := probe.read(gone)
		if err == nil {
			if v != rows-10 {
				t.Errorf("%v, want %d", v, rows-10)
			}
			break
		}
		if !errors.Is(err, context.Canceled) || calls > rows {
			t.Fatalf("call %d: %v", calls, err)
		}
	}
	if calls != rows/1024+1 {
		t.Errorf("%d calls; want one for each 1024 rows and a last one", calls)
	}
}

func TestClosedProbeIsNotRead(t *testing.T) {
	p := play(t, "time,lower/beds/deep_degC", "2026-01-20T08:00:00,5")
	p.now = clock(t, "2026-01-20 08:00:00")
	probe := p.probe(t, "")
	for range 2 {
		if err := probe.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := probe.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
		t.Errorf("closed, it reads %v", err)
	}
}
