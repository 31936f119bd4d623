package config

import (
	"math"
	"slices"
	"strings"
	"testing"

	"loambank/controller/house"
)

func TestLevels(t *testing.T) {
	for _, c := range []struct {
		name, keys string
		want       []float64
	}{
		{"an on/off fan", "", []float64{1}},
		{"two speeds", `, levels = ["40 %", "100 %"]`, []float64{0.4, 1}},
		{"variable from 30 %", `, min_level = "30 %"`, []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}},
		{"variable from 75 %", `, min_level = "75 %"`, []float64{0.75, 0.8, 0.9, 1}},
		{"variable in name only", `, min_level = "100 %"`, []float64{1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, `power = "600 W"`, `power = "600 W"`+c.keys)
			got := s.Houses[0].House.Decide.Stores[0].Fans[0].Levels
			if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }) {
				t.Errorf("%v, want %v", got, c.want)
			}
			if !slices.Equal(s.Houses[0].Fans[0][0].Levels, got) {
				t.Errorf("the device has %v", s.Houses[0].Fans[0][0].Levels)
			}
		})
	}
}

func TestProbeKeys(t *testing.T) {
	s := parse(t,
		`path = "air" }`, `path = "air", offset = "-0.9 °F", scale = 0.001, stale = "20 min", min = "-20 °C", max = "122 °F", error = "0.2 K", agree = "1 K", column = "air_degC" }`,
		`path = "soil" }`, `path = "soil" }, { role = "fan-power", fan = "east", driver = "file", path = "p", offset = "-3 W" }`)
	h := s.Houses[0]
	p := h.House.Probes[0]
	if p.Judge.StaleS != 1200 || p.Judge.Min != -20 || p.Judge.Max != 50 || p.Judge.ErrorK != 0.2 || p.AgreeK != 1 || p.Fan != house.AllFans {
		t.Errorf("probe %+v", p)
	}
	if d := h.Probes[0]; d.Offset != -0.5 || d.Scale != 0.001 || h.Columns[0] != "air_degC" {
		t.Errorf("device %+v, column %q", d, h.Columns[0])
	}
	if p := h.House.Probes[2]; p.Store != 0 || p.Fan != 0 || p.Name != "fan-power" || h.Probes[2].Offset != -3 || h.Probes[2].Scale != 1 {
		t.Errorf("proof %+v %+v", p, h.Probes[2])
	}
}

func TestProbesAgreeAsTheirRoleLets(t *testing.T) {
	s := parse(t, `path = "air" }`, `path = "air" }, { role = "humidity", driver = "sht4x", bus = "I2C1", address = 0x44, min = "5 %", offset = "-2 %", error = "2 %" },
{ role = "light", driver = "file", path = "l", max = "90000 lux" }, { role = "heater-on", driver = "contact", pin = "GPIO5" },
{ role = "outside", driver = "ds18b20", bus = "W1", id = "28-01" }`)
	h := s.Houses[0]
	for i, want := range []float64{2.5, 0.1, 90000, 1, 2.5, 3} { // air, humidity, light, contact, outside, soil
		if got := h.House.Probes[i].AgreeK; got != want {
			t.Errorf("%s agrees within %v, want %v", h.House.Probes[i].Name, got, want)
		}
	}
	humidity := h.House.Probes[1].Judge
	if humidity.Min != 0.05 || humidity.ErrorK != 0.02 || h.Probes[1].Offset != -0.02 || h.Probes[1].Address != 0x44 {
		t.Errorf("humidity %+v %+v", humidity, h.Probes[1])
	}
}

func TestHeaterIsReportedByItsProbe(t *testing.T) {
	heater := "crop = \"lettuce\"\nheater = { setpoint = \"-4 °C\" }"
	if parse(t, `crop = "lettuce"`, heater).Houses[0].House.Decide.Heater.Reported {
		t.Error("reported by nothing")
	}
	s := parse(t, `crop = "lettuce"`, heater, `path = "air" }`, `path = "air" }, { role = "heater-on", driver = "contact", pin = "GPIO5" }`)
	if h := s.Houses[0].House.Decide.Heater; !h.Reported || !h.Present || h.RestS != 1800 || h.Band != 1 {
		t.Errorf("heater %+v", h)
	}
}

func TestUnheatedHouseSaysSo(t *testing.T) {
	if want := (Line{"house lower", "heater", "none", true}); !slices.Contains(parse(t).Effective, want) {
		t.Errorf("no line %+v", want)
	}
}

func TestFrostLimitStandsForACrop(t *testing.T) {
	p := parse(t, `crop = "lettuce"`, `frost = "2 °C"`).Houses[0].House.Decide.Policies[0]
	if !p.Crop || p.Frost != 2 || p.Setpoint != 5 {
		t.Errorf("%+v", p)
	}
}

func TestNamesAreLabels(t *testing.T) {
	for _, name := range []string{"azAZ09 -_.", strings.Repeat("a", 40)} {
		if got := parse(t, `name = "lower"`, `name = "`+name+`"`).Houses[0].House.Name; got != name {
			t.Errorf("%q became %q", name, got)
		}
	}
}

// A probe read every quarter of an hour is not lost after five minutes.
func TestStaleFollowsTheTick(t *testing.T) {
	s := parse(t, "zone =", "tick = \"15 min\"\nzone =")
	if got := s.Houses[0].House.Probes[0].Judge.StaleS; got != 2700 {
		t.Errorf("lost after %v s, want three ticks", got)
	}
}

func TestStoredWorth(t *testing.T) {
	const prices = "\n[prices]\ncurrency = \"EUR\"\nelectricity = \"0.30 €/kWh\"\n"
	const fuel = "fuel = { kind = \"electricity\", price = \"0.30 €/kWh\", efficiency = \"300 %\" }\n"
	const fan = `flow = "1.3 m3/s" } ]`
	const heater = "crop = \"lettuce\"\nheater = { setpoint = \"-2 °C\" }"
	months := `stored = [` + strings.Repeat(`"0.02 €/kWh", `, 11) + "\"0.04 €/kWh\"]\n"
	for _, c := range []struct {
		name       string
		oldnew     []string
		has        bool
		january    float64
		fuel, janS float64
	}{
		{"unheated: heat is worth no fuel", []string{fan, fan + prices + fuel}, false, 0, 0, -1},
		{"heated: 30 % of the fuel's heat, falling from the first frost to the last", []string{fan, fan + prices + fuel, `crop = "lettuce"`, heater}, true, -1, 0.1, -1},
		{"stated, also for an unheated house", []string{fan, fan + prices + months}, true, 0.02, 0, 0.5},
		{"stated over the default", []string{fan, fan + prices + fuel + months, `crop = "lettuce"`, heater}, true, 0.02, 0.1, 0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			tariff := parse(t, c.oldnew...).Houses[0].House.Decide.Tariff
			if tariff.HasStored != c.has || tariff.HasFuel != (c.fuel > 0) || math.Abs(tariff.FuelHeatPerKWh-c.fuel) > 1e-12 {
				t.Errorf("%+v", tariff)
			}
			if c.january >= 0 && tariff.StoredPerKWh[0] != c.january {
				t.Errorf("January %v", tariff.StoredPerKWh[0])
			}
			if c.janS >= 0 && tariff.Shares[0] != c.janS {
				t.Errorf("share in January %v", tariff.Shares[0])
			}
			if c.january < 0 {
				// 5 October to 12 May are 219 days; 15/16 January is day 102.5 of them.
				want := 0.3 * 0.1 * (1 - 102.5/219)
				if math.Abs(tariff.StoredPerKWh[0]-want) > 2e-4 || tariff.StoredPerKWh[6] != 0 {
					t.Errorf("January %v, July %v, want %v and 0", tariff.StoredPerKWh[0], tariff.StoredPerKWh[6], want)
				}
			}
		})
	}
}

func TestActionsConcernWhatTheyName(t *testing.T) {
	second := `
[[house]]
name = "upper"
crop = "none"
probe = [ { role = "air", place = "crop", driver = "file", path = "air2" } ]
[[house.store]]
name = "east"
probe = [ { role = "soil", place = "between", depth = "45 cm", driver = "file", path = "s2" } ]
fan = [ { name = "f", driver = "file", path = "fan2", power = "600 W", flow = "1.3 m3/s" } ]
[[house.store]]
name = "beds"
probe = [ { name = "s3", role = "soil", place = "between", depth = "45 cm", driver = "file", path = "s3" } ]
fan = [ { name = "f", driver = "file", path = "fan3", power = "600 W", flow = "1.3 m3/s" } ]
[[action]]
name = "all"
cron = "0 13 * * SUN"
[[action]]
name = "upper"
cron = "0 13 * * SUN"
house = "upper"
kind = "top-up"
run = "3 h"
[[action]]
name = "beds"
cron = "0 13 * * SUN"
store = "beds"
`
	s, err := Parse("farm.toml", []byte(minimal+second), nil)
	if err != nil {
		t.Fatal(err)
	}
	if h, p, ok := s.FindProbe("upper", "beds", "s3"); !ok || h != 1 || p != 2 {
		t.Errorf("found at %d %d %v", h, p, ok)
	}
	if _, _, ok := s.FindProbe("lower", "beds", "s3"); ok {
		t.Error("found in another house")
	}
	lower, upper := s.Houses[0].House.Decide.Actions, s.Houses[1].House.Decide.Actions
	for i, want := range [][2][2]bool{
		{{true, false}, {true, true}},
		{{false, false}, {true, true}},
		{{true, false}, {false, true}},
	} {
		got := [2][2]bool{{lower[i].Stores[0], lower[i].Stores[1]}, {upper[i].Stores[0], upper[i].Stores[1]}}
		if got != want {
			t.Errorf("action %d runs %v, want %v", i, got, want)
		}
	}
	if !upper[1].TopUp || upper[1].RunS != 3*3600 || upper[0].TopUp || upper[0].RunS != 120 {
		t.Errorf("actions %+v", upper)
	}
}

// What can be two devices is not taken for one.
func TestDevicesSideBySide(t *testing.T) {
	const fan = `{ name = "east", driver = "file", path = "fan",`
	const keys = ` power = "600 W", flow = "1.3 m3/s" }, `
	for _, c := range []struct{ name, more string }{
		{"two dacs on one bus", `{ name = "a", driver = "dac", bus = "I2C1", address = 0x60,` + keys + `{ name = "b", driver = "dac", bus = "I2C1", address = 0x61,` + keys},
		{"two models", `{ name = "a", driver = "model",` + keys + `{ name = "b", driver = "model",` + keys},
		{"two stations on one wire", `{ name = "a", driver = "modbus", url = "rtu:///dev/ttyUSB0", unit = 1, register = "coil 0",` + keys + `{ name = "b", driver = "modbus", url = "rtu:///dev/ttyUSB0", unit = 2, register = "coil 0",` + keys},
	} {
		t.Run(c.name, func(t *testing.T) {
			if s := parse(t, fan, c.more+fan); len(s.Houses[0].Fans[0]) != 3 {
				t.Errorf("%+v", s.Houses[0].Fans)
			}
		})
	}
}

func TestNearest(t *testing.T) {
	for _, c := range []struct{ word, want string }{
		{"margn", "margin"},
		{"magrin", "margin"},
		{"Margin", "margin"},
		{"margin_bnd", "margin_band"},
		{"gaim", "gain"},
		{"cpa", "cap"},
		{"cxx", ""},
		{"crop", ""},
		{"", ""},
		{strings.Repeat("margin", 20), ""},
	} {
		if got := nearest(c.word, []string{"cap", "gain", "margin", "margin_band"}); got != c.want {
			t.Errorf("%q is near %q, want %q", c.word, got, c.want)
		}
	}
}
