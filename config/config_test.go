package config

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/drivers"
)

// minimal is the smallest farm that is whole.
const minimal = `zone = "America/New_York"
site = { latitude = 43.1, longitude = -75.2 }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
[[house]]
name = "lower"
crop = "lettuce"
probe = [ { role = "air", place = "crop", driver = "file", path = "air" } ]
[[house.store]]
name = "beds"
probe = [ { role = "soil", place = "between", depth = "45 cm", driver = "file", path = "soil" } ]
fan = [ { name = "east", driver = "file", path = "fan", power = "600 W", flow = "1.3 m3/s" } ]
`

// parse builds minimal after replacements, old and new in turn.
func parse(t *testing.T, oldnew ...string) *Settings {
	t.Helper()
	for i := 0; i < len(oldnew); i += 2 {
		if !strings.Contains(minimal, oldnew[i]) {
			t.Fatalf("nothing to replace: %q", oldnew[i])
		}
	}
	s, err := Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(minimal)), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestFarmsPrintAsUnderstood(t *testing.T) {
	for _, farm := range []string{"example", "full"} {
		t.Run(farm, func(t *testing.T) {
			s, err := Load(filepath.Join(testdata, farm+".toml"), []string{"LOAMBANK_LISTEN=127.0.0.1:9000"})
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			if err := s.Print(&out, 80); err != nil {
				t.Fatal(err)
			}
			for line := range strings.Lines(out.String()) {
				if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 {
					t.Errorf("%d columns: %s", n, line)
				}
			}
			golden(t, filepath.Join(testdata, farm+".print"), strings.ReplaceAll(out.String(), testdata+"/", ""))
		})
	}
}

// sameShape names the tables whose keys may stand in one or the other: probes of a house and of a
// store, and what is switched. Only 1-Wire probes have an id.
var sameShape = strings.NewReplacer("house.store.fan.id", "house.probe.id", "alarm.output.id", "house.probe.id",
	"house.store.probe", "house.probe", "alarm.output.", "house.store.fan.")

// The full farm writes every key there is, so that its printed form shows each one understood.
func TestFullFarmWritesEveryKey(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(testdata, "full.toml"))
	if err != nil {
		t.Fatal(err)
	}
	pos := locate(data)
	written := map[string]bool{}
	for path := range pos.at {
		written[sameShape.Replace(plain(path))] = true
	}
	var walk func(path string, typ reflect.Type)
	walk = func(path string, typ reflect.Type) {
		for _, f := range keysOf(typ) {
			at := join(path, f.name)
			if !written[sameShape.Replace(at)] {
				t.Errorf("%s is not written", at)
			}
			if inner := tableIn(f.kind); inner != nil {
				walk(at, inner)
			}
		}
	}
	walk("", reflect.TypeFor[File]())
}

func TestExampleBuildsWhatItSays(t *testing.T) {
	s, err := Load(filepath.Join(testdata, "example.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	h := s.Houses[0]
	d := h.House.Decide
	p := d.Policies[0]
	near := func(name string, got, want, tol float64) {
		t.Helper()
		if !(got >= want-tol && got <= want+tol) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	near("42 °F", float64(p.Setpoint), 5.5556, 1e-4)
	near("35 °F", float64(p.Frost), 1.6667, 1e-4)
	near("heater 38 °F", float64(d.Heater.Setpoint), 3.3333, 1e-4)
	near("charge floor, heater 38 + 2 °F + 3 K", float64(p.ChargeFloor), 3.3333+1.1111+3, 1e-3)
	near("margin 8 °F", float64(p.Stores[0].Margin), 4.4444, 1e-4)
	near("480 ft", s.ElevationM, 146.304, 1e-9)
	near("pressure at 480 ft", d.PressurePa, 99600, 150) // standard atmosphere: about 12 Pa lost per m
	near("2800 cfm", d.Stores[0].Fans[0].FlowM3s, 2800*0.4719474e-3, 1e-6)
	near("60 kBtu/h", h.HeaterOutputW, 17584.27, 0.1)
	near("propane at 2.90 $/gal and 80 %", d.Tariff.FuelHeatPerKWh, 2.90/21.41365, 1e-4) // greenhouse-S075
	near("stored in January", d.Tariff.StoredPerKWh[0], 0.30*d.Tariff.FuelHeatPerKWh*d.Tariff.Shares[0], 1e-12)
	near("12 pipes of 24 ft, 2 ft apart", h.House.CapacityJK[0], 12*7.3152*0.6096*(0.4572+0.3)*(1400*840+0.25*4.18e6), 1) // loam at 25 % of water
	if !d.Stores[0].Fans[0].Catalogue || !d.Tariff.HasStored || !d.Tariff.HasFuel || d.Fallback != decide.DutyNight {
		t.Errorf("catalogue %v, stored %v, fuel %v, fallback %v", d.Stores[0].Fans[0].Catalogue, d.Tariff.HasStored, d.Tariff.HasFuel, d.Fallback)
	}
	if s.Display != unit.US || s.TickS != 10 || s.Listen != "127.0.0.1:9798" || s.MaxPowerW != 2400 || s.Currency != "USD" {
		t.Errorf("display %v, tick %v, listen %v, power %v", s.Display, s.TickS, s.Listen, s.MaxPowerW)
	}
	if w := d.Policies[1].Allow; w != (decide.Allow{Charge: true}) {
		t.Errorf("topping up allows %+v", w)
	}
	if len(d.Actions) != 1 || !d.Actions[0].Stores[0] || d.Actions[0].Stores[1] || d.Actions[0].RunS != 120 {
		t.Errorf("actions %+v", d.Actions)
	}
	fan := h.Fans[0][0]
	if fan.Name != "lower/beds/east" || fan.Pin != "GPIO17" || !fan.ActiveLow || !strings.Contains(fan.Where, "example.toml:49") {
		t.Errorf("fan %+v", fan)
	}
}

func TestProbesKeepTheirOrderAndPlace(t *testing.T) {
	s, err := Load(filepath.Join(testdata, "example.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	h := s.Houses[0]
	want := []struct {
		name, device string
		store        int
		role         judge.Role
		place        judge.Place
	}{
		{"air-crop", "lower/air-crop", house.WholeHouse, judge.Air, judge.Crop},
		{"humidity", "lower/humidity", house.WholeHouse, judge.Humidity, judge.NoPlace},
		{"outside", "lower/outside", house.WholeHouse, judge.Outside, judge.NoPlace},
		{"soil-between-18in", "lower/beds/soil-between-18in", 0, judge.Soil, judge.Between},
		{"soil-root-5in", "lower/beds/soil-root-5in", 0, judge.Soil, judge.Root},
	}
	if len(h.House.Probes) != len(want) || len(h.Probes) != len(want) || len(h.Columns) != len(want) {
		t.Fatalf("%d probes, %d devices, %d columns", len(h.House.Probes), len(h.Probes), len(h.Columns))
	}
	for i, w := range want {
		p := h.House.Probes[i]
		if p.Name != w.name || h.Probes[i].Name != w.device || p.Store != w.store || p.Judge.Role != w.role || p.Judge.Place != w.place {
			t.Errorf("probe %d: %+v %+v", i, p, h.Probes[i])
		}
	}
	if h, p, ok := s.FindProbe("lower", "beds", "soil-root-5in"); !ok || h != 0 || p != 4 {
		t.Errorf("found at %d %d %v", h, p, ok)
	}
	if _, _, ok := s.FindProbe("lower", "", "soil-root-5in"); ok {
		t.Error("a store's probe is found in the house itself")
	}
}

func TestEnvironmentOverridesTwoKeys(t *testing.T) {
	environ := []string{"HOME=/root", "LOAMBANK_STATE_DIR=/mnt/card", "LOAMBANK_LISTEN=:9000", "LOAMBANK_TICK=1s"}
	s, err := Parse("farm.toml", []byte(`listen = "127.0.0.1:1234"`+"\n"+minimal), environ)
	if err != nil {
		t.Fatal(err)
	}
	if s.StateDir != "/mnt/card" || s.Listen != ":9000" || s.TickS != 10 {
		t.Errorf("%s, %s, %v s", s.StateDir, s.Listen, s.TickS)
	}
	want := "environment: LOAMBANK_TICK: this variable changes nothing; only LOAMBANK_STATE_DIR and LOAMBANK_LISTEN do; write the rest in the file"
	if len(s.Warnings) == 0 || s.Warnings[0].String() != want {
		t.Errorf("warnings:\n%v\nwant\n%s", s.Warnings, want)
	}
	_, err = Parse("farm.toml", []byte(minimal), []string{"LOAMBANK_LISTEN=nonsense"})
	want = `environment: LOAMBANK_LISTEN: "nonsense" is not an address to listen on; write host and port, such as "127.0.0.1:9798", or ":9798" for every network`
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant\n%s", err, want)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	dir := t.TempDir()
	large := filepath.Join(dir, "large.toml")
	if err := os.WriteFile(large, bytes.Repeat([]byte("# nothing\n"), 1<<20), 0o644); err != nil {
		t.Fatal(err)
	}
	missing := filepath.Join(dir, "no.toml")
	for _, c := range []struct{ name, path, want string }{
		{"a missing file", missing, missing + ": file does not exist; give the path of the farm's settings file"},
		{"a folder", dir, dir + ": is a folder; give the path of the settings file in it"},
		{"10 MB", large, large + ":1: the file is larger than 1 MiB; give the settings file, not a recording or an image"},
		{"a device", os.DevNull, os.DevNull + ": is not a plain file; give the path of the settings file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if s, err := Load(c.path, nil); err == nil || err.Error() != c.want {
				t.Errorf("%v, error\n%v, want\n%s", s, err, c.want)
			}
		})
	}
	if _, err := Load(missing, nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a caller cannot tell that it is missing: %v", err)
	}
}

func TestFileWithTooManyKeys(t *testing.T) {
	var text strings.Builder
	for i := range maxKeys + 1 {
		fmt.Fprintf(&text, "key%d = 1\n", i)
	}
	_, err := Parse("farm.toml", []byte(text.String()), nil)
	if want := "farm.toml:1: the file has more than 20000 keys; write the keys that the manual shows"; err == nil || err.Error() != want {
		t.Errorf("%.200v\nwant\n%s", err, want)
	}
}

func TestLongListOfFaultsIsCut(t *testing.T) {
	_, err := Parse("farm.toml", []byte(minimal+strings.Repeat("[[action]]\n", 16)+strings.Repeat("[[house]]\n", 100)), nil)
	lines := strings.Split(fmt.Sprint(err), "\n")
	if len(lines) != maxShown+1 || !strings.HasSuffix(lines[maxShown], " more") || !strings.HasPrefix(lines[maxShown], "and ") {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
}

func TestByteOrderMarkAndCRLFAreAccepted(t *testing.T) {
	text := "\xef\xbb\xbf" + strings.ReplaceAll(minimal, "\n", "\r\n")
	if _, err := Parse("farm.toml", []byte(text), nil); err != nil {
		t.Error(err)
	}
}

func TestEveryDriverIsKnown(t *testing.T) {
	var kinds []string
	for _, d := range devices {
		kinds = append(kinds, d.kind)
	}
	if got, want := strings.Join(kinds, " "), strings.Join(drivers.Kinds(), " "); got != want {
		t.Errorf("devices\n%s\ndrivers\n%s", got, want)
	}
}

func TestARecordingIsPlayedInTheFarmsZone(t *testing.T) {
	const soil = `driver = "file", path = "soil"`
	p := parse(t, soil, `driver = "recording", path = "farm.csv", column = "deep"`).Houses[0].Probes[1]
	if p.Path != "farm.csv" || p.Column != "deep" || p.Zone.String() != "America/New_York" {
		t.Errorf("%+v", p)
	}
	if p := parse(t, soil, `driver = "file", path = "soil", column = "deep"`).Houses[0].Probes[1]; p.Column != "" || p.Zone != nil {
		t.Errorf("a file is no recording: %+v", p)
	}
}
