package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// unbelieved is a tick of a board that does not know the time.
func unbelieved(in decide.Inputs) decide.Inputs {
	in.Believed = false
	return in
}

func TestUnbelievedClockOpensAllWindowsAtBasePrice(t *testing.T) {
	s := farm(t, one, cheap, evening(t, 9), func(s *decide.Settings) {
		shut := s.Policies[0]
		shut.Allow = decide.Allow{}
		s.Policies = append(s.Policies, shut)
		s.Season.Windows = spans(t, "", "")
		for m := range s.Tariff.StoredPerKWh {
			s.Tariff.StoredPerKWh[m], s.Tariff.Shares[m] = 0, 0
		}
		s.Tariff.StoredPerKWh[time.November-1], s.Tariff.Shares[time.November-1] = 0.05, 1
		s.Tariff.StoredPerKWh[time.December-1], s.Tariff.Shares[time.December-1] = 0.06, 1
	})
	at := local(t, "2026-01-20T18:00:00")
	y := begin(t, s, at)
	y.pass(0, seen(20, 12))
	y.want("believed", decide.Rest, decide.ChargeNotAllowed)
	y.pass(0, unbelieved(seen(20, 12)))
	y.want("not believed", decide.Charge, decide.ChargePays)
	if p := y.d.Prices; p.ElectricityPerKWh != 1e-6 || p.StoredPerKWh != 0.05 || p.Period != -1 || y.d.Window != -1 {
		t.Errorf("decided on %+v in window %d", p, y.d.Window)
	}
	y.pass(20*time.Minute, unbelieved(seen(20, 12)))
	y.pass(0, seen(20, 12))
	y.want("believed again", decide.Rest, decide.ChargeNotAllowed)
}

func TestUnbelievedClockTakesTheMonthOfMostWorth(t *testing.T) {
	for m := time.January; m <= time.December; m++ {
		s := farm(t, one, func(s *decide.Settings) {
			s.Tariff.Shares, s.Tariff.StoredPerKWh = [12]float64{}, [12]float64{}
			s.Tariff.Shares[m-1], s.Tariff.StoredPerKWh[m-1] = 0.4, 0.03
		})
		d, _ := decide.Step(s, ready(), unbelieved(seen(20, 12)), time.Unix(0, 0))
		if d.Prices.StoredPerKWh != 0.03 || d.Prices.StoredShare != 0.4 {
			t.Errorf("%v: decided on %+v", m, d.Prices)
		}
	}
}

// At 78° N the sun is down from late October to mid February and up from late April to late
// August, from memory.
func TestFallbackInThePolarNightAndDay(t *testing.T) {
	north := func(s *decide.Settings) {
		s.Season.Site.LatitudeDeg = 78
		s.Cold = season.Dates{}
	}
	lost := airLost(610)
	edges(t, []edge{
		{name: "noon in January", change: north, before: lost, now: local(t, "2026-01-05T12:00:00"), soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackNight, have: 12, need: 2.5},
		{name: "midnight in June", change: north, before: lost, now: local(t, "2026-06-21T00:30:00"), soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 12, need: 2.5},
		{name: "late evening in June", change: north, before: lost, now: local(t, "2026-06-21T23:30:00"), soil: 12, with: noAir, state: decide.Fallback, code: decide.FallbackDay, have: 12, need: 2.5},
	})
}

func TestUnbelievedClockStillCountsTime(t *testing.T) {
	y := begin(t, farm(t, one, cheap), time.Unix(0, 0))
	y.pass(time.Hour, unbelieved(seen(20, 12)))
	y.want("charging", decide.Charge, decide.ChargePays)
	if run := y.st.Stores[0].RunS; run != 3590 {
		t.Errorf("ran %v s, want 3590", run)
	}
}

func TestUnbelievedClockReckonsWithAWintersNight(t *testing.T) {
	gone := unbelieved(seen(0, 12))
	noAir(&gone)
	y := begin(t, farm(t, one), local(t, "2026-06-20T12:00:00"))
	airLost(1e4)(&y.st)
	y.pass(0, gone)
	y.want("air lost", decide.Fallback, decide.FallbackNight)
}

func TestUnbelievedClockFiresNoAction(t *testing.T) {
	y := begin(t, farm(t, one, calendarOf(t, "30 12 * * *")), local(t, "2026-01-20T12:20:00"))
	if starts := y.ranAt(20*time.Minute, unbelieved(seen(13, 12))); len(starts) != 0 {
		t.Errorf("started %v", starts)
	}
}

// Elapsed time is what Inputs says, whatever the wall clock does.
func TestClockJumpsDoNotBendMinimumTimes(t *testing.T) {
	year := 365 * 24 * time.Hour
	for _, c := range []struct {
		name string
		jump time.Duration
	}{{"a year ahead", year}, {"a year back", -year}, {"an hour ahead", time.Hour}, {"an hour back", -time.Hour}} {
		t.Run(c.name, func(t *testing.T) {
			y := begin(t, farm(t, one, cheap), noon(t))
			y.pass(0, seen(20, 12))
			y.want("it starts", decide.Charge, decide.ChargePays)
			y.now = y.now.Add(c.jump)
			y.pass(10*time.Minute-10*time.Second, seen(13, 12))
			y.want("the minimum run is kept", decide.Charge, decide.MinimumRun)
			y.pass(0, seen(13, 12))
			y.want("and ends", decide.Rest, decide.MarginUnmet)
			y.now = y.now.Add(-c.jump)
			y.pass(5*time.Minute-10*time.Second, seen(20, 12))
			y.want("the minimum rest is kept", decide.Rest, decide.WaitRest)
			y.pass(0, seen(20, 12))
			y.want("and ends, a quarter of an hour after the first start", decide.Charge, decide.ChargePays)
		})
	}
}

// 2026-03-08 has 23 hours in New York, 2026-11-01 has 25; a span of clock hours holds on both.
func TestDaysWithAClockChange(t *testing.T) {
	dear := func(s *decide.Settings) {
		s.Tariff.Periods = []tariff.Period{{Span: spans(t, "", "02:30..04:00")[0], ElectricityPerKWh: 9}}
	}
	for _, c := range []struct {
		day  string
		from string
		want time.Duration
	}{{"a spring day without 2:30", "2026-03-08T00:00:00", time.Hour}, {"an autumn day", "2026-11-01T00:00:00", 90 * time.Minute}} {
		t.Run(c.day, func(t *testing.T) {
			y := begin(t, farm(t, one, dear), local(t, c.from))
			y.now = y.now.Add(-10 * time.Second)
			at9 := time.Duration(0)
			for range 6 * 360 {
				y.pass(0, seen(20, 12))
				if y.d.Prices.ElectricityPerKWh == 9 {
					at9 += 10 * time.Second
				}
			}
			if at9 != c.want {
				t.Errorf("dear for %v, want %v", at9, c.want)
			}
		})
	}
}

func TestStepOfNoTimePassesNoTime(t *testing.T) {
	for _, stepS := range []float64{nan(), -5, 0, 1e300, -1e300, 366*86400 + 1} {
		y := begin(t, farm(t, one, cheap), noon(t))
		y.pass(0, seen(20, 12))
		in := seen(20, 12)
		in.StepS = stepS
		_, st := decide.Step(y.s, y.st, in, y.now)
		if st.Stores[0].RunS != 0 || st.StaggerS != 10 {
			t.Errorf("a step of %v s: ran %v s, stagger %v s", stepS, st.Stores[0].RunS, st.StaggerS)
		}
	}
	y := begin(t, farm(t, one, cheap), noon(t))
	y.pass(0, seen(20, 12))
	in := seen(20, 12)
	in.StepS = 366 * 86400
	if _, st := decide.Step(y.s, y.st, in, y.now); st.Stores[0].RunS != in.StepS {
		t.Errorf("a step of a year: ran %v s", st.Stores[0].RunS)
	}
}

func TestLowestAirSinceSunset(t *testing.T) {
	y := begin(t, farm(t, one), local(t, "2026-01-20T15:00:00"))
	low := func(what string, c float64, at string) {
		t.Helper()
		if l := y.st.Low; !l.Known || float64(l.C) != c || at != "" && l.Unix != local(t, at).Unix() {
			t.Errorf("%s: %+v (%v), want %v at %v", what, l, time.Unix(l.Unix, 0).In(y.now.Location()), c, at)
		}
	}
	y.pass(time.Hour, seen(8, 12))
	low("in the afternoon", 8, "2026-01-20T15:00:10")
	y.pass(2*time.Hour, seen(9, 12)) // sunset was at 17:02
	low("after sunset what was before does not count", 9, "")
	y.pass(time.Hour, seen(5, 12))
	y.pass(12*time.Hour, seen(7, 12))
	low("the next morning", 5, "2026-01-20T18:00:10")
	cold := seen(7, 12)
	cold.CropLow.C = 2
	y.pass(0, cold)
	low("the lowest probe counts", 2, "")
	noAir(&cold)
	y.pass(0, cold)
	low("lost air does not", 2, "")
	y.now = local(t, "2026-01-21T17:10:00")
	y.pass(0, seen(6, 12))
	low("the next evening it begins again", 6, "2026-01-21T17:10:10")
	y.now = local(t, "2026-01-23T02:00:00")
	y.pass(0, seen(9, 12))
	low("a night later, after midnight, too", 9, "2026-01-23T02:00:10")
	y.now = local(t, "2026-01-24T12:00:00")
	y.pass(0, seen(11, 12))
	low("a day later, at noon, too", 11, "2026-01-24T12:00:10")
	y.now = local(t, "2026-01-25T12:00:00")
	y.pass(0, seen(12, 12))
	low("and another day later", 12, "2026-01-25T12:00:10")
}
