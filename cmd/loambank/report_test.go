package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"loambank/config"
	"loambank/controller/history"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// reported is a farm of three invented houses whose ledger tells what was saved: lower has a heater,
// upper none, barn fans whose flow is a catalogue's.
func reported(t *testing.T) (*config.Settings, *ledger.Checkpoint) {
	t.Helper()
	house := func(name, more string) string {
		return `
[[house]]
name     = "` + name + `"
crop     = "lettuce"
setpoint = "42 °F"
` + more + `
probe = [{ role = "air", place = "crop", name = "air", driver = "file", path = "air" }]
  [[house.store]]
  name   = "beds"
  probe = [{ role = "soil", place = "between", name = "deep", depth = "18 in", driver = "file", path = "deep" }]
  fan = [{ name = "east", driver = "file", path = "` + name + `-east", power = "300 W", flow = "1800 cfm", flow_is = "measured" }]
`
	}
	const heater = `heater = { setpoint = "38 °F", band = "2 °F", output = "60 kBtu/h" }`
	text := `
units  = "us"
zone   = "America/New_York"
site   = { latitude = 43.1, longitude = -75.2, elevation = "480 ft" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
[prices]
currency    = "USD"
electricity = "0.17 $/kWh"
fuel        = { kind = "propane", price = "2.90 $/gal", efficiency = "80 %" }
` + house("lower", heater) + house("upper", "") + house("barn", heater)
	dir := t.TempDir()
	s, err := config.Parse("farm.toml", []byte(text), []string{"LOAMBANK_STATE_DIR=" + dir})
	if err != nil {
		t.Fatal(err)
	}
	at := func(month time.Month, day, hour int) int64 {
		return time.Date(2025, month, day, hour, 0, 0, 0, s.Site.Zone).Unix()
	}
	warm := func(begin string, from, to int64, heat, fans, spread, money float64) ledger.Saving {
		return ledger.Saving{
			Begin: begin, From: from, To: to, Heated: true, Crop: true, Currency: "USD", FuelPerKWh: 0.1354, ElectricityMoney: money,
			Energy: learn.Saved{HeatKWh: heat, ElectricityKWh: fans, NetKWh: heat - fans, SpreadKWh: spread, Claimed: true, CountedH: 700, LostH: 20},
		}
	}
	cold := func(begin string, from, to int64, nights, spread, kh, khSpread float64) ledger.Saving {
		return ledger.Saving{Begin: begin, From: from, To: to, Crop: true, Energy: learn.Saved{
			ElectricityKWh: 60, Nights: nights, NightsSpread: spread, DegreeHours: kh, DegreeSpread: khSpread, CountedH: 719,
		}}
	}
	unknown := ledger.Saving{Begin: "2025-10-01", From: at(10, 31, 23), To: at(10, 31, 23), Heated: true, Crop: true}
	tell := map[string]ledger.Savings{
		"lower": {
			Months: []ledger.Saving{
				warm("2025-10-01", at(10, 12, 14), at(11, 1, 0), 12.5, 27.35, 6.5, 4.79), warm("2025-11-01", at(11, 1, 0), at(12, 1, 0), 410.4, 102.4, 64, 18.1),
			},
			Seasons: []ledger.Saving{warm("2025-09-10", at(10, 12, 14), at(12, 1, 0), 422.9, 129.75, 70.5, 22.89)},
		},
		"upper": {Months: []ledger.Saving{cold("2025-10-01", at(10, 1, 0), at(11, 1, 0), 2, 1, 3.25, 1.5), cold("2025-11-01", at(11, 1, 0), at(12, 1, 0), 11, 2, 41, 9)}},
		"barn":  {Months: []ledger.Saving{unknown, warm("2025-11-01", at(11, 9, 5), at(12, 1, 0), 100, 20, 30, 3.4)}, Seasons: []ledger.Saving{unknown}},
	}
	c := ledger.Checkpoint{Unix: at(12, 1, 0), Believed: true}
	for i := range s.Houses {
		h := &s.Houses[i].House
		account := ledger.New(h.Name, &h.Decide)
		for _, x := range tell[h.Name].Months {
			account.Saved.Tell(ledger.Month, x)
		}
		for _, x := range tell[h.Name].Seasons {
			account.Saved.Tell(ledger.Season, x)
		}
		c.Houses = append(c.Houses, ledger.Entry{Account: *account})
	}
	f, _, _, err := ledger.Open(dir, time.Unix(c.Unix, 0))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Save(c); err != nil {
		t.Fatal(err)
	}
	return s, &c
}

// TestWhatWasSavedIsReported by month and season, for people, for programs and as a table.
func TestWhatWasSavedIsReported(t *testing.T) {
	s, _ := reported(t)
	for name, c := range map[string]*reportCommand{
		"report-saved.txt": {}, "report-saved.jsonl": {JSON: true}, "report-saved.csv": {CSV: true},
	} {
		var out bytes.Buffer
		if err := c.saved(&world{stdout: &out}, s); err != nil {
			t.Fatal(err)
		}
		golden(t, name, out.Bytes())
		for line := range strings.Lines(out.String()) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 && !c.JSON && !c.CSV {
				t.Errorf("%d columns, 80 are there: %s", n, line)
			}
			if !c.JSON {
				continue
			}
			var object savedJSON
			d := json.NewDecoder(strings.NewReader(line))
			d.DisallowUnknownFields()
			if err := d.Decode(&object); err != nil || object.Schema != schema || object.Begin == "" {
				t.Errorf("%s is %+v, %v", line, object, err)
			}
		}
	}
}

func TestOnlyWhatIsAskedForIsReported(t *testing.T) {
	s, _ := reported(t)
	for _, tt := range []struct {
		name string
		c    reportCommand
		want []string // house, span and first day of each row
	}{
		{"a house", reportCommand{House: "upper"}, []string{"upper,month,2025-10-01", "upper,month,2025-11-01"}},
		{"from a day on", reportCommand{House: "lower", From: "2025-10-02"}, []string{"lower,month,2025-11-01"}},
		{"from the first day of a month", reportCommand{House: "lower", From: "2025-10-01"}, []string{"lower,month,2025-10-01", "lower,month,2025-11-01"}},
		{"until the first day of a month", reportCommand{House: "lower", Until: "2025-11-01"}, []string{"lower,month,2025-10-01", "lower,season,2025-09-10"}},
		{"a time of which nothing is told", reportCommand{From: "2026-01-01"}, nil},
	} {
		var out bytes.Buffer
		tt.c.CSV = true
		if err := tt.c.saved(&world{stdout: &out}, s); err != nil {
			t.Fatal(err)
		}
		rows := strings.Split(strings.TrimSpace(out.String()), "\n")[1:]
		if len(rows) != len(tt.want) {
			t.Errorf("%s: %d rows, want %d:\n%s", tt.name, len(rows), len(tt.want), out.String())
			continue
		}
		for i, row := range rows {
			if !strings.HasPrefix(row, tt.want[i]+",") {
				t.Errorf("%s: row %q, want %s", tt.name, row, tt.want[i])
			}
		}
	}
	if err := (&reportCommand{From: "soon"}).saved(&world{stdout: new(bytes.Buffer)}, s); err == nil {
		t.Error("--from soon is taken")
	}
}

// TestAMonthIsReportedWithWhatItSaved prints a month of each house, of which only the saving is filled in.
func TestAMonthIsReportedWithWhatItSaved(t *testing.T) {
	s, c := reported(t)
	var text, lines bytes.Buffer
	for i := range s.Houses {
		h := &s.Houses[i]
		from := time.Date(2025, time.November, 1, 0, 0, 0, 0, s.Site.Zone)
		if h.House.Name == "barn" {
			from = from.AddDate(0, -1, 0)
		}
		sum := &report.House{Name: h.House.Name, From: from, To: from.AddDate(0, 1, 0), KnownS: 720 * 3600, Electricity: 18.1, Fuel: 61.25}
		sum.Stores = []report.Store{{StoreTotals: history.StoreTotals{Name: "beds", RunS: 3600, Starts: 2, EnergyKWh: 102.4}}}
		told := c.Account(h.House.Name).Saved.Find(ledger.Month, from.Format(time.DateOnly))
		p := &reportPrinter{w: &text, s: s, h: h}
		p.text("this month", sum, told)
		p.method()
		p.w = &lines
		if p.json("this month", sum, told); p.err != nil {
			t.Fatal(p.err)
		}
	}
	golden(t, "report.txt", text.Bytes())
	golden(t, "report.jsonl", lines.Bytes())
}
