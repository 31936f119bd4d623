package config

import (
	"strings"
	"testing"
)

// quiet is minimal without its warnings.
var quiet = []string{
	`crop = "lettuce"`, "crop = \"lettuce\"\nfallback = \"off\"",
	`flow = "1.3 m3/s"`, `flow = "1.3 m3/s", flow_is = "measured"`,
}

func TestWarnings(t *testing.T) {
	const fan = `flow = "1.3 m3/s" } ]`
	const house = `crop = "lettuce"`
	for _, c := range []struct {
		name   string
		oldnew []string
		want   string // all warnings, "" for none
	}{
		{"a farm without folly", quiet, ""},
		{
			"one air probe and no stated fallback",
			[]string{`flow = "1.3 m3/s"`, `flow = "1.3 m3/s", flow_is = "measured"`},
			"farm.toml:4:3: house[0]: one probe alone reads the crop's air; when it fails the fans run from sunset to sunrise in the cold months; " +
				`add a second one, or write fallback = "night" or "off" to say that this is meant`,
		},
		{"a second air probe is as good", []string{
			`flow = "1.3 m3/s"`, `flow = "1.3 m3/s", flow_is = "measured"`,
			`path = "air" } ]`, `path = "air" }, { name = "b", role = "air", place = "crop", driver = "file", path = "air2" } ]`,
		}, ""},
		{
			"one at the intake is none among the leaves",
			[]string{
				`flow = "1.3 m3/s"`, `flow = "1.3 m3/s", flow_is = "measured"`,
				`path = "air" } ]`, `path = "air" }, { role = "air", place = "intake", driver = "file", path = "air2" } ]`,
			},
			"farm.toml:4:3: house[0]: one probe alone reads the crop's air; when it fails the fans run from sunset to sunrise in the cold months; " +
				`add a second one, or write fallback = "night" or "off" to say that this is meant`,
		},
		{
			"a window warns of its own keys alone",
			[]string{house, house + `
fallback = "off"
setpoint = "6.5 °C"
heater = { setpoint = "5 °C", band = "1 K" }`, fan, `flow = "1.3 m3/s", flow_is = "measured" } ]
[[house.window]]
name = "plain"
dates = "01-01..01-31"
margin = "5 K"
[[house.window]]
name = "odd"
charge_floor = "4 °C"
margin = "0.9 K"
[prices]
currency = "USD"
fuel = { kind = "propane", price = "3 $/gal" }`},
			"farm.toml:8:1: house[0].setpoint: setpoint 6.5 °C is less than 1 K over the 6 °C at which the heater stops: the heater will always run first; raise setpoint or lower the heater\n" +
				"farm.toml:21:1: house[0].window[1].charge_floor: charge floor 4 °C is under the 6 °C at which the heater stops: its heat would be put into the soil; raise charge_floor to 6 °C or more\n" +
				"farm.toml:22:1: house[0].window[1].margin: margin 0.9 K is smaller than the error of its two probes together, 1 K; raise margin, or state a smaller error of probes that were compared",
		},
		{
			"a catalogue flow",
			[]string{house, house + "\nfallback = \"night\""},
			`farm.toml:12:9: house[0].store[0].fan[0]: the flow of fan "east" is a catalogue figure, half of it is believed; measure it and write flow_is = "measured"`,
		},
		{
			"a charge floor under the heater's end",
			[]string{house, house + `
fallback = "off"
setpoint = "10 °C"
charge_floor = "5 °C"
heater = { setpoint = "5 °C", band = "1 K" }`, fan, `flow = "1.3 m3/s", flow_is = "measured" } ]` + "\n[prices]\ncurrency = \"USD\"\nfuel = { kind = \"propane\", price = \"3 $/gal\" }"},
			"farm.toml:9:1: house[0].charge_floor: charge floor 5 °C is under the 6 °C at which the heater stops: its heat would be put into the soil; raise charge_floor to 6 °C or more",
		},
		{
			"a setpoint that the heater is always ahead of",
			[]string{house, house + `
fallback = "off"
setpoint = "6.5 °C"
heater = { setpoint = "5 °C", band = "1 K" }`, fan, `flow = "1.3 m3/s", flow_is = "measured" } ]` + "\n[prices]\ncurrency = \"USD\"\nfuel = { kind = \"propane\", price = \"3 $/gal\" }"},
			"farm.toml:8:1: house[0].setpoint: setpoint 6.5 °C is less than 1 K over the 6 °C at which the heater stops: the heater will always run first; raise setpoint or lower the heater",
		},
		{
			"a heater without a price of its fuel",
			[]string{house, house + `
fallback = "off"
setpoint = "8 °C"
heater = { setpoint = "5 °C", band = "1 K" }`, fan, `flow = "1.3 m3/s", flow_is = "measured" } ]`},
			`farm.toml:9:1: house[0].heater: the fuel has no price, so that running is judged by min_ratio alone; write it, as in prices.fuel = { kind = "propane", price = "2.90 $/gal" }`,
		},
		{
			"a fuel that no house burns", append([]string{fan, `flow = "1.3 m3/s", flow_is = "measured" } ]` + "\n[prices]\ncurrency = \"USD\"\nfuel = { kind = \"propane\", price = \"3 $/gal\" }"}, quiet[:2]...),
			"farm.toml:15:1: prices.fuel: no house has a heater, so that the fuel's price changes nothing; state the heater, or remove the fuel",
		},
		{
			"a margin that two probes cannot tell", append([]string{`name = "beds"`, "name = \"beds\"\nmargin = \"0.8 K\""}, quiet...),
			"farm.toml:11:1: house[0].store[0].margin: margin 0.8 K is smaller than the error of its two probes together, 1 K; raise margin, or state a smaller error of probes that were compared",
		},
		{"the same margin with compared probes", append([]string{`name = "beds"`, "name = \"beds\"\nmargin = \"0.8 K\"", `path = "soil"`, `path = "soil", error = "0.1 K"`, `path = "air"`, `path = "air", error = "0.1 K"`}, quiet...), ""},
		{"errors of probes that the margin does not lie between", append([]string{
			`path = "air" }`, `path = "air" }, { role = "outside", driver = "file", path = "o", error = "9 K" }`,
			`path = "soil" }`, `path = "soil" }, { role = "soil", place = "undisturbed", depth = "1 m", driver = "file", path = "u", error = "9 K" }`,
		}, quiet...), ""},
		{
			"soil without a place, deep", append([]string{`place = "between", `, ""}, quiet...),
			`farm.toml:11:11: house[0].store[0].probe[0]: the soil probe has no place and is taken as "between" by its depth; write its place, "between", "root" or "undisturbed"`,
		},
		{
			"soil without a place, shallow", append([]string{`place = "between", depth = "45 cm"`, `depth = "12 cm"`}, quiet...),
			`farm.toml:11:11: house[0].store[0].probe[0]: the soil probe has no place and is taken as "root" by its depth; write its place, "between", "root" or "undisturbed"`,
		},
		{
			"a proof that nothing gives", append([]string{`power = "600 W"`, `power = "600 W", proof = "20 s"`}, quiet...),
			`farm.toml:12:74: house[0].store[0].fan[0].proof: no fan-power or airflow-proof probe watches fan "east"; add one to the store's probes, or remove proof`,
		},
		{
			"a backup thermostat that nothing sees", append([]string{`power = "600 W"`, `power = "600 W", backup_thermostat = "30 °F"`}, quiet...),
			`farm.toml:12:74: house[0].store[0].fan[0].backup_thermostat: no fan-power or airflow-proof probe watches fan "east"; add one to the store's probes, or remove backup_thermostat`,
		},
		{"a proof that a probe gives", append([]string{
			`power = "600 W"`, `power = "600 W", proof = "20 s"`,
			`path = "soil" } ]`, `path = "soil" }, { role = "airflow-proof", fan = "east", driver = "contact", pin = "GPIO4" } ]`,
		}, quiet...), ""},
		{
			"a window behind one that is always open", append([]string{fan, `flow = "1.3 m3/s", flow_is = "measured" } ]
[[house.window]]
name = "always"
[[house.window]]
name = "never"
dates = "06-01..08-31"`}, quiet[:2]...),
			`farm.toml:15:9: house[0].window[1]: window "never" never opens in the whole year; change its times, or list it before the window that covers it`,
		},
		{
			"a window shorter than the shortest run", append([]string{fan, `flow = "1.3 m3/s", flow_is = "measured" } ]
[[house.window]]
name = "short"
hours = "12:00..12:05"`}, quiet[:2]...),
			`farm.toml:13:9: house[0].window[0]: window "short" is open for 5 min at most, shorter than the shortest run of store "beds", 10 min; open it longer or lower min_run`,
		},
		{"a window on leap days alone does open", append([]string{fan, `flow = "1.3 m3/s", flow_is = "measured" } ]
[[house.window]]
name = "leap"
dates = "02-29..02-29"`}, quiet[:2]...), ""},
		{
			"topping up in the middle of winter", append([]string{`topping_up = "09-10"`, `topping_up = "12-01"`}, quiet...),
			`farm.toml:3:12: season.topping_up: topping up begins within the cold months, so that stored heat is worth nothing before the first frost; write a date before first_frost`,
		},
		{
			"a fan the generator cannot carry", append([]string{`longitude = -75.2`, `longitude = -75.2, generator_power = "300 W"`}, quiet...),
			`farm.toml:12:57: house[0].store[0].fan[0].power: fan "east" draws more than the generator may give, 300 W, and will not start while it runs; raise generator_power, or know that the crop has no fan then`,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			oldnew := c.oldnew
			s, err := Parse("farm.toml", []byte(replaceAll(minimal, oldnew)), nil)
			if err != nil {
				t.Fatal(err)
			}
			if got := s.Warnings.Error(); got != c.want {
				t.Errorf("\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// replaceAll replaces in turn, so that a later pair may change what an earlier one put in.
func replaceAll(text string, oldnew []string) string {
	for i := 0; i < len(oldnew); i += 2 {
		text = strings.ReplaceAll(text, oldnew[i], oldnew[i+1])
	}
	return text
}
