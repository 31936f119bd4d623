package foresight

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/season"
	"loambank/controller/trial"
)

// bound watches a rule keep to the limits of the settings.
type bound struct {
	trial.Rule
	t      *testing.T
	d      *decide.Settings
	on     bool
	heldS  float64 // since the fan was last switched
	starts int
}

func (b *bound) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	stages, doing := b.Rule.Decide(raw, now)
	// The example farm's probes: crop air, humidity, outside, soil between the pipes and at the roots.
	air, soil, root := unit.Celsius(raw[0].Value), unit.Celsius(raw[3].Value), unit.Celsius(raw[4].Value)
	store, window := &b.d.Stores[0], windowOf(b.d, now)
	p := &b.d.Policies[window]
	on := stages[0][0] > 0
	b.heldS += trial.StepS
	if on != b.on {
		if on && b.starts > 0 && b.heldS < store.MinRestS {
			b.t.Fatalf("at %v it starts after %v s of rest", now, b.heldS)
		}
		if on && doing[0] == decide.Charge && max(soil, root) > p.Stores[0].SoilCap {
			b.t.Fatalf("at %v it charges soil of %.1f °C", now, max(soil, root))
		}
		if on {
			b.starts++
		}
		b.on, b.heldS = on, 0
	}
	if on && (doing[0] == decide.Charge && (air <= p.ChargeFloor || air <= soil) || doing[0] == decide.Discharge && soil <= air) {
		b.t.Fatalf("at %v %v with air of %.2f °C and soil of %.2f °C", now, doing[0], air, soil)
	}
	if on && doing[0] != decide.Charge && doing[0] != decide.Discharge {
		b.t.Fatalf("at %v it runs for %v", now, doing[0])
	}
	return stages, doing
}

func windowOf(d *decide.Settings, now time.Time) int {
	window, _ := season.First(d.Season.Site, d.Season.Windows, now)
	return window + 1
}

// TestThePlanEarnsMoreThanEveryPolicy in a whole year of Richmond, in the full simulation, and the model
// is not far from what the plan then earns.
func TestThePlanEarnsMoreThanEveryPolicy(t *testing.T) {
	l := lived(t)
	w := NewModel(l.h, l.never, l.moved).Worths()
	b := &bound{Rule: w.Plan(&l.h.House, Straight()), t: t, d: &l.h.House.Decide}
	plan := l.earned(l.live(b))
	t.Logf("the plan earns %.0f $ with %d starts in two years, the model says %.0f", plan, b.starts, w.Earned)
	if plan < 0.8*w.Earned || plan > 1.2*w.Earned {
		t.Errorf("the plan earns %.1f $, the model says %.1f", plan, w.Earned)
	}
	all := season.DatesBetween(l.s.Turn.ToppingUp, l.s.Turn.LastFrost)
	for name, rule := range map[string]trial.Rule{
		"its settings":             trial.NewConfigured(&l.h.House),
		"the same for money alone": trial.NewConfigured(MoneyAlone(&l.h.House)),
		"the usual pair":           trial.UsualThermostats(l.h, l.s.Turn),
		"a pair of differences":    Pair{Margin: 12, Gain: 3, Setpoint: 5}.Rule(l.h, all),
		"fans whenever it flows":   NewMover(&l.h.House),
	} {
		earned := l.earned(l.live(rule))
		t.Logf("%s: %.0f $", name, earned)
		if share, ok := Quality(earned, plan); !ok || share > 0.9 {
			t.Errorf("%s earns %.1f $ of %.1f", name, earned, plan)
		}
	}
}

// TestFollowingARecordIsLivingItAgain: what was done within limits can be done again to the step, and
// followed in no month it changes nothing.
func TestFollowingARecordIsLivingItAgain(t *testing.T) {
	l := lived(t)
	w := NewModel(l.h, l.never, l.moved).Worths()
	record := NewRecord(Pair{Margin: 12, Gain: 3, Setpoint: 5}.Rule(l.h, season.DatesBetween(l.s.Turn.ToppingUp, l.s.Turn.LastFrost)))
	first := l.live(record)
	all, none := Months{}, Months{}
	for i := range all {
		all[i] = true
	}
	again := l.live(w.Plan(&l.h.House, Straight()).Follow(record, all))
	if diff := cmp.Diff(first.Total(), again.Total()); diff != "" {
		t.Errorf("followed, it is another year:\n%s", diff)
	}
	plan := l.live(w.Plan(&l.h.House, Straight()))
	if diff := cmp.Diff(plan, l.live(w.Plan(&l.h.House, Straight()).Follow(record, none))); diff != "" {
		t.Errorf("followed in no month, the plan is another:\n%s", diff)
	}
	if cmp.Equal(plan.Total(), first.Total()) {
		t.Error("plan and pair do the same")
	}
}

// TestMoneyAloneLeavesTheSettingsAlone and takes out what is not for money.
func TestMoneyAloneLeavesTheSettingsAlone(t *testing.T) {
	l := lived(t)
	before := l.h.House.Decide.Policies[0]
	alone := MoneyAlone(&l.h.House)
	if !before.Crop || !l.h.House.Decide.Policies[0].Crop || len(l.h.House.Decide.Actions) == 0 {
		t.Error("the settings themselves were changed")
	}
	r := l.live(trial.NewConfigured(alone)).Total()
	if r.StateS[decide.Frost] != 0 || r.StateS[decide.Dry] != 0 || r.StateS[decide.Action] != 0 || r.StateS[decide.Charge] == 0 {
		t.Errorf("%v", r.StateS)
	}
}
