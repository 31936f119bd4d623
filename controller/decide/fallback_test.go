package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// airLost is air unread for s before this tick of 10 s.
func airLost(s float64) func(*decide.State) {
	return func(st *decide.State) { st.AirLostS = s - 10 }
}

func TestFallback(t *testing.T) {
	off := func(s *decide.Settings) { s.Fallback = decide.DutyOff }
	june := local(t, "2026-06-20T23:30:00")
	notANumber := func(in *decide.Inputs) {
		in.CropAir.C = unit.Celsius(nan())
	}
	badSoil := func(in *decide.Inputs) { in.Stores[0].Soil.Quality = judge.Bad }
	lost, n := airLost(610), night(t)
	edges(t, []edge{
		{name: "within the grace time nothing starts", before: airLost(600), now: n, soil: 12, with: noAir, state: decide.Rest, code: decide.AirGrace, have: 600, need: 600},
		{name: "after it the duty runs at night", before: lost, now: n, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "air that is no number is no air", before: lost, now: n, soil: 12, with: notANumber, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "doubtful air is air", before: lost, now: n, air: 14, soil: 12, with: doubtfulAir, state: decide.Rest, code: decide.AirDoubtful},
		{name: "off by day", before: lost, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 12, need: 2.5},
		{name: "off outside the cold months", before: lost, now: june, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackMonths, have: 12, need: 2.5},
		{name: "soil at frost limit and gain is warm", before: lost, now: n, soil: 2.5, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 2.5, need: 2.5},
		{name: "soil under it is not", before: lost, now: n, soil: 2.499, with: noAir, state: decide.Fallback, code: decide.FallbackSoil, have: 2.499, need: 2.5},
		{name: "running, half the gain is enough", doing: decide.Fallback, before: lost, now: n, soil: 2, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 2, need: 2},
		{name: "running, less than half is not", doing: decide.Fallback, before: lost, now: n, soil: 1.999, with: noAir, state: decide.Fallback, code: decide.FallbackSoil, have: 1.999, need: 2},
		{name: "running otherwise gives no band", doing: decide.Discharge, before: lost, now: n, soil: 2.499, with: noAir, state: decide.Fallback, code: decide.FallbackSoil, have: 2.499, need: 2.5},
		{name: "unread soil is carried on", before: lost, now: n, soil: 12, with: inputs(noAir, func(in *decide.Inputs) {
			in.Stores[0].Soil.Quality, in.Stores[0].Soil.Uncertain = judge.Doubtful, 1
		}), state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "soil carried for too long is not known", before: lost, now: n, soil: 12, with: inputs(noAir, badSoil), state: decide.Fallback, code: decide.FallbackBlind, have: 12, need: 2.5},
		{name: "soil never read is not known", before: lost, now: n, with: inputs(noAir, noSoil), state: decide.Fallback, code: decide.FallbackBlind, have: 0, need: 2.5},
		{name: "soil that is no number is not warm", before: lost, now: n, soil: unit.Celsius(nan()), with: noAir, change: off, state: decide.Fallback, code: decide.FallbackNever, have: nan(), need: 2.5},
		{name: "a duty that is off stays off", before: lost, now: n, soil: 12, with: noAir, change: off, state: decide.Fallback, code: decide.FallbackNever, have: 12, need: 2.5},
		{name: "no crop, no duty", before: lost, now: n, soil: 12, with: noAir, change: noCrop, state: decide.Fallback, code: decide.FallbackNever, have: 12, need: 2.5},
		{name: "it waits neither for rest nor for starts", before: func(st *decide.State) {
			lost(st)
			st.Stores[0].RestS, st.Stores[0].Fans[0].StartWaitS = 0, 500
		}, now: n, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "it comes before an action", before: func(st *decide.State) {
			lost(st)
			due(st)
		}, change: exercise, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 12, need: 2.5},
		{name: "it comes before water", before: lost, now: n, soil: 12, with: inputs(noAir, water), state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "it stops at once what may not run", doing: decide.Charge, before: func(st *decide.State) {
			lost(st)
			fresh(st)
		}, soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 12, need: 2.5},
	})
}

func TestWithinTheGraceTimeAFanFinishesItsMinimumRun(t *testing.T) {
	within := airLost(100)
	at := func(runS float64) func(*decide.State) {
		return func(st *decide.State) {
			within(st)
			st.Stores[0].RunS = runS - 10
		}
	}
	edges(t, []edge{
		{name: "charging short of it", doing: decide.Charge, before: at(599), soil: 12, with: noAir, state: decide.Charge, code: decide.MinimumRun, have: 599, need: 600},
		{name: "charging past it", doing: decide.Charge, before: at(600), soil: 12, with: noAir, state: decide.Rest, code: decide.AirGrace, have: 100, need: 600},
		{name: "discharging short of it", doing: decide.Discharge, before: at(599), soil: 12, with: noAir, state: decide.Discharge, code: decide.MinimumRun, have: 599, need: 600},
		{name: "discharging past it", doing: decide.Discharge, before: at(600), soil: 12, with: noAir, state: decide.Rest, code: decide.AirGrace, have: 100, need: 600},
	})
}

func TestAirLostAlarmFollowsTheGraceTime(t *testing.T) {
	y := begin(t, farm(t, one), night(t))
	gone := seen(0, 12)
	noAir(&gone)
	y.pass(10*time.Minute, gone)
	if y.d.Alarms.AirLost {
		t.Error("it sounds within the grace time")
	}
	y.pass(0, gone)
	if !y.d.Alarms.AirLost {
		t.Error("it does not sound after it")
	}
	y.pass(0, seen(14, 12))
	if y.d.Alarms.AirLost {
		t.Error("it sounds although the air is back")
	}
	y.pass(10*time.Minute, gone)
	y.want("lost again", decide.Rest, decide.AirGrace)
}

func TestFallbackRunsFromSunsetToSunrise(t *testing.T) {
	// Sunset and sunrise at 43.1° N 75.2° W on 20 and 21 January 2026: 17:02 and 7:26, by the
	// NOAA solar calculation, to the minute.
	gone := seen(0, 12)
	noAir(&gone)
	for _, c := range []struct {
		at   string
		want decide.Code
	}{
		{"2026-01-20T16:57:00", decide.FallbackDay},
		{"2026-01-20T17:07:00", decide.FallbackNight},
		{"2026-01-21T00:01:00", decide.FallbackNight},
		{"2026-01-21T07:21:00", decide.FallbackNight},
		{"2026-01-21T07:31:00", decide.FallbackDay},
	} {
		y := begin(t, farm(t, one), local(t, c.at))
		airLost(1e5)(&y.st)
		y.pass(0, gone)
		y.want(c.at, decide.Fallback, c.want)
	}
}
