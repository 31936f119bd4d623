package drivers

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestKindsAreSortedAndFileIsBuiltIn(t *testing.T) {
	if k := Kinds(); !slices.IsSorted(k) || len(slices.Compact(slices.Clone(k))) != len(k) {
		t.Errorf("kinds %v are not sorted, or one is there twice", k)
	}
	tests := []struct {
		kind       string
		probe, fan bool
	}{{"file", true, true}, {"ds18b20", true, false}, {"relay", false, true}, {"dac", false, true}, {"sht4x", true, false}, {"mqtt", true, true}, {"modbus", true, true}, {"abacus", false, false}}
	for _, tt := range tests {
		if probe, fan := Opens(tt.kind); probe != tt.probe || fan != tt.fan {
			t.Errorf("%s opens probes %v, fans %v; want %v, %v", tt.kind, probe, fan, tt.probe, tt.fan)
		}
	}
}

func TestOpenAndUse(t *testing.T) {
	dir := t.TempDir()
	out, in := filepath.Join(dir, "fan"), filepath.Join(dir, "air")
	f, err := OpenFan(t.Context(), Stanza{Name: "lower/beds/east", Driver: "file", Path: out, ActiveLow: true})
	if err != nil {
		t.Fatal(err)
	}
	if b, _ := os.ReadFile(out); string(b) != "1" {
		t.Errorf("an active-low fan opens with %q; want 1, off", b)
	}
	if err := f.Set(t.Context(), 1); err != nil {
		t.Error(err)
	}
	p, err := OpenProbe(t.Context(), Stanza{Name: "lower/air", Driver: "file", Path: in, Scale: 2, Offset: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, ErrAbsent) {
		t.Errorf("before the file is there: %v; want ErrAbsent", err)
	}
	if err := os.WriteFile(in, []byte("10\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if v, err := p.Read(t.Context()); v != 20.5 || err != nil {
		t.Errorf("got %v, %v; want 20.5", v, err)
	}
	if err := errors.Join(p.Close(), f.Close()); err != nil {
		t.Error(err)
	}
	if b, _ := os.ReadFile(out); string(b) != "1" {
		t.Errorf("closed with %q; want 1, off", b)
	}
}

func TestOpenARecording(t *testing.T) {
	path := filepath.Join(t.TempDir(), "farm.csv")
	rows := "time,lower/beds/deep_degC,other\n2026-01-20T08:00:00,10,20\n2026-01-20T09:00:00,11,21\n"
	if err := os.WriteFile(path, []byte(rows), 0o644); err != nil {
		t.Fatal(err)
	}
	s := Stanza{
		Name: "lower/beds/deep", Driver: "recording", Path: path, Zone: time.FixedZone("", 3600), Scale: 2, Offset: 1,
		Now: func() time.Time { return time.Date(2026, time.January, 20, 7, 30, 0, 0, time.UTC) },
	}
	for column, want := range map[string]float64{"": 21, "other": 41} {
		s.Column = column
		p, err := OpenProbe(t.Context(), s)
		if err != nil {
			t.Fatal(err)
		}
		if v, err := p.Read(t.Context()); v != want || err != nil {
			t.Errorf("column %q: %v, %v; want %v", column, v, err, want)
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
	s.Where, s.Zone = "farm.toml:7", nil
	p, err := OpenProbe(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, ErrFormat) {
		t.Errorf("local times without a zone: %v", err)
	}
	s.Path += "x"
	if p, err := OpenProbe(t.Context(), s); p != nil || !errors.Is(err, ErrAbsent) || !strings.HasPrefix(err.Error(), "farm.toml:7: ") {
		t.Errorf("a file that is not there: %v, %v", p, err)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

func TestOpenRefuses(t *testing.T) {
	tests := []struct {
		name string
		s    Stanza
		fan  bool
		want string
	}{
		{
			"a probe of a kind without driver",
			Stanza{Where: "farm.toml:7", Name: "lower/soil", Driver: "dac"},
			false,
			`farm.toml:7: probe lower/soil: no driver "dac" for a probe in this program; it has ads1115, bme280, contact, ds18b20, file, modbus, model, mqtt, pulse, recording, scd4x, sht3x, sht4x`,
		},
		{
			"a fan of an unknown kind",
			Stanza{Name: "lower/beds/east", Driver: "abacus"},
			true,
			`fan lower/beds/east: no driver "abacus" for a fan in this program; it has dac, file, modbus, model, mqtt, relay`,
		},
		{
			"a file probe without a path",
			Stanza{Where: "farm.toml:7", Name: "lower/soil", Driver: "file"},
			false,
			`farm.toml:7: probe lower/soil: no path; give the file to read`,
		},
		{
			"a file fan where no file may be made",
			Stanza{Where: "farm.toml:9", Name: "east", Driver: "file", Path: "/sys/no-such-fan"},
			true,
			`farm.toml:9: fan east at /sys/no-such-fan: the device is not there: no such file or directory`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var err error
			var isNil bool
			if tt.fan {
				var f Fan
				f, err = OpenFan(t.Context(), tt.s)
				isNil = f == nil
			} else {
				var p Probe
				p, err = OpenProbe(t.Context(), tt.s)
				isNil = p == nil
			}
			if err == nil || err.Error() != tt.want || !isNil {
				t.Errorf("got  %v, nothing opened: %v\nwant %s", err, isNil, tt.want)
			}
		})
	}
}

func TestHardware(t *testing.T) {
	dir := t.TempDir()
	for link, to := range map[string]string{"into": "/sys/class", "own": dir} {
		if err := os.Symlink(to, filepath.Join(dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	tests := []struct {
		driver, path string
		want         bool
	}{
		{"file", "/sys/class/leds/fan/brightness", true},
		{"file", "/sys", true},
		{"file", "/tmp/../sys/class/x", true},
		{"file", "/dev/ttyUSB0", true},
		{"file", "/system/air", false},
		{"file", filepath.Join(dir, "air"), false},
		{"file", filepath.Join(dir, "into/hwmon/not-there-yet"), true},
		{"file", filepath.Join(dir, "own/not-there-yet"), false},
		{"model", "/sys/class/x", false},
		{"recording", "farm.csv", false},
		{"ds18b20", "", true},
		{"abacus", "", true},
	}
	for _, tt := range tests {
		if got := (Stanza{Driver: tt.driver, Path: tt.path}).Hardware(); got != tt.want {
			t.Errorf("%s %s is hardware: %v; want %v", tt.driver, strings.TrimPrefix(tt.path, dir), got, tt.want)
		}
	}
}

func TestSame(t *testing.T) {
	a := Stanza{Where: "farm.toml:7", Name: "east", Driver: "file", Path: "x", Levels: []float64{0.5, 1}}
	b := a
	b.Where, b.Levels = "farm.toml:9", []float64{0.5, 1}
	if !a.Same(b) {
		t.Error("a stanza that moved to another line is not the same; want it carried over")
	}
	b.Now, b.Zone, a.Zone = time.Now, time.FixedZone("farm", 3600), time.FixedZone("farm", 7200)
	if c := b; !c.Same(a) || !a.Same(c) {
		t.Error("with a clock and its zone loaded again it is not the same; want it carried over")
	}
	for name, change := range map[string]func(*Stanza){
		"path":    func(s *Stanza) { s.Path = "y" },
		"levels":  func(s *Stanza) { s.Levels = []float64{0.6, 1} },
		"active":  func(s *Stanza) { s.ActiveLow = true },
		"column":  func(s *Stanza) { s.Column = "y" },
		"zone":    func(s *Stanza) { s.Zone = time.UTC },
		"no zone": func(s *Stanza) { s.Zone = nil },
		"offset":  func(s *Stanza) { s.Offset = 1 },
	} {
		c := b
		change(&c)
		if a.Same(c) || a.Levels[0] != 0.5 {
			t.Errorf("with another %s it is the same; want it reopened", name)
		}
	}
}
