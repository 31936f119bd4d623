package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/season"
)

func TestAction(t *testing.T) {
	burst := func(s *decide.Settings) {
		exercise(s)
		s.Actions[0].TopUp = true
		s.Policies[0].Allow.Charge = false
	}
	left := func(runS, dueS float64) func(*decide.State) {
		return func(st *decide.State) {
			due(st)
			st.Stores[0].ActionRunS, st.Stores[0].ActionDueS = runS, dueS
		}
	}
	noMargin := settings(burst, func(s *decide.Settings) { s.Policies[0].Stores[0].Margin = 0 })
	act, topUp := decide.ActionDue, decide.ActionTopUp
	run, dark := decide.Action, noon(t)
	edges(t, []edge{
		{name: "what is due runs", before: due, change: exercise, air: 13, soil: 12, state: run, code: act, have: 120},
		{name: "it comes before discharging", before: due, change: exercise, air: 4, soil: 12, state: run, code: act, have: 120},
		{name: "it comes before charging", before: due, change: exercise, air: 20, soil: 12, state: run, code: act, have: 120},
		{name: "it needs no soil", before: due, change: exercise, air: 13, with: noSoil, state: run, code: act, have: 120},
		{name: "running, its time counts down", doing: run, before: left(120, 0), change: exercise, air: 13, soil: 12, state: run, code: act, have: 110},
		{name: "running, it does not mind how late it is", doing: run, before: left(20, -500), change: exercise, air: 13, soil: 12, state: run, code: act, have: 10},
		{name: "at the end of its time it is over", doing: run, before: left(10, 0), change: exercise, air: 13, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 1, need: 4},
		{name: "it may still start a second before it is too late", before: left(120, 11), change: exercise, air: 13, soil: 12, state: run, code: act, have: 120},
		{name: "too late it is dropped", before: left(120, 10), change: exercise, air: 13, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 1, need: 4},
		{name: "too late it is dropped although the fan runs as something else", doing: decide.Charge, before: left(120, 10), change: exercise, air: 16, soil: 12, state: decide.Charge, code: decide.ChargePays},
		{name: "it waits for the minimum rest", before: func(st *decide.State) {
			due(st)
			st.Stores[0].RestS = 280
		}, change: exercise, air: 13, soil: 12, state: decide.Rest, code: decide.WaitRest, have: 290, need: 300},

		{name: "a burst at the margin runs", before: due, change: burst, air: 16, soil: 12, state: run, code: topUp, have: 120},
		{name: "a burst under the margin does not", before: due, change: burst, air: 15.999, soil: 12, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "running, a burst goes on at margin less band", doing: run, before: due, change: burst, air: 14.5, soil: 12, state: run, code: topUp, have: 110},
		{name: "running, a burst stops under margin less band", doing: run, before: due, change: burst, air: 14.499, soil: 12, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "a burst never runs at equal temperatures", before: due, change: noMargin, air: 12, soil: 12, now: dark, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "a burst without a margin runs in warmer air", before: due, change: noMargin, air: 12.001, soil: 12, state: run, code: topUp, have: 120},
		{name: "a burst keeps half a kelvin under the cap", before: due, change: burst, air: 34, soil: 27.5, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "a burst just under that runs", before: due, change: burst, air: 34, soil: 27.499, state: run, code: topUp, have: 120},
		{name: "running, a burst goes on under the cap", doing: run, before: due, change: burst, air: 34, soil: 27.999, state: run, code: topUp, have: 110},
		{name: "running, a burst stops at the cap", doing: run, before: due, change: burst, air: 34, soil: 28, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "a burst starts on no doubtful air", before: due, change: burst, air: 20, soil: 12, with: doubtfulAir, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "running, a burst goes on with doubtful air", doing: run, before: due, change: burst, air: 20, soil: 12, with: doubtfulAir, state: run, code: topUp, have: 110},
		{name: "a burst counts uncertain soil by its worst", before: due, change: burst, air: 16, soil: 12, with: unsure(0.001), state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "a burst waits for soil", before: due, change: burst, air: 20, with: noSoil, state: decide.Rest, code: decide.SoilLost},
		{name: "a burst waits for intake air", doing: run, before: due, change: burst, air: 8, soil: 12, with: intake(20, judge.Bad), state: decide.Rest, code: decide.AboveSetpoint, have: 8, need: 6},
	})
}

// calendarOf gives the farm one action by a cron spec.
func calendarOf(t testing.TB, spec string) func(*decide.Settings) {
	return func(s *decide.Settings) {
		sched, err := season.ParseSchedule(spec, s.Season.Site.Zone)
		if err != nil {
			t.Fatal(err)
		}
		s.Season.Actions = []season.Schedule{sched}
		exercise(s)
	}
}

// ranAt steps through a stretch with calm readings and returns when the first store's action
// started.
func (y *story) ranAt(d time.Duration, in decide.Inputs) (starts []time.Time) {
	for range int(d / (10 * time.Second)) {
		was := y.d.Stores[0].State == decide.Action
		y.pass(0, in)
		if y.d.Stores[0].State == decide.Action && !was {
			starts = append(starts, y.now)
		}
	}
	return starts
}

func TestActionFallsDueByTheCalendar(t *testing.T) {
	y := begin(t, farm(t, calendarOf(t, "30 12 * * *")), noon(t))
	starts := y.ranAt(2*time.Hour, seen(13, 12))
	if len(starts) != 1 || !starts[0].Equal(local(t, "2026-01-20T12:30:00")) {
		t.Fatalf("started %v", starts)
	}
	if run := y.st.Stores[0].Action; run != 0 {
		t.Errorf("action %d is still due", run)
	}
	if y.st.Stores[1].Action != 0 {
		t.Error("the second store's action is still due")
	}
}

// A quarter of an hour is the longest it waits, from the moment at which it falls due.
func TestActionWaitsAQuarterOfAnHour(t *testing.T) {
	y := begin(t, farm(t, one, calendarOf(t, "30 12 * * *"), func(s *decide.Settings) { s.Stores[0].MinRestS = 1e9 }), local(t, "2026-01-20T12:29:40"))
	y.pass(20*time.Second, seen(13, 12))
	y.want("due", decide.Rest, decide.WaitRest)
	y.pass(15*time.Minute-10*time.Second, seen(13, 12))
	y.want("still waiting", decide.Rest, decide.WaitRest)
	y.pass(0, seen(13, 12))
	y.want("dropped", decide.Rest, decide.MarginUnmet)
}

func TestActionRunsItsTimeAtFullStage(t *testing.T) {
	y := begin(t, farm(t, one, threeSpeeds, calendarOf(t, "30 12 * * *")), noon(t))
	ran := 0
	for range 360 {
		if d := y.pass(0, seen(13, 12)); d.State == decide.Action {
			ran += 10
			if d.Stages[0] != 3 {
				t.Fatalf("stage %d of 3", d.Stages[0])
			}
		}
	}
	if ran != 120 {
		t.Errorf("ran %d s, want 120", ran)
	}
}

func TestActionsAreNotMadeUp(t *testing.T) {
	for _, c := range []struct {
		name   string
		jump   time.Duration // of the wall clock, over the time due
		stepS  float64
		starts bool
	}{
		{"a tick on time", 10 * time.Second, 10, true},
		{"a step and almost a minute late", 79 * time.Second, 10, true},
		{"a step and a minute late", 80 * time.Second, 10, false},
		{"a long step and half a minute late", 24 * time.Minute, 1400, true},
		{"a long step and a minute late", 24 * time.Minute, 1370, false},
		{"a clock that jumps over it", 24 * time.Hour, 10, false},
		{"a clock that jumps over it in no time", 24 * time.Hour, nan(), false},
		{"a clock that jumps over it in a negative time", 24 * time.Hour, -1e9, false},
		{"a clock that jumps over it in an endless time", 24 * time.Hour, 1e300, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := begin(t, farm(t, one, calendarOf(t, "30 12 20 1 *")), local(t, "2026-01-20T12:29:50"))
			in := seen(13, 12)
			y.now = y.now.Add(-10 * time.Second)
			y.pass(0, in) // 12:29:50
			in.StepS = c.stepS
			d, _ := decide.Step(y.s, y.st, in, local(t, "2026-01-20T12:30:00").Add(c.jump-10*time.Second))
			if got := d.Stores[0].State == decide.Action; got != c.starts {
				t.Errorf("%v, want started %v", d.Stores[0].State, c.starts)
			}
		})
	}
}

func TestClockSetBackDoesNotRepeatAnAction(t *testing.T) {
	y := begin(t, farm(t, one, calendarOf(t, "30 12 * * *")), local(t, "2026-01-20T12:20:00"))
	first := y.ranAt(20*time.Minute, seen(13, 12))
	y.now = y.now.Add(-30 * time.Minute)
	again := y.ranAt(time.Hour, seen(13, 12))
	if len(first) != 1 || len(again) != 0 {
		t.Errorf("started %v, then %v", first, again)
	}
	y.now = local(t, "2026-01-21T12:20:00")
	if next := y.ranAt(20*time.Minute, seen(13, 12)); len(next) != 1 {
		t.Errorf("the next day started %v", next)
	}
}

func TestClockOnceAYearAheadDoesNotSilenceActionsForAYear(t *testing.T) {
	y := begin(t, farm(t, one, calendarOf(t, "30 12 * * *")), local(t, "2027-01-20T12:20:00"))
	if ahead := y.ranAt(20*time.Minute, seen(13, 12)); len(ahead) != 1 {
		t.Fatalf("a year ahead started %v", ahead)
	}
	y.now = local(t, "2026-01-20T12:20:00")
	if back := y.ranAt(20*time.Minute, seen(13, 12)); len(back) != 1 {
		t.Errorf("set right, started %v", back)
	}
}

func TestActionIsNotStartedOnTheFirstTick(t *testing.T) {
	y := begin(t, farm(t, one, calendarOf(t, "30 12 * * *")), local(t, "2026-01-20T12:29:50"))
	y.pass(0, seen(13, 12))
	y.want("the first tick", decide.Rest, decide.MarginUnmet)
}

func TestActionSparesStoresItDoesNotName(t *testing.T) {
	s := farm(t, calendarOf(t, "30 12 * * *"), func(s *decide.Settings) { s.Actions[0].Stores[0] = false })
	y := begin(t, s, local(t, "2026-01-20T12:29:40"))
	y.pass(20*time.Second, seen(13, 12))
	if a, b := y.d.Stores[0].State, y.d.Stores[1].State; a != decide.Rest || b != decide.Action {
		t.Errorf("first store %v, second %v", a, b)
	}
}
