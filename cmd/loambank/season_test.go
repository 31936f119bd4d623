package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/plan/foresight"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// lived is three years of the example farm with text changed, all their figures invented for the test.
func lived(t *testing.T, oldnew ...string) *seasons {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "config", "example.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse(path, []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	h := &s.Houses[0]
	year := func(fanKWh float64) *trial.Result {
		r := &trial.Result{}
		for i := range r.Months {
			cold := float64(i*(11-i)) / 30 // none in July, most around the new year
			m := trial.Month{
				Month: (time.July+time.Month(i)-1)%12 + 1, FanKWh: fanKWh * cold, InKWh: 3 * fanKWh * cold, OutKWh: 2.5 * fanKWh * cold,
				LatentKWh: fanKWh * cold, Low: unit.Celsius(12 - 15*cold + fanKWh/100), FrostS: 36000 * cold, FrostKS: 72000 * cold,
				HeaterKWh: (900 - 2.2*fanKWh) * cold, Electricity: 0.2 * fanKWh * cold, Fuel: 0.14 * (900 - 2.2*fanKWh) * cold,
			}
			m.StateS[decide.Charge], m.StateS[decide.Discharge] = 3600*fanKWh*cold, 5400*fanKWh*cold
			r.Months[i] = m
		}
		return r
	}
	return &seasons{
		climate: climate{s: s, h: h, year: &weather.Year{Station: "Testfield"}}, rules: trial.UsualThermostats(h, s.Turn),
		never: year(0), pair: year(180), policy: year(70),
	}
}

// against puts invented searches beside the years.
func (a *seasons) against(plan float64, beaten ...string) *seasons {
	a.best = &foresighted{
		pair: foresight.Pair{Margin: 12.5, Gain: 3, Setpoint: 4.5}, model: 61.72, beaten: beaten,
		rules: []earner{
			{code: "thermostats", name: "the usual pair", earned: -80.26},
			{code: "best-pair", name: "the best-tuned pair", earned: 34.91},
			{code: "settings", name: "its settings", earned: -3.333},
			{code: "settings-money", name: "the same for money alone", earned: 20},
			{code: "plan", name: "the best schedule", earned: plan},
		},
	}
	return a
}

// unheated has nothing that a fan could save.
func unheated(t *testing.T) *seasons {
	a := lived(t, `heater   = { setpoint = "38 °F", band = "2 °F", output = "60 kBtu/h" }`, "")
	if err := a.foresee(1); err != nil {
		t.Fatal(err)
	}
	return a
}

// hopeless has rules that all lose money.
func hopeless(t *testing.T) *seasons {
	a := lived(t).against(100)
	for i := range a.best.rules {
		a.best.rules[i].earned -= 100
	}
	a.best.model = 0
	return a
}

func TestSeasonsAreToldAsTheyWere(t *testing.T) {
	for name, a := range map[string]*seasons{
		"season-quality": lived(t).against(52.5), "season-beaten": lived(t).against(34.91, "the best-tuned pair"),
		"season-hopeless": hopeless(t), "season-unheated": unheated(t),
	} {
		toldAs(t, name+".txt", a.text)
	}
	toldAs(t, "season-quality.json", lived(t).against(52.5).json)
}

// TestNoQualityIsMadeUp: there is no share of nothing, no money without a heater, and no word of it where
// nobody asked.
func TestNoQualityIsMadeUp(t *testing.T) {
	priceless := lived(t)
	priceless.h.House.Decide.Tariff.HasFuel = false
	if err := priceless.foresee(1); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name          string
		a             *seasons
		has, hasNot   string
		json, jsonNot string
	}{
		{"nothing to be earned", hopeless(t), "Even one who knew", " %\n", `"rule": "plan"`, `"quality": 0`},
		{"no heater", unheated(t), "There is no heater", "/yr", `"quality": {}`, `"earned"`},
		{"no price of fuel", priceless, "has no price", "/yr", `"quality": {}`, `"earned"`},
		{"nobody asked", lived(t), "Against never running", "who knew", `"rule": "never"`, "quality"},
	} {
		var text, json bytes.Buffer
		if err := errors.Join(c.a.text(&text), c.a.json(&json)); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(text.String(), c.has) || strings.Contains(text.String(), c.hasNot) {
			t.Errorf("%s:\n%s", c.name, text.String())
		}
		if !strings.Contains(json.String(), c.json) || strings.Contains(json.String(), c.jsonNot) {
			t.Errorf("%s:\n%s", c.name, json.String())
		}
	}
}

func TestAStoppedSeasonSaysSo(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	a := lived(t)
	a.w = &world{ctx: ctx, stderr: io.Discard}
	if years, err := a.through([]trial.Rule{trial.Never{}, trial.Never{}}, func() {}); years != nil || err == nil || err.Error() != "stopped" {
		t.Errorf("%v, %v", years, err)
	}
	if err := a.foresee(5); err == nil || err.Error() != "stopped" {
		t.Errorf("%v", err)
	}
}

// TestAScheduleThatIsBeatenStartsFromItsBetter gives the search a model that was told nothing, so that
// its own schedule rests all year.
func TestAScheduleThatIsBeatenStartsFromItsBetter(t *testing.T) {
	if testing.Short() {
		t.Skip("years of a house")
	}
	w := &world{ctx: t.Context(), stdout: io.Discard, stderr: io.Discard}
	data := filepath.Join("..", "..", "testdata")
	land, err := climateOf(w, filepath.Join(data, "config", "example.toml"), filepath.Join(data, "weather", "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"), "")
	if err != nil {
		t.Fatal(err)
	}
	a := &seasons{climate: land, w: w, rules: trial.UsualThermostats(land.h, land.s.Turn)}
	if err := a.begin(); err != nil {
		t.Fatal(err)
	}
	settings := a.earned(a.policy)
	a.best = &foresighted{rules: []earner{
		{"thermostats", "the usual pair", a.earned(a.pair), nil},
		{"settings", "its settings", settings, func() trial.Rule { return trial.NewConfigured(&a.h.House) }},
		{"less", "one that earns less", settings / 2, nil},
	}}
	s := &seer{a, 2, func() {}}
	if err := s.plan(foresight.NewModel(a.h, a.never, a.never).Worths()); err != nil {
		t.Fatal(err)
	}
	best := a.best.rules[len(a.best.rules)-1]
	if diff := cmp.Diff([]string{"its settings", "one that earns less"}, a.best.beaten); diff != "" || settings <= 0 {
		t.Errorf("the settings earn %.1f, beaten by:\n%s", settings, diff)
	}
	if best.code != "plan" || best.earned < settings {
		t.Errorf("%s earns %.1f, the settings %.1f", best.name, best.earned, settings)
	}
}
