package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
)

func TestHold(t *testing.T) {
	strict := func(s *decide.Settings) { s.Stores[0].WaterHoldsFrost = true }
	lost := func(in *decide.Inputs) { in.Smoke, in.Stores[0].PipeWater = decide.Lost, decide.Lost }
	contactsOff := func(in *decide.Inputs) { in.Smoke, in.Stores[0].PipeWater = decide.Off, decide.Off }
	edges(t, []edge{
		{name: "smoke holds charging", air: 20, soil: 12, with: smoke, state: decide.Hold, code: decide.HoldSmoke},
		{name: "smoke stops a fan in its minimum run", doing: decide.Charge, before: fresh, air: 20, soil: 12, with: smoke, state: decide.Hold, code: decide.HoldSmoke},
		{name: "smoke holds frost protection", air: 0, soil: 12, with: smoke, state: decide.Hold, code: decide.HoldSmoke},
		{name: "smoke holds an order by hand", air: 20, soil: 12, with: inputs(smoke, order(decide.OrderRun, 0, 600)), state: decide.Hold, code: decide.HoldSmoke},
		{name: "smoke comes before water", air: 20, soil: 12, with: inputs(smoke, water), change: strict, state: decide.Hold, code: decide.HoldSmoke},
		{name: "a lost smoke or water contact does not trip", air: 20, soil: 12, with: lost, state: decide.Charge, code: decide.ChargePays},
		{name: "a smoke or water contact at rest does not trip", air: 20, soil: 12, with: contactsOff, state: decide.Charge, code: decide.ChargePays},
		{name: "water holds charging", air: 20, soil: 12, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "water holds discharging", air: 4, soil: 12, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "water holds drying", air: 13, soil: 12, with: inputs(water, damp(0.99, 2)), state: decide.Hold, code: decide.HoldWater},
		{name: "water holds an action", air: 13, soil: 12, before: due, change: exercise, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "water stops a fan in its minimum run", doing: decide.Charge, before: fresh, air: 20, soil: 12, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "water is said, not lost air, within the grace time", air: 20, soil: 12, with: inputs(water, noAir), state: decide.Hold, code: decide.HoldWater},
		{name: "water does not hold frost protection", air: 1, soil: 12, with: water, state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
		{name: "water holds frost protection where the grower is stricter", air: 1, soil: 12, change: strict, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "strict water comes before a hand order to be off", air: 1, soil: 12, change: strict, with: inputs(water, order(decide.OrderOff, 0, 600)), state: decide.Hold, code: decide.HoldWater},
		{name: "fans are not run into water by hand", air: 20, soil: 12, with: inputs(water, order(decide.OrderRun, 0, 600)), state: decide.Hold, code: decide.HoldWater},
	})
}

// fresh puts the running fan into its minimum run.
func fresh(st *decide.State) { st.Stores[0].RunS = 60 }

// due is a calendar action that waits; exercise declares it.
func due(st *decide.State) {
	ss := &st.Stores[0]
	ss.Action, ss.ActionRunS, ss.ActionDueS = 1, 120, 900
}

func exercise(s *decide.Settings) {
	s.Actions = []decide.ActionSettings{{Name: "exercise", Stores: [decide.MaxStores]bool{true, true}, RunS: 120}}
}

func TestSmokeHoldsUntilAPersonClearsIt(t *testing.T) {
	y := begin(t, farm(t, cheap), noon(t))
	calm := seen(20, 12)
	smoky := calm
	smoky.Smoke = decide.On
	clear := func(in decide.Inputs) decide.Inputs { in.ClearFault = true; return in }
	lost := calm
	lost.Smoke = decide.Lost

	y.pass(20*time.Minute, calm)
	y.want("a warm noon", decide.Charge, decide.ChargePays)
	y.pass(0, smoky)
	y.want("smoke", decide.Hold, decide.HoldSmoke)
	if y.d.Stores[1].State != decide.Hold || y.d.Stores[1].Running() {
		t.Errorf("smoke leaves the second store %v", y.d.Stores[1].State)
	}
	if !y.d.Alarms.Smoke {
		t.Error("smoke sounds no alarm")
	}
	y.pass(time.Hour, calm)
	y.want("an hour after the smoke", decide.Hold, decide.HoldSmoke)
	y.pass(0, lost)
	y.want("the contact lost afterwards", decide.Hold, decide.HoldSmoke)
	y.st = throughJSON(t, y.st)
	y.pass(0, calm)
	y.want("a restart", decide.Hold, decide.HoldSmoke)
	y.pass(0, clear(smoky))
	y.want("cleared while it still smokes", decide.Hold, decide.HoldSmoke)
	y.pass(0, calm)
	y.want("after clearing in vain", decide.Hold, decide.HoldSmoke)
	y.pass(0, clear(calm))
	y.want("cleared", decide.Charge, decide.ChargePays)
	if y.d.Alarms.Smoke {
		t.Error("the alarm outlasts the clearing")
	}
}

func TestWaterHoldsOnlyItsOwnStore(t *testing.T) {
	y := begin(t, farm(t, cheap), noon(t))
	in := seen(24, 12)
	in.Stores[1].PipeWater = decide.On
	y.pass(time.Minute, in)
	y.want("the dry store", decide.Charge, decide.ChargePays)
	if d := &y.d.Stores[1]; d.State != decide.Hold || d.Reason.Code != decide.HoldWater {
		t.Errorf("the wet store: %v for %v", d.State, d.Reason.Code)
	}
}
