package replay_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// twoHouses is an invented farm: a heated house with a store of two fans and one of one fan, and a
// small unheated house.
const twoHouses = `
zone   = "Europe/Rome"
site   = { latitude = 45.4, longitude = 11.9, elevation = "0 m" }
season = { topping_up = "09-15", first_frost = "11-01", last_frost = "04-10" }

[prices]
currency    = "EUR"
electricity = "0.04 €/kWh"
fuel        = { kind = "electricity", price = "0.24 €/kWh", efficiency = "200 %" }

[[house]]
name     = "lower"
crop     = "lettuce"
setpoint = "4 °C"
frost    = "1 °C"
heater   = { setpoint = "3 °C" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "lower/air" },
  { role = "humidity", name = "damp", driver = "file", path = "lower/damp", column = "rh_percent" },
]
  [[house.store]]
  name = "beds"
  probe = [ { role = "soil", place = "between", name = "deep", depth = "50 cm", driver = "file", path = "lower/deep", stale = "12 h" } ]
  fan = [
    { name = "east", driver = "file", path = "lower/east", power = "600 W", flow = "1800 m³/h", flow_is = "measured" },
    { name = "west", driver = "file", path = "lower/west", power = "400 W", flow = "1080 m³/h", flow_is = "measured" },
  ]
  [[house.store]]
  name = "path"
  probe = [ { role = "soil", place = "between", name = "under", depth = "50 cm", driver = "file", path = "lower/under", stale = "12 h" } ]
  fan = [ { name = "north", driver = "file", path = "lower/north", power = "100 W", flow = "360 m³/h", flow_is = "measured" } ]

[[house]]
name  = "upper"
crop  = "lettuce"
frost = "2 °C"
probe = [ { role = "air", place = "crop", name = "air", driver = "file", path = "upper/air", stale = "65 min" } ]
  [[house.store]]
  name = "beds"
  probe = [ { role = "soil", place = "between", name = "deep", depth = "50 cm", driver = "file", path = "upper/deep", stale = "12 h" } ]
  fan = [ { name = "east", driver = "file", path = "upper/east", power = "200 W", flow = "720 m³/h", flow_is = "measured" } ]
`

func parse(t testing.TB, text string) *config.Settings {
	t.Helper()
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// rows reads a recording written in a test, local times in Rome.
func rows(t testing.TB, lines ...string) *recording.Reader {
	t.Helper()
	text := strings.Join(lines, "\n") + "\n"
	r, err := recording.NewReader(strings.NewReader(text), recording.Options{Zone: rome(t)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// told is a replay with a line for each change: time, house/store, state, stages.
func told(t testing.TB, s *config.Settings, r replay.Rows, o replay.Options) (*replay.Summary, []string) {
	t.Helper()
	var lines []string
	o.OnChange = func(c replay.Change) {
		house := &s.Houses[c.House].House
		store := &house.Decide.Stores[c.Store]
		d := c.Decision()
		lines = append(lines, fmt.Sprintf("%s %s/%s %v %v", c.Time.Format("15:04:05.999"), house.Name, store.Name,
			d.State, d.Stages[:len(store.Fans)]))
		if got := c.State.Stores[c.Store].Doing; got != d.State {
			t.Errorf("%v: the state says %v, the decision %v", c.Time, got, d.State)
		}
	}
	sum, err := replay.Run(s, r, o)
	if err != nil {
		t.Fatal(err)
	}
	return sum, lines
}

// total is the time in all activities, s.
func total(states [decide.Activities]float64) float64 {
	sum := 0.0
	for _, s := range states {
		sum += s
	}
	return sum
}

func clock(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04:05", text, rome(t))
	if err != nil {
		t.Fatal(err)
	}
	return at
}
