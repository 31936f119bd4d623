package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// A wish that has gone lets a fan finish its minimum run, unless that does harm.
func TestMinimumRun(t *testing.T) {
	short := func(as decide.Activity, e edge) edge {
		e.doing = as
		e.before = func(st *decide.State) { st.Stores[0].RunS = 580 }
		return e
	}
	keeps := func(name string, as decide.Activity, e edge) edge {
		e = short(as, e)
		e.name, e.state, e.code, e.have, e.need = name, as, decide.MinimumRun, 590, 600
		return e
	}
	stops := func(name string, as decide.Activity, code decide.Code, e edge) edge {
		e = short(as, e)
		e.name, e.state, e.code = name, decide.Rest, code
		return e
	}
	n := night(t)
	down, up := decide.Charge, decide.Discharge
	shut := allow(decide.Allow{})
	badSoil := func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }
	ended := func(runS float64) func(*decide.State) {
		return func(st *decide.State) { st.Stores[0].RunS = runS - 10 }
	}
	edges(t, []edge{
		keeps("charging goes on under its margin", down, edge{air: 13, soil: 12}),
		keeps("charging goes on when its window closes", down, edge{air: 20, soil: 12, change: shut}),
		{name: "a second before its end it goes on", doing: down, before: ended(599), air: 13, soil: 12, state: down, code: decide.MinimumRun, have: 599, need: 600},
		{name: "at its end it stops", doing: down, before: ended(600), air: 13, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 1, need: 2.5},
		stops("not past the cap", down, decide.SoilAtCap, edge{air: 33, soil: 28, have: 28, need: 28}),
		keeps("just under the cap", down, edge{air: 28.5, soil: 27.999}),
		stops("not past the cap at the roots", down, decide.MarginUnmet, edge{air: 13, soil: 12, with: roots(12, 28), have: 1, need: 2.5}),
		stops("not past equal temperatures", down, decide.MarginUnmet, edge{air: 12, soil: 12, need: 2.5}),
		keeps("just short of equal temperatures", down, edge{air: 12.001, soil: 12}),
		stops("not at the charge floor", down, decide.MarginUnmet, edge{air: 7, soil: 6, have: 1, need: 2.5}),
		keeps("just over the charge floor", down, edge{air: 7.001, soil: 6}),
		stops("not with the heater on", down, decide.MarginUnmet, edge{air: 13, soil: 12, with: heater, have: 1, need: 2.5}),
		stops("charging not without soil", down, decide.SoilLost, edge{air: 13, soil: 12, with: badSoil}),
		keeps("charging past an open vent", down, edge{air: 13, soil: 12, with: vent}),
		keeps("drying goes on when the air is dry", decide.Dry, edge{air: 13, soil: 12}),
		stops("drying not at the charge floor", decide.Dry, decide.MarginUnmet, edge{air: 7, soil: 6, have: 1, need: 4}),

		keeps("discharging goes on over its setpoint", up, edge{now: n, air: 8, soil: 12}),
		keeps("discharging goes on when its window closes", up, edge{now: n, air: 4, soil: 12, change: shut}),
		stops("not under the floor", up, decide.AboveSetpoint, edge{now: n, air: 8, soil: 12, with: roots(7, 12), have: 8, need: 7}),
		keeps("just over the floor", up, edge{now: n, air: 8, soil: 12, with: roots(7.001, 12)}),
		stops("discharging not past equal temperatures", up, decide.MarginUnmet, edge{now: n, air: 8, soil: 8, need: 4}),
		stops("discharging not past equal temperatures of the crop's air", up, decide.AirDoubtful, edge{now: n, air: 8, soil: 8, with: doubtfulAir}),
		keeps("discharging just short of equal temperatures", up, edge{now: n, air: 8, soil: 8.001}),
		stops("discharging not into air as warm at the intake", up, decide.MarginUnmet, edge{now: n, air: 8, soil: 12, with: intake(12, judge.Good), need: 4}),
		keeps("discharging past a doubtful warm intake", up, edge{now: n, air: 8, soil: 12, with: intake(12, judge.Doubtful)}),
		stops("discharging not out of an open vent", up, decide.VentOpen, edge{now: n, air: 4, soil: 12, with: vent}),
		stops("discharging not without soil", up, decide.SoilLost, edge{now: n, air: 8, soil: 12, with: badSoil}),
		stops("frost protection has none", decide.Frost, decide.AboveSetpoint, edge{now: n, air: 8, soil: 12, have: 8, need: 6}),
		stops("an action has none", decide.Action, decide.AboveSetpoint, edge{now: n, air: 8, soil: 12, have: 8, need: 6}),
	})
}

func TestMinimumRunKeepsTheSpeed(t *testing.T) {
	for stage := uint8(1); stage <= 3; stage++ {
		e := edge{change: threeSpeeds, doing: decide.Charge, before: func(st *decide.State) {
			st.Stores[0].RunS, st.Stores[0].Stage, st.Stores[0].Fans[0].Stage = 300, stage, stage
		}, air: 13, soil: 12}
		if d, _ := e.decide(t); d.Stores[0].Stages[0] != stage {
			t.Errorf("stage %d, want %d", d.Stores[0].Stages[0], stage)
		}
	}
}

// The reason for rest is that of the way in which the heat would flow.
func TestRestSaysWhy(t *testing.T) {
	n := night(t)
	edges(t, []edge{
		{name: "air warmer than soil: why it does not charge", now: n, air: 13, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 1, need: 4},
		{name: "air as warm as soil: why it does not charge", now: n, air: 12, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 0, need: 4},
		{name: "air colder than soil: why it does not discharge", now: n, air: 11.9, soil: 12, state: decide.Rest, code: decide.AboveSetpoint, have: 11.9, need: 6},
		{name: "without intake air: why it does not discharge", now: n, air: 13, soil: 12, with: intake(13, judge.Bad), state: decide.Rest, code: decide.AboveSetpoint, have: 13, need: 6},
		{name: "without soil: that it is lost", now: n, air: 13, with: noSoil, state: decide.Rest, code: decide.SoilLost},
		{name: "at the frost limit: that the soil cannot help", now: n, air: 1, soil: 1.25, state: decide.Rest, code: decide.FrostNoHelp, have: 0.25, need: 1},
		{name: "at the frost limit in warm soil's window of nothing but frost: frost", now: n, change: allow(decide.Allow{}), air: 1, soil: 9, state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
	})
}

func TestReasonsSayTheTemperaturesTheyWereTakenOn(t *testing.T) {
	y := begin(t, farm(t, one, cheap), noon(t))
	r := y.pass(0, seen(20, 12)).Reason
	if !r.HasAir || !r.HasSoil || r.Air != 20 || r.Soil != 12 {
		t.Errorf("charging: %+v", r)
	}
	in := seen(20, 12)
	noSoil(&in)
	r = y.pass(time.Hour, in).Reason
	if !r.HasAir || r.HasSoil || r.Air != 20 {
		t.Errorf("without soil: %+v", r)
	}
	noAir(&in)
	if r = y.pass(time.Hour, in).Reason; r.HasAir || r.HasSoil {
		t.Errorf("without air and soil: %+v", r)
	}
	y = begin(t, farm(t, one, cheap), noon(t))
	y.st.Stores[0].RestS = 0
	if r = y.pass(0, seen(20, 12)).Reason; r.Code != decide.WaitRest || !r.HasAir || !r.HasSoil || r.Air != 20 || r.Soil != 12 {
		t.Errorf("waiting: %+v", r)
	}
}
