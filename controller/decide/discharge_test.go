package decide_test

import (
	"testing"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

func TestDischarge(t *testing.T) {
	window := allow(decide.Allow{Charge: true, Dry: true})
	badSoil := func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }
	lostVent := func(in *decide.Inputs) { in.VentOpen = decide.Lost }
	n := night(t)
	pays := decide.DischargePays
	edges(t, []edge{
		{name: "under the setpoint it starts", now: n, air: 5.999, soil: 12, state: decide.Discharge, code: pays},
		{name: "at the setpoint it does not", now: n, air: 6, soil: 12, state: decide.Rest, code: decide.AboveSetpoint, have: 6, need: 6},
		{name: "running it goes on under setpoint and band", doing: decide.Discharge, now: n, air: 6.999, soil: 12, state: decide.Discharge, code: pays},
		{name: "running it stops at setpoint and band", doing: decide.Discharge, now: n, air: 7, soil: 12, state: decide.Rest, code: decide.AboveSetpoint, have: 7, need: 7},
		{name: "running as something else gives no band", doing: decide.Charge, now: n, air: 6.5, soil: 12, state: decide.Rest, code: decide.AboveSetpoint, have: 6.5, need: 6},

		{name: "at the gain it starts", now: n, air: 5, soil: 8, state: decide.Discharge, code: pays},
		{name: "under the gain it does not", now: n, air: 5, soil: 7.999, state: decide.Rest, code: decide.GainUnmet, have: 2.999, need: 3},
		{name: "running it goes on at gain less band", doing: decide.Discharge, now: n, air: 5.5, soil: 7.5, state: decide.Discharge, code: pays},
		{name: "running it stops under gain less band", doing: decide.Discharge, now: n, air: 5.5, soil: 7.499, state: decide.Rest, code: decide.GainUnmet, have: 1.999, need: 2},
	})
	edges(t, []edge{
		{name: "the crop's air counts for the setpoint", now: n, air: 5.9, soil: 12, with: intake(8, judge.Good), state: decide.Discharge, code: pays},
		{name: "the warmer of crop and intake counts for the gain", now: n, air: 5, soil: 12, with: intake(9.001, judge.Good), state: decide.Rest, code: decide.GainUnmet, have: 2.999, need: 3},
		{name: "intake air colder than the crop's does not raise the gain", now: n, air: 5, soil: 7.999, with: intake(1, judge.Good), state: decide.Rest, code: decide.GainUnmet, have: 2.999, need: 3},
		{name: "doubtful intake air does not count for the gain", now: n, air: 5, soil: 12, with: intake(11.5, judge.Doubtful), state: decide.Discharge, code: pays},
		{name: "uncertain soil counts by its worst", now: n, air: 5, soil: 9, with: unsure(1), state: decide.Discharge, code: pays},
		{name: "a little more uncertain it does not start", now: n, air: 5, soil: 9, with: unsure(1.001), state: decide.Rest, code: decide.GainUnmet, have: 2.999, need: 3},

		{name: "root soil over the floor lets it start", now: n, air: 4, soil: 12, with: roots(7.001, 12), state: decide.Discharge, code: pays},
		{name: "root soil at the floor does not", now: n, air: 4, soil: 12, with: roots(7, 12), state: decide.Rest, code: decide.SoilAtFloor, have: 7, need: 7},
		{name: "running it stops at the floor", doing: decide.Discharge, now: n, air: 4, soil: 12, with: roots(7, 12), state: decide.Rest, code: decide.SoilAtFloor, have: 7, need: 7},
		{name: "a bad root reading leaves it to the store's soil", now: n, air: 4, soil: 12, with: func(in *decide.Inputs) { in.Stores[0].RootMin.C = 1 }, state: decide.Discharge, code: pays},
		{name: "without root soil the store's is held over the floor", now: n, air: 3.9, soil: 7, state: decide.Rest, code: decide.SoilAtFloor, have: 7, need: 7},

		{name: "an open vent stops it", doing: decide.Discharge, now: n, air: 4, soil: 12, with: vent, state: decide.Rest, code: decide.VentOpen},
		{name: "a lost vent contact does not", now: n, air: 4, soil: 12, with: lostVent, state: decide.Discharge, code: pays},
		{name: "the window must allow it", change: window, now: n, air: 4, soil: 12, state: decide.Rest, code: decide.DischargeNotAllowed},
		{name: "soil carried too long is not used", now: n, air: 4, soil: 12, with: badSoil, state: decide.Rest, code: decide.SoilLost},
		{name: "soil never read is not used", now: n, air: 4, with: noSoil, state: decide.Rest, code: decide.SoilLost},
		{name: "an open vent stops it near the frost limit too", now: n, air: 1.6, soil: 12, with: vent, state: decide.Rest, code: decide.VentOpen},
	})
}

// With no gain and no floor left to stop it, equal temperatures still do.
func TestDischargeNeverAtEqualTemperatures(t *testing.T) {
	bare := func(s *decide.Settings) {
		s.Policies[0].Stores[0].Gain, s.Policies[0].Stores[0].SoilFloor = 0, -5
	}
	n := night(t)
	edges(t, []edge{
		{name: "soil as cold as the air", change: bare, now: n, air: 5, soil: 5, state: decide.Rest, code: decide.MarginUnmet, have: 0, need: 4},
		{name: "near the frost limit, where it is not asked to pay", change: bare, now: n, air: 3, soil: 3, with: doubtfulAir, state: decide.Rest, code: decide.AirDoubtful},
		{name: "soil a little warmer", change: bare, now: n, air: 5, soil: 5.001, state: decide.Discharge, code: decide.DischargePays},
		{name: "running, soil as cold as the air", change: bare, doing: decide.Discharge, before: fresh, now: n, air: 5, soil: 5, state: decide.Rest, code: decide.MarginUnmet, have: 0, need: 4},
		{name: "intake air as warm as the soil", change: bare, now: n, air: 4, soil: 5, with: intake(5, judge.Good), state: decide.Rest, code: decide.MarginUnmet, have: 0, need: 4},
	})
}

func TestDischargeGoesByTheWindowThatCovers(t *testing.T) {
	s := farm(t, one, cheap, func(s *decide.Settings) {
		colder := s.Policies[0]
		colder.Setpoint = 3.6
		s.Policies = append(s.Policies, colder)
		s.Season.Windows = spans(t, "01-01..02-10", "")
	})
	y := begin(t, s, night(t))
	y.pass(0, seen(4, 12))
	y.want("inside the window", decide.Rest, decide.AboveSetpoint)
	if y.d.Window != 0 || y.d.Stores[0].Reason.Need != 3.6 {
		t.Errorf("window %d, setpoint %v", y.d.Window, y.d.Stores[0].Reason.Need)
	}
	y = begin(t, s, local(t, "2026-02-11T23:00:00"))
	y.pass(0, seen(4, 12))
	y.want("after the window", decide.Discharge, decide.DischargePays)
	if y.d.Window != -1 {
		t.Errorf("window %d where none covers", y.d.Window)
	}
}
