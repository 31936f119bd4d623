package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// Air of 15 °C at 93 % has its dew point at 13.9 °C, so that soil at 12 °C is under it by more
// than the dry gain of 1 K while the margin of 4 K to charge is not met.
func TestDry(t *testing.T) {
	good93 := damp(0.93, judge.Good)
	window := allow(decide.Allow{Charge: true, Discharge: true})
	spare := func(s *decide.Settings) { s.Policies[0].DryFloor = 13 }
	sated := func(s float64) func(*decide.State) {
		return func(st *decide.State) {
			st.Stores[0].DryS = s
			st.Slot = slotOf(t)
		}
	}
	rest := func(name string, e edge) edge {
		e.name, e.state, e.code, e.need = name, decide.Rest, decide.MarginUnmet, 4
		e.have = float64(e.air.Sub(e.soil))
		return e
	}
	dry := func(name string, need float64, e edge) edge {
		e.name, e.state, e.code, e.need = name, decide.Dry, decide.DryDamp, need
		return e
	}
	doing := decide.Dry
	edges(t, []edge{
		dry("over the limit it starts", 0.92, edge{air: 15, soil: 12, with: damp(0.921, judge.Good), have: 0.921}),
		rest("at the limit it does not", edge{air: 15, soil: 12, with: damp(0.92, judge.Good)}),
		dry("running it goes on over limit less band", 0.88, edge{doing: doing, air: 15, soil: 12, with: damp(0.881, judge.Good), have: 0.881}),
		rest("running it stops at limit less band", edge{doing: doing, air: 15, soil: 12, with: damp(0.88, judge.Good)}),
		rest("running as something else gives no band", edge{doing: decide.Action, air: 15, soil: 12, with: damp(0.9, judge.Good)}),
		rest("doubtful humidity, such as 100 % alone, does not start it", edge{air: 15, soil: 12, with: damp(1, judge.Doubtful)}),
		dry("running it goes on with doubtful humidity", 0.88, edge{doing: doing, air: 15, soil: 12, with: damp(1, judge.Doubtful), have: 1}),
		rest("running it stops without humidity", edge{doing: doing, air: 15, soil: 12, with: damp(0.99, judge.Bad)}),
		rest("humidity that is no number does not start it", edge{air: 15, soil: 12, with: damp(nan(), judge.Good)}),
		rest("the window must allow it", edge{change: window, air: 15, soil: 12, with: good93}),
		dry("over the dry floor it starts", 0.92, edge{change: spare, air: 13.001, soil: 10, with: good93, have: 0.93}),
		rest("at the dry floor it does not", edge{change: spare, air: 13, soil: 10, with: good93}),
		rest("running it stops at the dry floor", edge{change: spare, doing: doing, air: 13, soil: 10, with: good93}),
		rest("it does not start beside the heater", edge{air: 15, soil: 12, with: inputs(good93, heater)}),
		dry("under the day's hours it starts", 0.92, edge{before: sated(7199), air: 15, soil: 12, with: good93, have: 0.93}),
		rest("after the day's hours it does not", edge{before: sated(7200), air: 15, soil: 12, with: good93}),
		rest("the cap is kept", edge{air: 31, soil: 28, with: good93}),
		dry("just under the cap it starts", 0.92, edge{air: 30.5, soil: 27.999, with: good93, have: 0.93}),
		rest("hot roots are kept under the cap", edge{air: 15, soil: 12, with: inputs(good93, roots(12, 28))}),
		rest("cold roots are kept over the floor", edge{air: 15, soil: 12, with: inputs(good93, roots(7, 12))}),
		dry("roots over the floor let it start", 0.92, edge{air: 15, soil: 12, with: inputs(good93, roots(7.001, 12)), have: 0.93}),
		{name: "it waits for soil", air: 15, with: inputs(good93, noSoil), state: decide.Rest, code: decide.SoilLost},
		{name: "it waits for usable soil", air: 15, soil: 12, with: inputs(good93, func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }), state: decide.Rest, code: decide.SoilLost},
		{name: "it waits for intake air", air: 15, soil: 12, with: inputs(good93, intake(15, judge.Bad)), state: decide.Rest, code: decide.AboveSetpoint, have: 15, need: 6},
	})
}

// moist_air-S114: air of 15 °C at 95 % has its dew point at 14.206 °C; moist_air-S106: of 12 °C at
// 99 % at 11.848 °C; both to 0.05 K. Soil must be the dry gain of 1 K under it.
func TestDryNeedsSoilUnderTheDewPoint(t *testing.T) {
	base := farm(t, one)
	const s114, s106 unit.Celsius = 14.20603, 11.84768
	for _, c := range []struct {
		name      string
		air, soil unit.Celsius
		humidity  float64
		uncertain unit.Kelvin
		want      bool
	}{
		{"1.05 K under it", 15, s114 - 1.05, 0.95, 0, true},
		{"0.95 K under it", 15, s114 - 0.95, 0.95, 0, false},
		{"1.05 K under it, but uncertain", 15, s114 - 1.05, 0.95, 0.1, false},
		{"1.15 K under it, and uncertain", 15, s114 - 1.15, 0.95, 0.1, true},
		{"1.05 K under it in cooler air", 12, s106 - 1.05, 0.99, 0, true},
		{"0.95 K under it in cooler air", 12, s106 - 0.95, 0.99, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := begin(t, base, noon(t))
			in := seen(c.air, c.soil)
			damp(c.humidity, judge.Good)(&in)
			in.Stores[0].Soil.Uncertain = c.uncertain
			if got := y.pass(0, in).State == decide.Dry; got != c.want {
				t.Errorf("%v for %+v", y.d.Stores[0].State, y.d.Stores[0].Reason)
			}
		})
	}
}

func TestDryingStopsAfterTheDaysHoursAndStartsAgainTheNextDay(t *testing.T) {
	y := begin(t, farm(t, one), local(t, "2026-01-20T21:00:00"))
	in := seen(15, 12)
	damp(0.95, judge.Good)(&in)
	ran := 0.0
	for y.now.Before(local(t, "2026-01-20T23:59:50")) {
		if y.pass(0, in).Running() {
			ran += 10
		}
	}
	y.want("late that evening", decide.Rest, decide.MarginUnmet)
	if ran != 7200 {
		t.Errorf("dried for %v s, want 7200", ran)
	}
	y.pass(0, in)
	y.want("at midnight", decide.Dry, decide.DryDamp)
}

// The day's hours end a run that is still short of its minimum.
func TestDryingDoesNotOutlastTheDaysHours(t *testing.T) {
	y := begin(t, farm(t, one, func(s *decide.Settings) { s.Policies[0].DryPerDayS = 300 }), noon(t))
	in := seen(15, 12)
	damp(0.95, judge.Good)(&in)
	y.pass(5*time.Minute, in)
	y.want("after just under five minutes", decide.Dry, decide.DryDamp)
	y.pass(0, in)
	y.want("after five minutes", decide.Rest, decide.MarginUnmet)
}

// slotOf is the calendar's answers at noon, so that the day's count is not begun again.
func slotOf(t *testing.T) decide.Slot {
	t.Helper()
	_, st := decide.Step(farm(t, one, cheap), decide.State{}, decide.Inputs{Believed: true}, noon(t))
	return st.Slot
}
