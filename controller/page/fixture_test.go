package page_test

import (
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/page"
	"loambank/controller/sentence"
)

const hollow = `
units = "us"
zone  = "America/New_York"
tick  = "5 min"
site  = { latitude = 43.1, longitude = -75.2, elevation = "480 ft" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }

[prices]
currency    = "USD"
electricity = "0.17 $/kWh"
fuel        = { kind = "propane", price = "2.90 $/gal", efficiency = "80 %" }

[[house]]
name     = "lower"
crop     = "lettuce"
setpoint = "42 °F"
frost    = "35 °F"
heater   = { setpoint = "38 °F", band = "2 °F", output = "60 kBtu/h" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "air" },
  { role = "air", place = "intake", name = "intake", driver = "file", path = "intake" },
  { role = "humidity", name = "damp", driver = "file", path = "damp" },
  { role = "outside", name = "outside", driver = "file", path = "outside" },
]
  [[house.store]]
  name = "beds"
  probe = [
    { role = "soil", place = "between", name = "deep", depth = "18 in", driver = "file", path = "deep" },
    { role = "soil", place = "root", name = "root", depth = "5 in", driver = "file", path = "root" },
    { role = "soil", place = "undisturbed", name = "field", depth = "18 in", driver = "file", path = "field" },
  ]
  fan = [
    { name = "east", driver = "file", path = "east", power = "350 W", flow = "1900 cfm", flow_is = "measured" },
    { name = "west", driver = "file", path = "west", power = "350 W", flow = "1900 cfm", flow_is = "measured" },
  ]
`

// farm is an invented house that has lived for some days, with its history.
type farm struct {
	set  *config.Settings
	snap *controller.Snapshot
	dir  string

	midnight *ledger.House // the account as the last day began
}

// machine is what the machine's clock shows as the farm is looked at.
var machine = time.Date(2026, time.January, 21, 10, 0, 4, 0, time.UTC)

// live lets Fern Hollow live up to five in the morning of a cold January day.
func live(t testing.TB, days int) *farm {
	t.Helper()
	set, err := config.Parse("farm.toml", []byte(hollow), nil)
	if err != nil {
		t.Fatal(err)
	}
	f := &farm{set: set, dir: t.TempDir()}
	end := time.Date(2026, time.January, 21, 5, 0, 0, 0, set.Site.Zone)
	now := end.Add(-time.Duration(days) * 24 * time.Hour)
	db, _, err := history.Open(f.dir, now, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	h := &set.Houses[0]
	grown := house.New(&h.House, house.State{})
	account := ledger.New(h.House.Name, &h.House.Decide)
	db.Begin(history.Begin{House: &h.House, Now: now, Saved: grown.Save()})
	var result house.Result
	for n := 1; now.Before(end); n++ {
		now = now.Add(5 * time.Minute)
		seen := house.Seen{StepS: 300, Believed: true, Raw: weather(now, set.Site.Zone)}
		was := result.Decision
		result = grown.Tick(seen, now)
		account.Add(&h.House.Decide, &result.Inputs, &was, seen.StepS)
		account.Starts(&h.House.Decide, &was, &result.Decision)
		if now.Equal(end.Add(-5 * time.Hour)) {
			f.midnight = account.Clone()
		}
		db.Record(h.House.Name, now, &seen, &result, account)
		if n%100 == 0 {
			if err := db.Flush(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := db.Flush(); err != nil {
		t.Fatal(err)
	}
	f.snap = &controller.Snapshot{
		Settings: h, Currency: set.Currency, Time: now, Inputs: result.Inputs, Decision: result.Decision,
		State: *grown.Decided(), Verdicts: result.Verdicts, Account: account,
		Ticked: machine.Add(-4 * time.Second), Took: time.Millisecond, Tick: 10 * time.Second,
	}
	saving := func(begin string, heat, electricity, spread, cost float64) ledger.Saving {
		return ledger.Saving{
			Begin: begin, From: now.Unix() - 3600, To: now.Unix(), Heated: true, Currency: "USD", FuelPerKWh: 0.135, ElectricityMoney: cost,
			Energy: learn.Saved{
				HeatKWh: heat, ElectricityKWh: electricity, NetKWh: heat - electricity, SpreadKWh: spread, Claimed: true, CountedH: 5, LostH: 1,
			},
		}
	}
	f.snap.Saved[ledger.Day] = saving("2026-01-21", 18.25, 4.5, 6.125, 0.77)
	f.snap.Saved[ledger.Season] = saving("2025-09-10", 410.5, 62.25, 88, 10.6)
	account.Saved.Tell(ledger.Season, f.snap.Saved[ledger.Season])
	f.snap.Sentence = sentence.Speaker{Display: set.Display, Currency: unit.Symbol(set.Currency)}.Tell(sentence.View{
		Settings: &h.House.Decide, Inputs: &f.snap.Inputs, Decision: &f.snap.Decision, State: &f.snap.State, Zone: set.Site.Zone,
	})
	return f
}

// weather is sun and frost to a round recipe: what the probes of the house read.
func weather(now time.Time, zone *time.Location) []judge.Raw {
	local := now.In(zone)
	hour := float64(local.Hour()) + float64(local.Minute())/60
	sun := max(0, math.Sin((hour-7)/10*math.Pi)) * (1.2 + math.Sin(float64(local.YearDay())*1.7)) / 2
	if hour > 17 {
		sun = 0
	}
	chill := 3 * math.Sin(float64(local.YearDay())*0.9)
	values := [...]float64{
		4 + 18*sun + chill/3 + math.Sin(hour), 4.5 + 20*sun + chill/3 + math.Sin(hour), 0.9 - 0.3*sun, -6 + 7*sun + chill + math.Sin(hour/3),
		13.5 + chill/20 + sun/3, 11 + 2*sun + chill/4, 6.5 + chill/20,
	}
	raw := make([]judge.Raw, len(values))
	for i, v := range values {
		raw[i] = judge.Raw{Value: math.Round(1000*v) / 1000, OK: true}
	}
	return raw
}

func (f *farm) view() *controller.View {
	return &controller.View{
		Believed: true, Reloaded: true, Kept: controller.Kept{Unix: machine.Unix()},
		Houses: []controller.Shown{{Snapshot: f.snap, Counted: f.snap.Account}},
	}
}

func (f *farm) options() page.Options {
	return page.Options{
		View: f.view, History: func() (*history.Reader, error) { return history.OpenReader(f.dir) },
		Settings: func() *config.Settings { return f.set }, Now: func() time.Time { return machine },
	}
}

// get asks a page as a browser does.
func get(t testing.TB, o page.Options, path string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.Header.Set("Accept", "text/html,application/xhtml+xml")
	w := httptest.NewRecorder()
	page.New(o).ServeHTTP(w, r)
	return w
}

func body(t testing.TB, r io.Reader) string {
	t.Helper()
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
