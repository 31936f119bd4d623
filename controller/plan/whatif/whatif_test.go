package whatif_test

import (
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/plan/whatif"
	"loambank/controller/replay"
	"loambank/controller/trial"
	"loambank/controller/weather"
	"loambank/drivers/recording"
)

const (
	burlington = "../../../testdata/weather/USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz"
	richmond   = "../../../testdata/weather/USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"
)

// farm is the example farm with duct probes, a heater contact and a measured airflow, and text changed.
func farm(t testing.TB, oldnew ...string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile("../../../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	const root = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	oldnew = append([]string{
		root, root + `
    { role = "duct-in", driver = "file", path = "a" }, { role = "duct-out", driver = "file", path = "b" },`,
		`{ role = "outside"`, `{ role = "heater-on", driver = "file", path = "e" }, { role = "outside"`,
		`flow_is = "catalogue"`, `flow_is = "measured"`,
	}, oldnew...)
	s, err := config.Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// recorder runs the settings' policy and writes down what the probes show in the counted year.
type recorder struct {
	trial.Rule
	from, until time.Time
	rows        []recording.Row
	columns     []recording.Column
	next        int
}

func (r *recorder) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	if !now.Before(r.from) && now.Before(r.until) {
		row := recording.Row{Time: now}
		for _, v := range raw {
			row.Values, row.OK = append(row.Values, v.Value), append(row.OK, v.OK)
		}
		r.rows = append(r.rows, row)
	}
	return r.Rule.Decide(raw, now)
}

func (r *recorder) Columns() []recording.Column { return r.columns }

func (r *recorder) Next(row *recording.Row) error {
	if r.next == len(r.rows) {
		return io.EOF
	}
	*row = r.rows[r.next]
	r.next++
	return nil
}

// life is a recorded winter and what it came to.
type life struct {
	recorded *recorder
	result   *trial.Result
}

// lives keeps those that more than one test looks at, by settings and climate.
var lives = map[string]life{}

// live lets the farm live through a year; the recording is of the winter that counts.
func live(t testing.TB, s *config.Settings, path string) (*recorder, *trial.Result) {
	t.Helper()
	if l, known := lives[path+s.Hash]; known {
		l.recorded.next = 0
		return l.recorded, l.result
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	y, err := weather.Read(path, f)
	if err != nil {
		t.Fatal(err)
	}
	ground, err := trial.Ground(y)
	if err != nil {
		t.Fatal(err)
	}
	h := &s.Houses[0]
	p, err := trial.NewPlant(h, ground, trial.SettleDay(h), trial.StepS)
	if err != nil {
		t.Fatal(err)
	}
	laid, err := trial.Lay(y, s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	// The second of a trial's years counts; it begins in July of 2002.
	r := &recorder{
		Rule: trial.NewConfigured(&h.House),
		from: time.Date(2002, 10, 1, 0, 0, 0, 0, s.Site.Zone), until: time.Date(2003, 5, 1, 0, 0, 0, 0, s.Site.Zone),
	}
	for i := range h.House.Probes {
		q := &h.House.Probes[i]
		c := recording.Column{House: h.House.Name, Probe: q.Name}
		if q.Store >= 0 {
			c.Store = h.House.Decide.Stores[q.Store].Name
		}
		r.columns = append(r.columns, c)
	}
	lives[path+s.Hash] = life{r, p.Run(laid, r, false, nil)}
	return r, lives[path+s.Hash].result
}

// winterOf adds up the months that were recorded.
func winterOf(r *trial.Result) (sum trial.Month) {
	for i := range r.Months {
		switch m := &r.Months[i]; m.Month {
		case time.October, time.November, time.December, time.January, time.February, time.March, time.April:
			sum.FanKWh += m.FanKWh
			sum.InKWh += m.InKWh
			sum.OutKWh += m.OutKWh
			sum.HeaterKWh += m.HeaterKWh
			sum.Electricity += m.Electricity
			sum.Fuel += m.Fuel
		}
	}
	return sum
}

func kept(t testing.TB, r *recorder) *replay.Kept {
	t.Helper()
	k, err := replay.Keep(r)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// TestAgainstTheWinterThatTheOtherSettingsLived lives through a winter under one settings and through
// the same weather under others; what differs is the truth.
func TestAgainstTheWinterThatTheOtherSettingsLived(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	const margin, setpoint = `margin   = "8 °F"`, `setpoint = "42 °F" `
	for _, tt := range []struct{ name, climate, old, new string }{
		{"a margin twice as wide charges less", burlington, margin, `margin   = "16 °F"`},
		{"a warmer setpoint brings up more", burlington, setpoint, `setpoint = "47 °F" `},
		{"a wide margin in a mild winter", richmond, margin, `margin   = "16 °F"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			was, other := farm(t), farm(t, tt.old, tt.new)
			recorded, first := live(t, was, tt.climate)
			_, second := live(t, other, tt.climate)
			a, b := winterOf(first), winterOf(second)
			c, err := whatif.Compare(was, other, kept(t, recorded), whatif.Options{})
			if err != nil {
				t.Fatal(err)
			}
			h := &c.Houses[0]
			if h.Lacks != "" {
				t.Fatal(h.Lacks)
			}
			before, after := &h.Open[0].Account.Stores[0], &h.Open[1].Account.Stores[0]
			judgeFigure(t, "fans", b.FanKWh-a.FanKWh, after.Fans[0].EnergyKWh-before.Fans[0].EnergyKWh, h.More.FanKWh, false)
			judgeFigure(t, "heat in", b.InKWh-a.InKWh, after.In.KWh()-before.In.KWh(), h.More.InKWh, true)
			judgeFigure(t, "heat out", b.OutKWh-a.OutKWh, after.Out.KWh()-before.Out.KWh(), h.More.OutKWh, true)
			judgeFigure(t, "heater", b.HeaterKWh-a.HeaterKWh, 0, h.More.HeaterKWh, true)
		})
	}
}

// judgeFigure holds a corrected difference in kWh against the truth: within its ±, which must not be so
// wide as to say nothing, and where nearer is asked for, nearer than the recording as it is.
func judgeFigure(t *testing.T, name string, truth, open float64, f whatif.Figure, nearer bool) {
	t.Helper()
	t.Logf("%s: truth %.0f kWh, corrected %.0f ± %.0f, as recorded %.0f", name, truth, f.Value, f.Spread, open)
	miss := math.Abs(f.Value - truth)
	if !(miss <= f.Spread) {
		t.Errorf("%s: %.0f ± %.0f kWh, truth %.0f", name, f.Value, f.Spread, truth)
	}
	if nearer && !(miss < math.Abs(open-truth)) {
		t.Errorf("%s: corrected %.0f kWh is no nearer the truth %.0f than %.0f as recorded", name, f.Value, truth, open)
	}
}
