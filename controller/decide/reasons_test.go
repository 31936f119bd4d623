package decide_test

import (
	"testing"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// Where several conditions fail at once, the one that a person would have to change first is
// said, always the same: for each pair of neighbours both fail.
func TestTheFirstUnmetConditionIsSaid(t *testing.T) {
	n, june := night(t), local(t, "2026-06-20T12:00:00")
	shut := allow(decide.Allow{})
	badSoil := func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }
	off := func(s *decide.Settings) { s.Fallback = decide.DutyOff }
	lost := airLost(610)
	waits := func(st *decide.State) { st.HeaterWaitS = 110 }
	dear := electricity(100)
	worthless := stored(0)
	rest := decide.Rest
	edges(t, []edge{
		{name: "fallback: the duty before the months", change: off, before: lost, now: june, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNever, have: 12, need: 2.5},
		{name: "fallback: the months before the day", before: lost, now: june, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackMonths, have: 12, need: 2.5},
		{name: "fallback: the day before the soil", before: lost, soil: 1, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 1, need: 2.5},

		{name: "discharge: the window before the setpoint", change: shut, now: n, air: 8, soil: 12, state: rest, code: decide.DischargeNotAllowed},
		{name: "discharge: the setpoint before the gain", now: n, air: 11, soil: 12, state: rest, code: decide.AboveSetpoint, have: 11, need: 6},
		{name: "discharge: the gain before the floor", now: n, air: 4, soil: 6, state: rest, code: decide.GainUnmet, have: 2, need: 3},
		{name: "discharge: the floor before the vent", now: n, air: 4, soil: 12, with: inputs(vent, roots(7, 12)), state: rest, code: decide.SoilAtFloor, have: 7, need: 7},
		{name: "discharge: the vent before its worth", change: settings(dear, unheated, noCrop), now: n, air: 4, soil: 12, with: vent, state: rest, code: decide.VentOpen},

		{name: "charge: the window before the air", change: shut, air: 20, soil: 12, with: doubtfulAir, state: rest, code: decide.ChargeNotAllowed},
		{name: "charge: the air before the margin", air: 13, soil: 12, with: doubtfulAir, state: rest, code: decide.AirDoubtful},
		{name: "charge: the margin before the charge floor", air: 6, soil: 5, state: rest, code: decide.MarginUnmet, have: 1, need: 4},
		{name: "charge: the charge floor before the heater", air: 7, soil: 3, with: heater, state: rest, code: decide.AtChargeFloor, have: 7, need: 7},
		{name: "charge: the heater before its rest", before: waits, air: 20, soil: 12, with: heater, state: rest, code: decide.HeaterOn},
		{name: "charge: the heater's rest before the cap", before: waits, air: 34, soil: 29, state: rest, code: decide.HeaterRecent, have: 100},
		{name: "charge: the cap before its worth", change: worthless, air: 34, soil: 29, state: rest, code: decide.SoilAtCap, have: 29, need: 27.5},
		{name: "lost soil before everything that needs it", change: shut, air: 20, soil: 12, with: inputs(badSoil, doubtfulAir), state: rest, code: decide.SoilLost},
	})
}

func TestWaitsInTheirOrder(t *testing.T) {
	for _, c := range []struct {
		name   string
		before func(*decide.State)
		with   func(*decide.Inputs)
		want   decide.Code
	}{
		{"power before a fault", func(st *decide.State) {
			st.Stores[0].Fans[0].Fault, st.Stores[0].Fans[0].RetryS = decide.DoesNotStart, 100
		}, power(1), decide.WaitPower},
		{"a fault before rest", func(st *decide.State) {
			st.Stores[0].Fans[0].Fault, st.Stores[0].Fans[0].RetryS = decide.DoesNotStart, 100
			st.Stores[0].RestS = 0
		}, power(1e4), decide.WaitFault},
		{"rest before starts per hour", func(st *decide.State) { st.Stores[0].RestS, st.Stores[0].Fans[0].StartWaitS = 0, 100 }, power(1e4), decide.WaitRest},
		{"starts per hour before another house", func(st *decide.State) { st.Stores[0].Fans[0].StartWaitS = 100 }, closed, decide.WaitStarts},
		{"another house before the stagger", func(st *decide.State) { st.StaggerS = 100 }, closed, decide.WaitGrant},
	} {
		e := edge{before: c.before, air: 20, soil: 12, with: c.with}
		if d, _ := e.decide(t); d.Stores[0].Reason.Code != c.want {
			t.Errorf("%s: %+v", c.name, d.Stores[0].Reason)
		}
	}
}

func power(w float64) func(*decide.Inputs) {
	return func(in *decide.Inputs) { in.Grant = decide.Grant{Limited: true, PowerW: w} }
}

func closed(in *decide.Inputs) { in.Grant.Closed = true }
