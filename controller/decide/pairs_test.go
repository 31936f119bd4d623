package decide_test

import (
	"testing"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// Where two rules apply at once the earlier one wins. For each pair of rules that can compete,
// readings on which either would apply alone; the second case takes the first rule away.
//
// Not there, because no readings let both apply: frost and fallback (one needs the air, the other
// its loss), frost and charge or dry (soil warmer than the air, and colder), fallback and
// anything after it but action.
func TestTheEarlierRuleWins(t *testing.T) {
	n := night(t)
	run, off := order(decide.OrderRun, 0, 600), order(decide.OrderOff, 0, 600)
	strict := func(s *decide.Settings) { s.Stores[0].WaterHoldsFrost = true }
	burst := settings(exercise, func(s *decide.Settings) { s.Actions[0].TopUp = true })
	long := airLost(610)
	both := func(a, b func(*decide.State)) func(*decide.State) {
		return func(st *decide.State) { a(st); b(st) }
	}
	warmAbove := intake(15, judge.Doubtful) // over crop air of 5 °C: charging or drying may go on, heat may come up
	soft := func(s *decide.Settings) { s.Policies[0].ChargeFloor, s.Policies[0].DryFloor = 0, 0 }
	pays := decide.DischargePays
	edges(t, []edge{
		{name: "hold by smoke before hand", air: 8, soil: 12, with: inputs(smoke, run), state: decide.Hold, code: decide.HoldSmoke},
		{name: "hand alone", air: 8, soil: 12, with: run, state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "strict hold by water before hand", change: strict, air: 8, soil: 12, with: inputs(water, off), state: decide.Hold, code: decide.HoldWater},
		{name: "hand off alone", change: strict, air: 8, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "hand off before plain hold by water", air: 8, soil: 12, with: inputs(water, off), state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "hold by smoke before frost", air: 1, soil: 12, with: smoke, state: decide.Hold, code: decide.HoldSmoke},
		{name: "strict hold by water before frost", change: strict, air: 1, soil: 12, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "frost before plain hold by water", air: 1, soil: 12, with: water, state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
		{name: "frost before a run by hand into water", air: 1, soil: 12, with: inputs(water, run), state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
		{name: "hold by smoke before fallback", before: long, now: n, soil: 12, with: inputs(noAir, smoke), state: decide.Hold, code: decide.HoldSmoke},
		{name: "strict hold by water before fallback", change: strict, before: long, now: n, soil: 12, with: inputs(noAir, water), state: decide.Hold, code: decide.HoldWater},
		{name: "hand off before frost", air: 1, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "a run by hand before frost", change: threeSpeeds, air: 1, soil: 12, with: order(decide.OrderRun, 1, 600), state: decide.Discharge, code: decide.HandRun, have: 600},
		{name: "frost alone", change: threeSpeeds, air: 1, soil: 12, state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
		{name: "hand off before fallback", before: long, now: n, soil: 12, with: inputs(noAir, off), state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "fallback alone", before: long, now: n, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "hand before action", change: exercise, before: due, air: 8, soil: 12, with: off, state: decide.Hand, code: decide.HandOff, have: 600},
		{name: "frost before action", change: exercise, before: due, air: 1, soil: 12, state: decide.Frost, code: decide.FrostProtect, have: 1, need: 1.5},
		{name: "fallback before action", change: exercise, before: both(long, due), now: n, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "lost air before action", change: exercise, before: due, now: n, soil: 12, with: noAir, state: decide.Rest, code: decide.AirGrace, have: 10, need: 600},
		{name: "hold by water before action", change: exercise, before: due, air: 8, soil: 12, with: water, state: decide.Hold, code: decide.HoldWater},
		{name: "action before discharge", change: exercise, before: due, now: n, air: 4, soil: 12, state: decide.Action, code: decide.ActionDue, have: 120},
		{name: "discharge alone", change: exercise, now: n, air: 4, soil: 12, state: decide.Discharge, code: pays},
		{name: "action before charge", change: burst, before: due, air: 20, soil: 12, state: decide.Action, code: decide.ActionTopUp, have: 120},
		{name: "charge alone", change: burst, air: 20, soil: 12, state: decide.Charge, code: decide.ChargePays},
		{name: "frost before discharge", air: 1.5, soil: 12, state: decide.Frost, code: decide.FrostProtect, have: 1.5, need: 1.5},
		{name: "discharge before charge that goes on with doubtful intake air", change: soft, doing: decide.Charge, now: n, air: 5, soil: 10, with: warmAbove, state: decide.Discharge, code: pays},
		{name: "such a charge alone", change: settings(soft, allow(decide.Allow{Charge: true})), doing: decide.Charge, now: n, air: 5, soil: 10, with: warmAbove, state: decide.Charge, code: decide.ChargePays},
		{name: "discharge before dry that goes on with doubtful intake air", change: soft, doing: decide.Dry, now: n, air: 5, soil: 10, with: inputs(warmAbove, damp(0.95, judge.Good)), state: decide.Discharge, code: pays},
		{name: "such a dry alone", change: settings(soft, allow(decide.Allow{Dry: true})), doing: decide.Dry, now: n, air: 5, soil: 10, with: inputs(warmAbove, damp(0.95, judge.Good)), state: decide.Dry, code: decide.DryDamp, have: 0.95, need: 0.88},
		{name: "charge before dry", air: 20, soil: 12, with: damp(0.95, judge.Good), state: decide.Charge, code: decide.ChargePays},
		{name: "dry alone", change: allow(decide.Allow{Dry: true}), air: 20, soil: 12, with: damp(0.95, judge.Good), state: decide.Dry, code: decide.DryDamp, have: 0.95, need: 0.92},
		{name: "dry before the end of a minimum run", doing: decide.Charge, before: fresh, air: 15, soil: 12, change: func(s *decide.Settings) { s.Policies[0].Allow.Charge = false }, with: damp(0.95, judge.Good), state: decide.Dry, code: decide.DryDamp, have: 0.95, need: 0.92},
		{name: "the end of a minimum run alone", doing: decide.Charge, before: fresh, air: 15, soil: 12, change: allow(decide.Allow{}), state: decide.Charge, code: decide.MinimumRun, have: 70, need: 600},
	})
}

// A run by hand keeps its stage although frost protection would take the full one.
func TestHandKeepsItsStageAtTheFrostLimit(t *testing.T) {
	e := edge{change: threeSpeeds, air: 1, soil: 12, with: order(decide.OrderRun, 1, 600)}
	if d, _ := e.decide(t); d.Stores[0].Stages[0] != 1 {
		t.Errorf("stage %d, want 1", d.Stores[0].Stages[0])
	}
}
