package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

func TestCharge(t *testing.T) {
	window := allow(decide.Allow{Discharge: true, Dry: true})
	badSoil := func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }
	noMargin := func(s *decide.Settings) { s.Policies[0].Stores[0].Margin = 0 }
	wait := func(s float64) func(*decide.State) {
		return func(st *decide.State) { st.HeaterWaitS = s + 10 }
	}
	pays, hot := decide.ChargePays, roots(10, 28)
	edges(t, []edge{
		{name: "at the margin it starts", air: 16, soil: 12, state: decide.Charge, code: pays},
		{name: "under the margin it does not", air: 15.999, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 3.999, need: 4},
		{name: "running it goes on at margin less band", doing: decide.Charge, air: 14.5, soil: 12, state: decide.Charge, code: pays},
		{name: "running it stops under margin less band", doing: decide.Charge, air: 14.499, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 2.499, need: 2.5},
		{name: "running as something else gives no band", doing: decide.Dry, air: 15, soil: 12, state: decide.Rest, code: decide.MarginUnmet, have: 3, need: 4},
		{name: "never at equal temperatures, whatever the margin", change: noMargin, air: 12, soil: 12, state: decide.Rest, code: decide.MarginUnmet},
		{name: "running, never at equal temperatures", change: noMargin, doing: decide.Charge, before: fresh, air: 12, soil: 12, state: decide.Rest, code: decide.MarginUnmet, need: -1.5},
		{name: "without a margin any warmer air will do", change: noMargin, air: 12.001, soil: 12, state: decide.Charge, code: pays},

		{name: "the intake's air counts for the margin", air: 10, soil: 12, with: intake(16, judge.Good), state: decide.Charge, code: pays},
		{name: "the crop's air does not", air: 20, soil: 12, with: intake(15.999, judge.Good), state: decide.Rest, code: decide.MarginUnmet, have: 3.999, need: 4},
		{name: "uncertain soil counts by its worst", air: 17, soil: 12, with: unsure(1), state: decide.Charge, code: pays},
		{name: "a little more uncertain it does not start", air: 17, soil: 12, with: unsure(1.001), state: decide.Rest, code: decide.MarginUnmet, have: 3.999, need: 4},
		{name: "doubtful intake air starts nothing", air: 20, soil: 12, with: intake(20, judge.Doubtful), state: decide.Rest, code: decide.AirDoubtful},
		{name: "running it goes on with doubtful air", doing: decide.Charge, air: 20, soil: 12, with: doubtfulAir, state: decide.Charge, code: pays},
		{name: "doubtful crop air does not bar it", air: 20, soil: 12, with: func(in *decide.Inputs) { in.CropAir.Quality = judge.Doubtful }, state: decide.Charge, code: pays},
		{name: "running it stops without intake air", now: night(t), doing: decide.Charge, air: 5, soil: 12, with: intake(20, judge.Bad), state: decide.Discharge, code: decide.DischargePays},

		{name: "over the charge floor it starts", air: 7.001, soil: 3, state: decide.Charge, code: pays},
		{name: "at the charge floor it does not", air: 7, soil: 3, state: decide.Rest, code: decide.AtChargeFloor, have: 7, need: 7},
		{name: "running it stops at the charge floor", doing: decide.Charge, before: fresh, air: 7, soil: 3, state: decide.Rest, code: decide.AtChargeFloor, have: 7, need: 7},
		{name: "the heater's heat is not stored", air: 20, soil: 12, with: heater, state: decide.Rest, code: decide.HeaterOn},
		{name: "a fan in its minimum run stops for the heater", doing: decide.Charge, before: fresh, air: 20, soil: 12, with: heater, state: decide.Rest, code: decide.HeaterOn},
		{name: "nor is what is left of it", air: 20, soil: 12, before: wait(0.5), state: decide.Rest, code: decide.HeaterRecent, have: 0.5},
		{name: "after its rest it is gone", air: 20, soil: 12, before: wait(0), state: decide.Charge, code: pays},

		{name: "soil just half a kelvin under the cap does not start it", air: 34, soil: 27.5, state: decide.Rest, code: decide.SoilAtCap, have: 27.5, need: 27.5},
		{name: "a little colder it starts", air: 34, soil: 27.499, state: decide.Charge, code: pays},
		{name: "running it goes on to just under the cap", doing: decide.Charge, air: 34, soil: 27.999, state: decide.Charge, code: pays},
		{name: "running it stops at the cap", doing: decide.Charge, before: fresh, air: 34, soil: 28, state: decide.Rest, code: decide.SoilAtCap, have: 28, need: 28},
		{name: "hot root soil counts for the cap", doing: decide.Charge, air: 34, soil: 20, with: hot, state: decide.Rest, code: decide.SoilAtCap, have: 28, need: 28},
		{name: "hot store soil counts although the roots are cool", air: 34, soil: 27.6, with: roots(10, 20), state: decide.Rest, code: decide.SoilAtCap, have: 27.6, need: 27.5},
		{name: "a bad root reading does not count", air: 34, soil: 20, with: func(in *decide.Inputs) { in.Stores[0].RootMax.C = 40 }, state: decide.Charge, code: pays},
		{name: "the window must allow it", change: window, air: 20, soil: 12, state: decide.Rest, code: decide.ChargeNotAllowed},
		{name: "an open vent is no bar", air: 20, soil: 12, with: vent, state: decide.Charge, code: pays},
		{name: "soil carried too long is not used", air: 20, soil: 12, with: badSoil, state: decide.Rest, code: decide.SoilLost},
	})
}

// In the month before topping up a stored kWh is worth nothing; whatever it costs, none is bought.
func TestChargeIsWorthNothingInAMonthWithoutWorth(t *testing.T) {
	july := local(t, "2026-07-10T12:00:00")
	free := func(s *decide.Settings) {
		s.Tariff.ElectricityPerKWh = 0
		s.Tariff.StoredPerKWh[time.July-1] = 0
	}
	unpriced := func(s *decide.Settings) {
		s.Tariff.HasElectricity = false
		s.Tariff.Shares[time.July-1] = 0
	}
	edges(t, []edge{
		{name: "with prices", change: free, now: july, air: 30, soil: 12, state: decide.Rest, code: decide.NoWorthYet},
		{name: "without prices", change: unpriced, now: july, air: 30, soil: 12, state: decide.Rest, code: decide.NoWorthYet},
		{name: "in January", change: free, air: 30, soil: 12, state: decide.Charge, code: decide.ChargePays},
		{name: "in January without prices", change: unpriced, air: 30, soil: 12, state: decide.Charge, code: decide.ChargeRatio},
	})
}

func TestChargeWaitsForTheHeatersRest(t *testing.T) {
	y := begin(t, farm(t, one, cheap), noon(t))
	on := seen(20, 12)
	heater(&on)
	y.pass(time.Hour, on)
	y.want("the heater runs", decide.Rest, decide.HeaterOn)
	y.pass(30*time.Minute-10*time.Second, seen(20, 12))
	y.want("just under half an hour later", decide.Rest, decide.HeaterRecent)
	if left := y.d.Stores[0].Reason.Have; left != 10 {
		t.Errorf("%v s left, want 10", left)
	}
	y.pass(0, seen(20, 12))
	y.want("half an hour later", decide.Charge, decide.ChargePays)
}
