package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/decide"
)

// heated is an invented farm with a heater whose contact is on all the time. %[1]s is its folder.
const heated = `
units  = "us"
zone   = "UTC"
tick   = "60 s"
state_dir = "%[1]s/state"
site   = { latitude = 43.1, longitude = 0, elevation = "150 m" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
[prices]
currency = "USD"
electricity = "0.17 $/kWh"
fuel = { kind = "propane", price = "2.90 $/gal", efficiency = "80 %%" }
[[house]]
name     = "lower"
crop     = "none"
setpoint = "42 °F"
heater   = { setpoint = "38 °F", output = "60 kBtu/h" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "%[1]s/air" },
  { role = "heater-on", name = "burner", driver = "file", path = "%[1]s/burner" },
]
  [[house.store]]
  name  = "beds"
  probe = [{ role = "soil", place = "between", name = "deep", depth = "20 in", driver = "file", path = "%[1]s/air" }]
  fan   = [{ name = "east", driver = "file", path = "%[1]s/east", power = "600 W", flow = "1000 cfm", flow_is = "measured" }]
`

// winter lives two days and a half from Monday, 8 January 2024, on with the fan run by hand for ten hours, and
// returns the farm's settings file.
func winter(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(dir, "farm.toml")
	for name, text := range map[string]string{"farm.toml": fmt.Sprintf(heated, dir), "air": "12.0", "burner": "1"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, err := config.Load(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		clock := controller.Scaled(1, time.Date(2024, time.January, 8, 0, 0, 0, 0, time.UTC))
		farm, err := controller.New(ctx, s, controller.Options{Clock: clock, Log: slog.New(slog.DiscardHandler), StateDir: s.StateDir})
		if err != nil {
			t.Fatal(err)
		}
		ended := make(chan error, 1)
		go func() { ended <- farm.Run(ctx) }()
		time.Sleep(8 * time.Hour)
		if err := farm.Order("lower", "", decide.Order{Kind: decide.OrderRun, ForS: 10 * 3600}, controller.Person{}); err != nil {
			t.Error(err)
		}
		time.Sleep(53 * time.Hour)
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return path
}

// TestBillsAreHeldAgainstTheAccount of days that were lived. The fan drew 600 W for 10 h: 6 kWh. From noon
// to noon the heater was on for 48 h at 60 kBtu/h, 17.584 kW (1 Btu/h is 0.2930711 W, greenhouse-S019 to
// S021): 844 kWh. A gallon of propane gives 21.41365 kWh at 80 % (greenhouse-S075).
func TestBillsAreHeldAgainstTheAccount(t *testing.T) {
	farm := winter(t)
	for _, tt := range []struct {
		name, args string
		no         bool
		want       []string
	}{
		{"a bill of the farm", "--bill|2024-01-08..2024-01-09 10 kWh", false, []string{"meter of the farm, 2024-01-08 to 2024-01-09: 10 kWh", "the fans drew 6.0 kWh by the account, 60 % of the meter"}},
		{"of days in which no fan ran", "--bill|2024-01-09..2024-01-09 10 kWh", false, []string{"the fans drew 0.0 kWh by the account, 0 % of the meter"}},
		{"that counts less than the fans drew", "--house|lower|--bill|2024-01-08..2024-01-08 5 kWh", true, []string{"meter of house lower", "120 % of the meter", "which cannot be"}},
		{"of days nobody knows", "--bill|2024-01-05..2024-01-08 30 kWh", false, []string{"the account knows 25 % of this time"}},
		{"a first fill", "--fill|2024-01-08 60 gal", false, []string{"the first fill: what is burned counts from here"}},
		{"a fill that fits", "--fill|2024-01-10 40 gal", false, []string{"40 gal of propane", "gives 857 kWh of heat at 80 %", "seen on for 48.0 h, at its output 844 kWh"}},
		{"too much fuel", "--fill|2024-01-10 50 gal", true, []string{"gives 1071 kWh", "More fuel was filled up"}},
		{"too little", "--fill|2024-01-10 30 gal", true, []string{"gives 642 kWh", "for longer than the fuel lasts"}},
		{"as much fuel, in days half of which nobody knows", "--fill|2024-01-12 90 gal", false, []string{"the account knows 2", "gives 1927 kWh"}},
		{"as JSON", "--json|--fill|2024-01-10 40 gal", false, []string{`"kind":"fuel","house":"lower"`, `"heater_heat_kwh":844.`, `"known_ratio":1`}},
		{"a bill as JSON", "--json|--bill|2024-01-08..2024-01-09 10 kWh", false, []string{`"kind":"meter"`, `"meter_kwh":10,"fans_kwh":6`}},
	} {
		var stdout, stderr bytes.Buffer
		code := run(t.Context(), append([]string{"report", "--config", farm}, strings.Split(tt.args, "|")...), &stdout, &stderr)
		if want := map[bool]int{false: exitGood, true: exitNo}[tt.no]; code != want {
			t.Errorf("%s: exit code %d, want %d; %s", tt.name, code, want, &stderr)
		}
		for _, part := range tt.want {
			if !strings.Contains(strings.Join(strings.Fields(stdout.String()), " "), part) {
				t.Errorf("%s: lacks %q:\n%s", tt.name, part, &stdout)
			}
		}
	}
	var stdout bytes.Buffer
	code := run(t.Context(), []string{"report", "--config", farm, "--from", "2024-01-08", "--until", "2024-01-12"}, &stdout, io.Discard)
	for _, part := range []string{"\nBills\n", "of the farm, 2024-01-08 to 2024-01-09: 10 kWh", "of house lower, 2024-01-08 to 2024-01-10: 40 gal"} {
		if code != exitGood || !strings.Contains(stdout.String(), part) {
			t.Errorf("the report lacks %q:\n%s", part, &stdout)
		}
	}
	stdout.Reset()
	run(t.Context(), []string{"report", "--config", farm, "--from", "2024-02-08", "--until", "2024-03-12"}, &stdout, io.Discard)
	if strings.Contains(stdout.String(), "Bills") {
		t.Errorf("another month tells of these bills:\n%s", &stdout)
	}
}

// TestFillsNeedATank names what is missing.
func TestFillsNeedATank(t *testing.T) {
	two := &config.Settings{Houses: make([]config.House, 2), Fuel: config.Fuel{Kind: 1, Efficiency: 0.8}}
	for i, name := range []string{"lower", "upper"} {
		two.Houses[i].House.Name = name
		two.Houses[i].House.Decide.Heater.Present = true
	}
	for _, tt := range []struct {
		name  string
		house string
		s     *config.Settings
		want  string
	}{
		{"no fuel", "", &config.Settings{}, "name no fuel"},
		{"two tanks", "", two, "whose tank"},
		{"no heater", "middle", two, "no such house has a heater"},
	} {
		_, err := (&reportCommand{House: tt.house}).tankOf(tt.s)
		if !errors.As(err, new(usage)) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
	}
	if house, err := (&reportCommand{House: "upper"}).tankOf(two); err != nil || house != "upper" {
		t.Errorf("of one of two it is %q, %v", house, err)
	}
}
