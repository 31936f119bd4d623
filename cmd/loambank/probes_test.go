package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"loambank/config"
	"loambank/controller/hand"
	"loambank/drivers"
	"loambank/drivers/device"
	"loambank/drivers/find"
)

// minimalFarm holds what a farm must have; %probes%, %soil% and %fans% are where lines are pasted.
const minimalFarm = `units = "us"
zone = "America/New_York"
site = { latitude = 43.1, longitude = -75.2 }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
state_dir = "state"
[[house]]
name = "lower"
crop = "lettuce"
probe = [
{ role = "air", place = "crop", driver = "ds18b20", id = "28-0000075a1c01" },
%probes%
]
[[house.store]]
name = "beds"
probe = [ { role = "soil", place = "between", depth = "18 in", driver = "ds18b20", id = "28-0000075a1c02" } ]
fan = [
{ name = "east", driver = "relay", pin = "GPIO17", power = "600 W", flow = "1500 cfm" },
%fans%
]
`

func farmWith(probes, fans string) string {
	return strings.NewReplacer("%probes%", probes, "%fans%", fans).Replace(minimalFarm)
}

// shownBoard goes into a folder with the files of the invented board and returns what is found there,
// with chips and lines, which no file can stand for, as a bus would show them.
func shownBoard(t *testing.T) find.Report {
	t.Helper()
	a, err := txtar.ParseFile("../../drivers/find/testdata/board.txtar")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := txtar.Write(a, "."); err != nil {
		t.Fatal(err)
	}
	r := find.New("sys", "dev").Find(t.Context())
	chip := func(at, how string, m find.Measure, s drivers.Stanza) find.Found {
		s.Bus = "I2C1"
		return find.Found{Kind: find.Chip, Bus: "I2C1", At: at, Measure: m, Stanza: s, How: how, Input: s.Channel}
	}
	sht := drivers.Stanza{Driver: "sht4x", Address: 0x45}
	wet := sht
	sht.Quantity, wet.Quantity = device.Temperature, device.Humidity
	r.Found = append(r.Found,
		chip("0x45", "by its serial number, 00010003", find.Temperature, sht),
		chip("0x45", "by its serial number, 00010003", find.Humidity, wet),
		chip("0x48", "by its two threshold registers, 8000 and 7fff", find.Voltage, drivers.Stanza{Driver: "ads1115", Channel: 2}),
		chip("0x60", "probably, by the form of its five bytes, c0 80 00 08 00", find.Nothing, drivers.Stanza{Driver: "dac"}),
		chip("0x62", "by its answer, with checksum, whether it has data", find.CO2, drivers.Stanza{Driver: "scd4x", Quantity: device.CO2}),
		chip("0x76", "by its number, 60", find.Pressure, drivers.Stanza{Driver: "bme280", Quantity: device.Pressure}),
		find.Found{Kind: find.Line, Bus: "gpiochip0:4", At: "GPIO4", Holder: "onewire@0"},
		find.Found{Kind: find.Line, Bus: "gpiochip0:17", At: "GPIO17", Holder: "loambank"},
		find.Found{Kind: find.Line, Bus: "gpiochip0:22", At: "GPIO22"},
		find.Found{Kind: find.Line, Bus: "gpiochip0:23", At: "GPIO23"},
		find.Found{Kind: find.Line, Bus: "gpiochip1:0"})
	return r
}

// surveyed is what a farm makes of the board, files read.
func surveyed(t *testing.T, farm string) *survey {
	t.Helper()
	r := shownBoard(t)
	var s *config.Settings
	if farm != "" {
		var err error
		if s, err = config.Parse("farm.toml", []byte(farm), nil); err != nil {
			t.Fatal(err)
		}
	}
	v := newSurvey(s)
	v.take(r)
	t.Cleanup(v.close)
	for _, i := range v.items {
		if i.readable() && i.Stanza.Driver == "file" { // there is no bus
			i.read(t.Context())
		}
	}
	return v
}

func TestProbesAreShownInEightyColumns(t *testing.T) {
	v := surveyed(t, farmWith("", ""))
	var out bytes.Buffer
	v.print(&out, 80)
	golden(t, "probes.txt", out.Bytes())
	for line := range strings.Lines(out.String()) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 && !strings.HasPrefix(line, "{") {
			t.Errorf("%d columns, 80 are there: %s", n, line)
		}
	}
}

func TestProbesForProgramsAreOneObjectALine(t *testing.T) {
	v := surveyed(t, farmWith("", ""))
	var out bytes.Buffer
	if err := v.json(&out); err != nil {
		t.Fatal(err)
	}
	golden(t, "probes.jsonl", out.Bytes())
	for line := range strings.Lines(out.String()) {
		var object probesJSON
		d := json.NewDecoder(strings.NewReader(line))
		d.DisallowUnknownFields()
		if err := d.Decode(&object); err != nil || object.Schema != 1 || object.Where == "" {
			t.Errorf("%s is %+v, %v", line, object, err)
		}
	}
}

// golden compares with a file of testdata, which -update writes anew.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join(home, "testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Error(d)
	}
}

// home is the folder of this package, which tests leave.
var home, _ = os.Getwd()

func TestEveryStanzaIsUnderstoodWhereItIsPasted(t *testing.T) {
	v := surveyed(t, "")
	var probes, fans []string
	kinds := map[string]bool{}
	for _, i := range v.items {
		if !i.idle() || i.At == "28-0000075a1c01" { // which the minimal farm has
			continue
		}
		line := i.stanza()
		kinds[i.Stanza.Driver+" "+i.Measure.String()] = true
		farm := farmWith(line, "")
		if i.Kind == find.Line || i.Stanza.Driver == "dac" {
			farm = farmWith("", line)
			fans = append(fans, line)
		} else {
			probes = append(probes, line)
		}
		s, err := config.Parse("farm.toml", []byte(farm), nil)
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		again := newSurvey(s)
		again.take(find.Report{Found: []find.Found{i.Found}})
		if len(again.items) != 1 || len(again.items[0].users) != 1 {
			t.Errorf("%s, pasted, is not known again: %+v", line, again.items)
			continue
		}
		if got, want := again.items[0].Stanza, i.Stanza; i.Stanza.Driver != "" && i.Stanza.Driver != "ads1115" && i.Stanza.Driver != "dac" && !sameReading(got, want) {
			t.Errorf("%s reads %+v, found was %+v", line, got, want)
		}
	}
	if len(fans) < 3 || len(kinds) < 8 {
		t.Errorf("only %d fans and %v were pasted", len(fans), kinds)
	}
	all := farmWith(strings.Join(probes, "\n"), strings.Join(fans, "\n"))
	if _, err := config.Parse("farm.toml", []byte(all), nil); err != nil {
		t.Errorf("all together: %v", err)
	}
}

// sameReading reports whether two stanzas read the same value from the same place.
func sameReading(a, b drivers.Stanza) bool {
	one := func(scale float64) float64 {
		if scale == 0 {
			return 1
		}
		return scale
	}
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-6*math.Abs(b) }
	return a.Driver == b.Driver && a.Path == b.Path && a.ID == b.ID && sameBus(a.Bus, b.Bus) && chipAddress(a) == chipAddress(b) &&
		(a.Driver == "file" || a.Quantity == b.Quantity) && near(one(a.Scale), one(b.Scale)) && near(a.Offset, b.Offset)
}

func TestUsersAreFoundWhereverTheyAreWritten(t *testing.T) {
	wire := find.Found{Kind: find.Wire, Bus: "OneWire1", At: "28-0000075a1c01", Measure: find.Temperature, Stanza: drivers.Stanza{Driver: "ds18b20", ID: "28-0000075a1c01"}}
	wet := find.Found{Kind: find.Chip, Bus: "I2C1", At: "0x44", Measure: find.Humidity, Stanza: drivers.Stanza{Driver: "sht4x", Bus: "I2C1", Quantity: device.Humidity}}
	input := find.Found{Kind: find.Chip, Bus: "I2C1", At: "0x48", Measure: find.Voltage, Input: 2, Stanza: drivers.Stanza{Driver: "ads1115", Bus: "I2C1", Channel: 2}}
	alone := find.Found{Kind: find.Chip, Bus: "I2C1", At: "0x48", Stanza: drivers.Stanza{Bus: "I2C1", Address: 0x48}}
	path := find.Found{Kind: find.File, At: "/sys/class/hwmon/hwmon2/temp1_input"}
	line := find.Found{Kind: find.Line, Bus: "gpiochip0:17", At: "GPIO17"}
	nameless := find.Found{Kind: find.Line, Bus: "gpiochip0:18"}
	for _, c := range []struct {
		name   string
		found  find.Found
		stanza drivers.Stanza
		want   bool
	}{
		{"an id is the thermometer's on any bus", wire, drivers.Stanza{Driver: "ds18b20", ID: "28-0000075a1c01", Bus: "1"}, true},
		{"another id is another", wire, drivers.Stanza{Driver: "ds18b20", ID: "28-0000075a1c02"}, false},
		{"the kernel's file of a thermometer is the thermometer", wire, drivers.Stanza{Driver: "file", Path: "/sys/bus/w1/devices/28-0000075a1c01/temperature"}, true},
		{"a bus by its number is the bus", wet, drivers.Stanza{Driver: "sht4x", Bus: "1", Quantity: device.Humidity}, true},
		{"a bus by its file is the bus", wet, drivers.Stanza{Driver: "sht4x", Bus: "/dev/i2c-1", Quantity: device.Humidity}, true},
		{"bus 11 is not bus 1", wet, drivers.Stanza{Driver: "sht4x", Bus: "I2C11", Quantity: device.Humidity}, false},
		{"the chip's other quantity is another probe", wet, drivers.Stanza{Driver: "sht4x", Bus: "I2C1", Quantity: device.Temperature}, false},
		{"another address is another chip", wet, drivers.Stanza{Driver: "sht4x", Bus: "I2C1", Address: 0x45, Quantity: device.Humidity}, false},
		{"an input is one by its number", input, drivers.Stanza{Driver: "ads1115", Bus: "I2C1", Channel: 2}, true},
		{"the next input is another", input, drivers.Stanza{Driver: "ads1115", Bus: "I2C1", Channel: 3}, false},
		{"a chip left alone is whoever's at its address", alone, drivers.Stanza{Driver: "ads1115", Bus: "I2C1", Channel: 3}, true},
		{"a path may be written with detours", path, drivers.Stanza{Driver: "file", Path: "/sys/class/hwmon/../hwmon/hwmon2/temp1_input"}, true},
		{"another file is another", path, drivers.Stanza{Driver: "file", Path: "/sys/class/hwmon/hwmon3/temp1_input"}, false},
		{"a line by its name", line, drivers.Stanza{Driver: "relay", Pin: "GPIO17"}, true},
		{"a line by its number", line, drivers.Stanza{Driver: "relay", Pin: "gpiochip0:17"}, true},
		{"a line among several", line, drivers.Stanza{Driver: "relay", Pins: []string{"GPIO4", "GPIO17"}}, true},
		{"another line", line, drivers.Stanza{Driver: "relay", Pin: "GPIO18"}, false},
		{"a line without a name is nobody's who states no pin", nameless, drivers.Stanza{Driver: "file", Path: "x"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := uses(user{Stanza: c.stanza}, c.found); got != c.want {
				t.Errorf("uses is %v, want %v", got, c.want)
			}
		})
	}
}

func TestAUsedProbeIsReadAsTheFarmReadsIt(t *testing.T) {
	v := surveyed(t, farmWith(`{ role = "outside", driver = "file", path = "sys/class/hwmon/hwmon2/temp1_input", offset = "-2 K" },
{ name = "far", role = "outside", driver = "ds18b20", id = "28-0000075a1c05", offset = "-2 K" },
{ role = "humidity", driver = "sht4x", bus = "I2C1", address = 0x45, heater_burst = "1 h" },`, ""))
	read := false
	for _, i := range v.items {
		if strings.HasSuffix(i.At, "hwmon2/temp1_input") {
			read = i.value != nil && *i.value > 16.0005 && *i.value < 16.0015
		}
		if i.At == "28-0000075a1c05" && (i.value == nil || *i.value != -1.5) {
			t.Error("0.5 °C by the kernel's file, with an offset of -2 K, is not shown as -1.5 °C")
		}
		if i.Stanza.HeaterBurst != 0 {
			t.Error("looking at a chip would heat it")
		}
	}
	if !read {
		t.Error("18.001 °C with an offset of -2 K is not shown as 16.001 °C")
	}
}

func TestTheWarmedProbeIsMarked(t *testing.T) {
	v := surveyed(t, farmWith("", ""))
	var before, after bytes.Buffer
	v.screen(&before, 80)
	if strings.Contains(before.String(), "> ") {
		t.Errorf("before anything was warmed:\n%s", &before)
	}
	for _, i := range v.items {
		if i.readable() && i.value == nil { // no bus is there
			i.fault = device.ErrAbsent
		}
		if i.At == "28-0000075a1c05" { // in the hand
			again(t, i, "3750")
		}
		if i.At == "28-0000075a1c01" { // in the draught
			again(t, i, "24562")
		}
	}
	v.screen(&after, 80)
	golden(t, "probes-watch.txt", after.Bytes())
	for line := range strings.Lines(after.String()) {
		if utf8.RuneCountInString(line) > 81 {
			t.Errorf("over 80 columns: %s", line)
		}
		if strings.HasPrefix(line, "> ") != strings.Contains(line, "28-0000075a1c05") {
			t.Errorf("the mark is at %s", line)
		}
	}
}

// again reads a thermometer of the kernel's once more, after its file was written.
func again(t *testing.T, i *item, milli string) {
	t.Helper()
	text := "91 01 4b 46 7f ff 0c 10 70 : crc=70 YES\n91 01 4b 46 7f ff 0c 10 70 t=" + milli + "\n"
	if err := os.WriteFile(i.Stanza.Path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if i.read(t.Context()); i.fault != nil {
		t.Fatal(i.fault)
	}
}

func TestListedProbesHaveEightFields(t *testing.T) {
	v := surveyed(t, "")
	for _, i := range v.items {
		if i.At == "28-0000075a1c05" {
			i.value, i.fault = nil, errors.New("two\nlines\tand a tab")
		}
	}
	var out bytes.Buffer
	v.list(&out)
	n := 0
	for line := range strings.Lines(out.String()) {
		n++
		if fields := strings.Split(strings.TrimSuffix(line, "\n"), "\t"); len(fields) != 8 {
			t.Errorf("%d fields in %q", len(fields), line)
		}
	}
	if n < 8 {
		t.Errorf("%d lines:\n%s", n, &out)
	}
	if !strings.Contains(out.String(), "1-Wire\t\t28-0000075a1c01\ttemperature\t25.062\tdegC\t\t\n") {
		t.Errorf("the first thermometer is not in\n%s", &out)
	}
}

func TestARunningFarmKeepsItsChips(t *testing.T) {
	s, err := config.Parse("farm.toml", []byte(farmWith(`{ role = "humidity", driver = "sht4x", bus = "I2C1", address = 0x45 },`, "")), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if newSurvey(s).daemon {
		t.Error("nothing runs, and it is taken to run")
	}
	if err := os.Mkdir(s.StateDir, 0o700); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("unix", hand.SocketPath(s.StateDir))
	if err != nil {
		t.Fatal(err)
	}
	v := newSurvey(s)
	if !v.daemon {
		t.Error("a farm that runs is not noticed")
	}
	if v.leave("I2C1", 0x45) == "" {
		t.Error("a chip that the farm reads may be touched")
	}
	if why := v.leave("I2C1", 0x44) + v.leave("I2C2", 0x45); why != "" {
		t.Errorf("other chips may not be touched: %s", why)
	}
	v.take(find.Report{Found: []find.Found{{
		Kind: find.Chip, Bus: "I2C1", At: "0x45", Stanza: drivers.Stanza{Bus: "I2C1", Address: 0x45}, Note: v.leave("I2C1", 0x45),
	}}})
	if i := v.items[0]; i.readable() || len(i.users) != 1 {
		t.Errorf("a chip that is left alone would be read, or has users %v", i.users)
	}
	var out bytes.Buffer
	v.print(&out, 80)
	if !strings.Contains(out.String(), "A loambank runs by these settings") {
		t.Errorf("it does not say why:\n%s", &out)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestOffsetsAreInTheUnitOfTheirRole(t *testing.T) {
	for _, c := range []struct {
		measure find.Measure
		offset  float64
		want    string
	}{
		{find.Temperature, -40, "-40.000000 K"},
		{find.Humidity, -0.06, "-6.000000 %"}, // a ratio inside
		{find.CO2, 20, "20.000000 ppm"},
		{find.Light, 3, "3.000000 lux"},
	} {
		i := &item{Found: find.Found{Measure: c.measure, Stanza: drivers.Stanza{Offset: c.offset}}}
		if got := i.offset(); got != c.want {
			t.Errorf("an offset of %g of %v is %q, want %q", c.offset, c.measure, got, c.want)
		}
	}
}
