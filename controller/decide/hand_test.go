package decide_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

func TestHand(t *testing.T) {
	run, off := order(decide.OrderRun, 0, 600), order(decide.OrderOff, 0, 600)
	panel := func(c decide.Contact) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.Stores[0].HandSwitch = c }
	}
	tired := func(st *decide.State) { st.Stores[0].RestS, st.Stores[0].Fans[0].StartWaitS = 0, 500 }
	edges(t, []edge{
		{name: "run with the air warmer than the soil is charging", air: 12.001, soil: 12, with: run, state: decide.Charge, code: decide.HandRun, have: 600},
		{name: "run at equal temperatures is not charging", air: 12, soil: 12, with: run, state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "run with the air colder than the soil is discharging", air: 8, soil: 12, with: run, state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "the air at the intake tells", air: 8, soil: 12, with: inputs(run, intake(13, judge.Good)), state: decide.Charge, code: decide.HandRun, have: 600},
		{name: "run without soil is by hand", air: 8, soil: 12, with: inputs(run, noSoil), state: decide.Hand, code: decide.HandRun, have: 600},
		{name: "run without air is by hand", air: 8, soil: 12, with: inputs(run, noAir), state: decide.Hand, code: decide.HandRun, have: 600},
		{name: "run waits neither for rest nor for starts per hour", air: 8, soil: 12, with: run, before: tired, state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "run comes before frost protection", air: 0, soil: 12, with: run, state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "off keeps off what would pay", air: 20, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "off stops a fan in its minimum run", doing: decide.Charge, before: fresh, air: 20, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "off keeps frost protection off", air: 0, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "off keeps the fallback off", air: 0, soil: 12, now: night(t), before: airLost(3600), with: inputs(noAir, off), state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "the panel switch is a hand", air: 20, soil: 12, with: panel(decide.On), state: decide.Hand, code: decide.HandSwitch},
		{name: "the panel switch comes before an order", air: 20, soil: 12, with: inputs(panel(decide.On), run), state: decide.Hand, code: decide.HandSwitch, have: 600},
		{name: "the panel switch comes before an order to be off", air: 20, soil: 12, with: inputs(panel(decide.On), off), state: decide.Hand, code: decide.HandSwitch, have: 600},
		{name: "a lost panel switch is no hand", air: 20, soil: 12, with: panel(decide.Lost), state: decide.Charge, code: decide.ChargePays},
		{name: "an order without a time is none", air: 20, soil: 12, with: order(decide.OrderOff, 0, 0), state: decide.Charge, code: decide.ChargePays},
		{name: "an order for an undefined time is none", air: 20, soil: 12, with: order(decide.OrderOff, 0, math.NaN()), state: decide.Charge, code: decide.ChargePays},
		{name: "automatic is no order", air: 20, soil: 12, with: order(decide.OrderAuto, 0, 600), state: decide.Charge, code: decide.ChargePays},
	})
}

func TestHandOrdersExpire(t *testing.T) {
	y := begin(t, farm(t, one, cheap), noon(t))
	warm := seen(20, 12)
	off, auto, none := warm, warm, warm
	order(decide.OrderOff, 0, 30)(&off)
	order(decide.OrderAuto, 0, 0)(&auto)
	order(decide.OrderOff, 0, -1)(&none)

	y.pass(0, off)
	for _, left := range []float64{30, 20, 10} {
		y.want("under the order", decide.Hand, decide.HandOff)
		if got := y.d.Stores[0].Reason.Have; got != left {
			t.Errorf("%v s left, want %v", got, left)
		}
		y.pass(0, warm)
	}
	y.want("after the order", decide.Charge, decide.ChargePays)

	y.pass(0, off)
	y.pass(0, none)
	y.want("an order that says no time changes nothing", decide.Hand, decide.HandOff)
	order(decide.OrderRun, 0, 600)(&off)
	y.pass(0, off)
	y.want("a new order replaces the old", decide.Charge, decide.HandRun)
	y.pass(0, auto)
	if y.st.Stores[0].Order != decide.NoOrder {
		t.Error("back to automatic leaves the order")
	}
}

// An order is kept in State, which is written as JSON, where there is no infinity.
func TestEndlessOrderStaysAPlainNumber(t *testing.T) {
	y := begin(t, farm(t, one), noon(t))
	in := seen(20, 12)
	order(decide.OrderRun, 0, math.Inf(1))(&in)
	y.pass(0, in)
	throughJSON(t, y.st)
	y.pass(24*time.Hour, seen(20, 12))
	y.want("a day later", decide.Charge, decide.HandRun)
}

func TestHandStage(t *testing.T) {
	s := farm(t, one, threeSpeeds)
	for _, c := range []struct {
		name        string
		asked, want uint8
	}{
		{"no stage is full", 0, 3}, {"the first", 1, 1}, {"the second", 2, 2}, {"more than there are is full", 9, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := begin(t, s, noon(t))
			in := seen(20, 12)
			order(decide.OrderRun, c.asked, 600)(&in)
			if got := y.pass(0, in).Stages[0]; got != c.want {
				t.Errorf("stage %d, want %d", got, c.want)
			}
		})
	}
}

func TestHandOffSoundsTheAlarmOnlyIfFrostProtectionWouldRun(t *testing.T) {
	off := order(decide.OrderOff, 0, 600)
	byPanel := func(in *decide.Inputs) { in.Stores[0].HandSwitch = decide.On }
	for _, c := range []struct {
		name   string
		e      edge
		want   bool
		noHelp bool
	}{
		{"at the frost limit", edge{air: 1.5, soil: 12, with: off}, true, false},
		{"by the panel switch", edge{air: 1.5, soil: 12, with: byPanel}, true, false},
		{"over the frost limit", edge{air: 1.501, soil: 12, with: off}, false, false},
		{"with soil too cold to help", edge{air: 1.5, soil: 2.4, with: off}, false, true},
		{"without a crop", edge{air: 1.5, soil: 12, with: off, change: noCrop}, false, false},
		{"on automatic", edge{air: 1.5, soil: 12}, false, false},
		{"running by hand", edge{air: 1.5, soil: 12, with: order(decide.OrderRun, 0, 600)}, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, _ := c.e.decide(t)
			want := decide.Alarms{HandOffFrost: c.want, FrostNoHelp: c.noHelp}
			if d.Alarms != want {
				t.Errorf("alarms %+v, want %+v", d.Alarms, want)
			}
		})
	}
}

func TestHandOrderIsForOneStore(t *testing.T) {
	y := begin(t, farm(t, cheap), noon(t))
	in := seen(24, 12)
	order(decide.OrderOff, 0, 600)(&in)
	y.pass(time.Minute, in)
	y.want("the store that was ordered", decide.Hand, decide.HandOff)
	if d := &y.d.Stores[1]; d.State != decide.Charge || !d.Running() {
		t.Errorf("the other store: %v for %v", d.State, d.Reason.Code)
	}
}
