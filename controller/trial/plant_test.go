package trial

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

const statedPipes = `  pipes    = { count = 12, length = "24 ft", spacing = "2 ft", depth = "18 in" }` + "\n"

func TestPipesUnderMoreThanTheHouseAreRefused(t *testing.T) {
	s := farm(t, "count = 12", "count = 120")
	if _, err := plant(s, year(t)); err == nil || !strings.Contains(err.Error(), "house lower: store beds: the pipes lie under more than the house's 268 m²") {
		t.Errorf("%v", err)
	}
}

// TestPipesThatAreNotStatedAreUsual: half of the floor is used where two stores share it.
func TestPipesThatAreNotStatedAreUsual(t *testing.T) {
	for _, oldnew := range [][]string{{statedPipes, ""}, {statedPipes, "", `length   = "96 ft"`, `length = "4 m"`, `width    = "30 ft"`, `width = "3 m"`}} {
		s := farm(t, oldnew...)
		if _, err := plant(s, year(t)); err != nil {
			t.Error(err)
		}
		h := &s.Houses[0]
		pipes := pipesOf(h, 0)
		floor := h.LengthM * h.WidthM
		if under := float64(pipes.Count) * pipes.LengthM * pipes.SpacingM; under > floor || under < 0.6*floor {
			t.Errorf("%+v lie under %.0f m² of %.0f", pipes, under, floor)
		}
	}
}

// TestProbesShowThePlant has a probe of every kind that the simulated house can show.
func TestProbesShowThePlant(t *testing.T) {
	const soil = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	s := farm(t, soil, soil+`
    { role = "duct-in", driver = "file", path = "a" }, { role = "duct-out", driver = "file", path = "b" },
    { role = "fan-power", driver = "file", path = "c" }, { role = "airflow-proof", driver = "file", path = "d" },`,
		`{ role = "outside"`, `{ role = "heater-on", driver = "file", path = "e" }, { role = "smoke", driver = "file", path = "f" },
  { role = "soil", place = "undisturbed", depth = "1 m", driver = "file", path = "g" }, { role = "outside"`)
	h := &s.Houses[0]
	p, err := plant(s, year(t))
	if err != nil {
		t.Fatal(err)
	}
	laid, err := Lay(year(t), s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	w := &laid.Samples[20*24*12] // a January night, by the file
	var on Stages
	on[0][0] = 1
	for range 12 {
		p.step(w, &on, StepS)
	}
	shown := map[judge.Role]float64{}
	for i, r := range p.readings(w, p.looks(&Configured{})) {
		if !r.OK {
			t.Errorf("%s shows nothing", h.House.Probes[i].Name)
		}
		q := &h.House.Probes[i].Judge
		if q.Role == judge.Soil {
			continue
		}
		shown[q.Role] = r.Value
		if q.Role == judge.Air && math.Abs(r.Value-float64(p.house.State().Air)) > 1.0/32 {
			t.Errorf("the air probe shows %v in %v", r.Value, p.house.State().Air)
		}
	}
	if math.Abs(shown[judge.Outside]-float64(w.Outside)) > 1.0/32 {
		t.Errorf("outside shows %v, the file says %v", shown[judge.Outside], w.Outside)
	}
	if shown[judge.FanPower] != 600 || shown[judge.AirflowProof] != 1 || shown[judge.Smoke] != 0 || (shown[judge.HeaterOn] == 1) != p.house.State().Heating {
		t.Errorf("shown are %v", shown)
	}
	if shown[judge.DuctOut] <= shown[judge.DuctIn] {
		t.Errorf("in a cold night air goes in at %v and comes out at %v", shown[judge.DuctIn], shown[judge.DuctOut])
	}
	if rh := shown[judge.Humidity]; rh <= 0 || rh > 1 {
		t.Errorf("humidity shows %v", rh)
	}
	p.step(w, &Stages{}, StepS)
	for i, r := range p.readings(w, p.looks(&Configured{})) {
		if h.House.Probes[i].Judge.Role == judge.FanPower && r.Value != 0 {
			t.Errorf("at rest the fan draws %v W", r.Value)
		}
	}
}

// TestACatalogueFlowCountsHalf compares the air moved by the same fan, once measured.
func TestACatalogueFlowCountsHalf(t *testing.T) {
	s, m := farm(t), farm(t, `flow_is = "catalogue"`, `flow_is = "measured"`)
	c, f := &s.Houses[0].House.Decide.Stores[0].Fans[0], &m.Houses[0].House.Decide.Stores[0].Fans[0]
	if 2*believed(c, 1) != believed(f, 1) || believed(f, 1) != f.FlowM3s || believed(f, 0) != 0 {
		t.Errorf("catalogue %v, measured %v of %v", believed(c, 1), believed(f, 1), f.FlowM3s)
	}
}

// TestTheGroundIsThatOfTheWeather: Burlington's air is 7.6 °C in the mean of its file, and bare
// ground is up to 2 K over it (common practice, no source).
func TestTheGroundIsThatOfTheWeather(t *testing.T) {
	g, err := Ground(year(t))
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range year(t).Rows {
		sum += float64(year(t).Rows[i].DryBulb)
	}
	mean := unit.Celsius(sum / float64(len(year(t).Rows)))
	if over := g.Mean.Sub(mean); over < 0.8 || over > 1.2 {
		t.Errorf("the ground is %.2f K over the air's mean of %.1f °C", over, mean)
	}
	if g.Amplitude < 8 || g.Amplitude > 18 || g.ColdestDay < 5 || g.ColdestDay > 45 {
		t.Errorf("%+v", g)
	}
}

// always runs the fan of one store.
type always struct{}

func (always) Decide([]judge.Raw, time.Time) (s Stages, a [decide.MaxStores]decide.Activity) {
	s[0][0], a[0] = full, decide.Charge
	return s, a
}

func TestAgainIsAsNew(t *testing.T) {
	s := farm(t)
	laid, err := Lay(year(t), s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	laid.Samples = laid.Samples[:20*24*12] // three weeks of winter, over and over
	run := func(p *Plant) Month {
		r := p.Run(laid, always{}, false, nil)
		return r.Total()
	}
	first, err := plant(s, year(t))
	if err != nil {
		t.Fatal(err)
	}
	run(first)
	for _, c := range []struct {
		name  string
		s     *config.Settings
		known bool
	}{
		{"the same settings", s, true},
		{"another setpoint", farm(t, `setpoint = "42 °F"`, `setpoint = "50 °F"`), true},
		{"deeper pipes", farm(t, `depth = "18 in" }`, `depth = "30 in" }`), false},
		{"a probe elsewhere", farm(t, `depth = "5 in"`, `depth = "8 in"`), false},
	} {
		again, err := first.Again(&c.s.Houses[0])
		if err != nil {
			t.Fatal(err)
		}
		if known := &again.beds[0].first.Mean[0] == &first.beds[0].first.Mean[0]; known != c.known {
			t.Errorf("%s: soil taken over is %v, want %v", c.name, known, c.known)
		}
		fresh, err := plant(c.s, year(t))
		if err != nil {
			t.Fatal(err)
		}
		got, want := run(again), run(fresh)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-new +again):\n%s", c.name, diff)
		}
	}
}
