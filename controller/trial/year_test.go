package trial

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

func configured(h *config.House) Rule { return NewConfigured(&h.House) }
func never(*config.House) Rule        { return Never{} }

// watcher notes what a rule saw and decided.
type watcher struct {
	Rule
	t     *testing.T
	s     *config.House
	steps int
	ran   int
	last  time.Time
}

func (w *watcher) Decide(raw []judge.Raw, now time.Time) (Stages, [decide.MaxStores]decide.Activity) {
	stages, doing := w.Rule.Decide(raw, now)
	if w.steps > 0 && now.Sub(w.last) != StepS*time.Second {
		w.t.Fatalf("step %d is %v after the one before", w.steps, now.Sub(w.last))
	}
	w.steps++
	w.last = now
	for i, r := range raw {
		if !r.OK || math.IsNaN(r.Value) || math.Abs(r.Value) > 100 {
			w.t.Fatalf("at %v probe %s shows %+v", now, w.s.House.Probes[i].Name, r)
		}
	}
	if stages[0][0] > 0 {
		w.ran++
		// What must always be true: heat goes down only into soil that is cooler than the air.
		air, soil := raw[0].Value, raw[3].Value
		if doing[0] == decide.Charge && air <= soil || (doing[0] == decide.Discharge || doing[0] == decide.Frost) && soil <= air {
			w.t.Fatalf("at %v the fans are in %v with air %.2f °C and soil %.2f °C", now, doing[0], air, soil)
		}
	}
	return stages, doing
}

// TestAYearUnderTheSettings lives through a typical year of Burlington, Vermont (TMY3).
func TestAYearUnderTheSettings(t *testing.T) {
	s := farm(t)
	w := &watcher{t: t, s: &s.Houses[0]}
	_, r := live(t, s, func(h *config.House) Rule { w.Rule = configured(h); return w }, true)
	if want := 2 * 365 * 24 * 12; w.steps != want {
		t.Errorf("%d steps, want two years of %d", w.steps, want)
	}
	if len(r.Trace) != 365*24 {
		t.Errorf("%d hours are traced", len(r.Trace))
	}
	for i, m := range r.Months {
		if want := time.July + time.Month(i); m.Month != (want-1)%12+1 {
			t.Errorf("month %d is %v", i, m.Month)
		}
		days := float64(time.Date(2002, m.Month+1, 0, 0, 0, 0, 0, time.UTC).Day())
		sum := 0.0
		for _, stateS := range m.StateS {
			sum += stateS
		}
		if math.Abs(sum-days*86400) > 5*3600 { // the file keeps no summer time, the site does
			t.Errorf("%v has %.0f h", m.Month, sum/3600)
		}
	}
	total := r.Total()
	if total.InKWh < 500 || total.OutKWh < 500 || total.LatentKWh <= 0 || total.LatentKWh >= total.InKWh {
		t.Errorf("heat in %.0f, of it latent %.0f, out %.0f kWh", total.InKWh, total.LatentKWh, total.OutKWh)
	}
	// The one fan of 600 W runs at one speed: kWh and steps must agree. Half the steps are of the
	// year that settles.
	if most := float64(w.ran) * StepS / 3600 * 0.6; total.FanKWh > most || total.FanKWh < 0.3*most {
		t.Errorf("the fan drew %.0f kWh in a year, %.0f in both", total.FanKWh, most)
	}
	_, alone := live(t, s, never, false)
	rest := alone.Total()
	if rest.FanKWh != 0 || rest.InKWh != 0 || rest.OutKWh != 0 {
		t.Errorf("never running, fans drew %v kWh and moved %v and %v", rest.FanKWh, rest.InKWh, rest.OutKWh)
	}
	if rest.HeaterKWh <= total.HeaterKWh {
		t.Errorf("the heater gave %.0f kWh without fans and %.0f with them", rest.HeaterKWh, total.HeaterKWh)
	}
	// The heater gives what it must: money is its heat at the settings' price.
	price := s.Houses[0].House.Decide.Tariff.FuelHeatPerKWh
	if math.Abs(total.Fuel-total.HeaterKWh*price) > 1e-6*total.Fuel {
		t.Errorf("fuel cost %v for %v kWh at %v", total.Fuel, total.HeaterKWh, price)
	}
	if total.Electricity < total.FanKWh*0.17*(1-1e-9) || total.Electricity > total.FanKWh*0.29 {
		t.Errorf("electricity cost %v for %v kWh at 0.17 to 0.29", total.Electricity, total.FanKWh)
	}
}

// TestAYearIsTheSameAgain wants no chance in a trial.
func TestAYearIsTheSameAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("two years of two years")
	}
	s := farm(t)
	_, one := live(t, s, configured, false)
	_, two := live(t, s, configured, false)
	if diff := cmp.Diff(one, two); diff != "" {
		t.Errorf("one year differs from the next:\n%s", diff)
	}
}

func TestThermostatsKnowTheAirAlone(t *testing.T) {
	s := farm(t)
	h := &s.Houses[0]
	winter, summer := time.Date(2002, 12, 1, 12, 0, 0, 0, s.Site.Zone), time.Date(2002, 7, 1, 12, 0, 0, 0, s.Site.Zone)
	pair := UsualThermostats(h, s.Turn)
	for i, step := range []struct {
		name string
		air  float64
		now  time.Time
		want decide.Activity
	}{
		{"they rest in between", 15, winter, decide.Rest},
		{"at the upper one too", 24, winter, decide.Rest},
		{"over it heat goes down", 24.1, winter, decide.Charge},
		{"within its band too", 22.1, winter, decide.Charge},
		{"under its band no more", 21.9, winter, decide.Rest},
		{"nor within it again", 23, winter, decide.Rest},
		{"under the lower one heat comes up", 5.5, winter, decide.Discharge},
		{"within its band too", 7.5, winter, decide.Discharge},
		{"over its band no more", 7.6, winter, decide.Rest},
		{"out of season they are switched off", 30, summer, decide.Rest},
	} {
		stages, doing := pair.Decide([]judge.Raw{{Value: step.air, OK: true}}, step.now)
		if doing[0] != step.want || (stages[0][0] > 0) != (step.want != decide.Rest) {
			t.Errorf("%d %s: %v, stages %v", i, step.name, doing[0], stages[0])
		}
	}
	if _, doing := pair.Decide([]judge.Raw{{}}, winter); doing[0] != decide.Rest {
		t.Errorf("without a reading they are in %v", doing[0])
	}
	if pair.DischargeUnder != h.House.Decide.Policies[0].Setpoint || unit.Kelvin(2) != pair.Band {
		t.Errorf("the pair is %+v", pair)
	}
}
