package judge

import (
	"math"
	"testing"
)

// probe is one probe with its memory, ticked by the tests.
type probe struct {
	s  Settings
	st State
}

func (p *probe) say(v, stepS float64) Verdict {
	return Probe(&p.s, &p.st, Raw{Value: v, OK: true}, stepS)
}

func (p *probe) silent(stepS float64) Verdict {
	return Probe(&p.s, &p.st, Raw{Value: 99}, stepS)
}

func expect(t *testing.T, when string, v Verdict, q Quality, c Cause, value float64) {
	t.Helper()
	if v.Quality != q || v.Cause != c || v.Value != value {
		t.Fatalf("%s: %v (%v) at %g, want %v (%v) at %g", when, v.Quality, v.Cause, v.Value, q, c, value)
	}
}

func newProbe(r Role, p Place, depthM float64) *probe {
	return &probe{s: Defaults(r, p, depthM)}
}

func TestFirstReadingIsGoodAtOnce(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	expect(t, "before any", p.silent(10), Bad, Missing, 0)
	expect(t, "a day later", p.silent(86400), Bad, Missing, 0)
	expect(t, "first", p.say(-11.5, 10), Good, Fine, -11.5)
}

func TestErrorValues(t *testing.T) {
	for name, c := range map[string]struct {
		role  Role
		value float64
		cause Cause
	}{
		"85 °C is an air probe that has not measured yet": {Air, 85, ErrorValue},     // sensors-S015
		"85 °C is a soil probe that has not measured yet": {Soil, 85, ErrorValue},    // sensors-S015
		"85 °C is a duct probe that has not measured yet": {DuctOut, 85, ErrorValue}, // sensors-S015
		"−127 °C is a probe that is gone":                 {Outside, -127, ErrorValue},
		"85 W is a small fan":                             {FanPower, 85, Fine},
		"NaN is no number":                                {Air, math.NaN(), NotANumber},
		"infinity is no number":                           {Humidity, math.Inf(1), NotANumber},
		"minus infinity is no number":                     {Soil, math.Inf(-1), NotANumber},
		"71 °C is no air that crops stand in":             {Air, 71, OutOfRange},
		"−51 °C is no air under plastic":                  {Air, -51, OutOfRange},
		"61 °C is no soil":                                {Soil, 61, OutOfRange},
		"a share over 1 is no humidity":                   {Humidity, 1.01, OutOfRange},
		"a percentage is no share":                        {Humidity, 55, OutOfRange},
		"half a contact is an error":                      {Smoke, 0.5, ErrorValue},
		"CO₂ of 0 is a probe that has not measured":       {CO2, 0, OutOfRange},
		"negative light is an error":                      {Light, -1, OutOfRange},
		"0.0 °C is honest":                                {Air, 0, Fine},
		"84 °C leaves a long duct probe's range":          {DuctIn, 84, OutOfRange},
		"the end of the range belongs to it":              {Air, 70, Fine},
		"the start of the range belongs to it":            {Air, -50, Fine},
	} {
		t.Run(name, func(t *testing.T) {
			p := newProbe(c.role, NoPlace, 0)
			v := p.say(c.value, 10)
			if c.cause == Fine {
				expect(t, "alone", v, Good, Fine, c.value)
				return
			}
			expect(t, "alone", v, Bad, c.cause, 0)
		})
	}
}

func TestPowerOnValueOfABoardThatStarts(t *testing.T) {
	p := newProbe(Soil, Between, 0.45)
	expect(t, "power-on", p.say(85, 10), Bad, ErrorValue, 0)
	expect(t, "first", p.say(14.5, 10), Doubtful, Recovering, 14.5)
	expect(t, "second", p.say(14.5625, 10), Doubtful, Recovering, 14.5625)
	expect(t, "third", p.say(14.5, 10), Good, Fine, 14.5)
}

func TestErrorValueAmongGoodOnesKeepsTheLastGood(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(6, 10)
	expect(t, "power dip", p.say(85, 10), Bad, ErrorValue, 6)
	if v := p.say(math.NaN(), 10); v.AgeS != 20 || v.Cause != NotANumber {
		t.Errorf("after 20 s: %+v", v)
	}
	p.say(6.1, 10)
	p.say(6.1, 10)
	expect(t, "again in between", p.say(-127, 10), Bad, ErrorValue, 6.1)
	expect(t, "counts anew 1", p.say(6.2, 10), Doubtful, Recovering, 6.2)
	expect(t, "counts anew 2", p.say(6.2, 10), Doubtful, Recovering, 6.2)
	expect(t, "counts anew 3", p.say(6.2, 10), Good, Fine, 6.2)
}

func TestRecoveringAsksThatReadingsAgree(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(6, 10)
	p.say(85, 10)
	for i, v := range []float64{10, 30, 10, 30, 10, 30} {
		if got := p.say(v, 10); got.Quality != Doubtful || got.Cause != Recovering {
			t.Fatalf("reading %d of a loose wire: %+v", i, got)
		}
	}
	p.say(30.5, 10)
	expect(t, "settled", p.say(31, 10), Good, Fine, 31)
}

func TestSilence(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(6, 10)
	for range 30 {
		v := p.silent(10)
		expect(t, "within five minutes", v, Good, Fine, 6)
	}
	v := p.silent(10)
	expect(t, "after five minutes", v, Bad, Stale, 6)
	if v.AgeS != 310 {
		t.Errorf("age is %g s, want 310", v.AgeS)
	}
	expect(t, "back", p.say(4, 10), Doubtful, Recovering, 4)
	expect(t, "a missed tick", p.silent(10), Doubtful, Recovering, 4)
	p.say(4, 10)
	expect(t, "back for good", p.say(4, 10), Good, Fine, 4)
}

func TestSilenceAfterAnErrorBecomesStale(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(85, 10)
	expect(t, "at first", p.silent(10), Bad, ErrorValue, 0)
	expect(t, "later", p.silent(300), Bad, Stale, 0)
}

func TestALongStepThatEndsInAReadingIsNoSilence(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(6, 900)
	expect(t, "a quarter of an hour on", p.say(7, 900), Good, Fine, 7)
	expect(t, "an hour on", p.say(5, 3600), Good, Fine, 5)
}

func TestNeverStaleWithoutALimit(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.s.StaleS = 0
	p.say(6, 10)
	expect(t, "a year on", p.silent(365*86400), Good, Fine, 6)
}

func TestContacts(t *testing.T) {
	p := newProbe(Smoke, NoPlace, 0)
	expect(t, "all well", p.say(0, 2), Good, Fine, 0)
	expect(t, "smoke", p.say(1, 2), Good, Fine, 1)
	for range 30 {
		expect(t, "silent", p.silent(2), Good, Fine, 1)
	}
	expect(t, "lost", p.silent(2), Bad, Stale, 1)
	expect(t, "heard again, and believed at once", p.say(1, 2), Good, Fine, 1)
	for range 3000 {
		expect(t, "the same for days", p.say(1, 600), Good, Fine, 1)
	}
}

func TestTenIdenticalJanuaryDaysAtThreeFeet(t *testing.T) {
	p := newProbe(Soil, Undisturbed, 0.9144)
	for range 10 * 8640 {
		expect(t, "still", p.say(7.5, 10), Good, Fine, 7.5)
	}
}

func TestADeepProbeThatNeverMovesIsDoubtedInTheEnd(t *testing.T) {
	p := newProbe(Soil, Between, 0)
	p.say(7.5, 600)
	for range 21 * 144 {
		expect(t, "three weeks", p.say(7.5, 600), Good, Fine, 7.5)
	}
	expect(t, "longer", p.say(7.5, 600), Doubtful, Stuck, 7.5)
	expect(t, "one count", p.say(7.5625, 600), Good, Fine, 7.5625)
}

func TestARootProbeIsDoubtedAfterThreeDays(t *testing.T) {
	for _, p := range []*probe{newProbe(Soil, Root, 0), newProbe(Soil, Between, 0.29), newProbe(Soil, NoPlace, 0)} {
		p.say(9, 600)
		for range 3 * 144 {
			expect(t, "three days", p.say(9, 600), Good, Fine, 9)
		}
		expect(t, "longer", p.say(9, 600), Doubtful, Stuck, 9)
	}
	p := newProbe(Soil, Root, 0.3)
	for range 4 * 144 {
		expect(t, "a foot deep", p.say(9, 600), Good, Fine, 9)
	}
}

func TestEightHoursAtExactlyZeroUnderMeltingSnow(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(0.5, 10)
	for range 8 * 360 {
		if v := p.say(0, 10); !v.Quality.Usable() || v.Value != 0 {
			t.Fatalf("ice water is refused: %+v", v)
		}
	}
	expect(t, "thaw", p.say(0.3, 10), Good, Fine, 0.3)
}

func TestAStuckAirProbeIsDoubtfulAfterSixHours(t *testing.T) {
	p := newProbe(Air, Intake, 0)
	p.say(12, 10)
	for i := range 6 * 360 {
		// It flickers by a count of a DS18B20, which is no movement.
		expect(t, "six hours", p.say(12+float64(i%2)/16, 10), Good, Fine, 12+float64(i%2)/16)
	}
	expect(t, "longer", p.say(12, 10), Doubtful, Stuck, 12)
	expect(t, "two counts", p.say(12.125, 10), Good, Fine, 12.125)
}

func TestTimeWithoutReadingsIsNotStandingStill(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(12, 10)
	for range 7 * 360 {
		p.silent(10)
	}
	p.say(12, 10)
	p.say(12, 10)
	expect(t, "plugged back at the same air", p.say(12, 10), Good, Fine, 12)
}

func TestHumidityPinnedAllNight(t *testing.T) {
	p := newProbe(Humidity, Crop, 0)
	expect(t, "evening", p.say(0.93, 10), Good, Fine, 0.93)
	for range 14 * 360 {
		expect(t, "night", p.say(1, 10), Doubtful, Pinned, 1)
	}
	expect(t, "99.5 %", p.say(0.995, 10), Doubtful, Pinned, 0.995)
	expect(t, "morning", p.say(0.98, 10), Good, Fine, 0.98)
	expect(t, "dead dry", p.say(0.7, 10), Good, Fine, 0.7)
	for range 4 {
		p.say(0.005, 900)
	}
	expect(t, "nothing is that dry", p.say(0.005, 900), Doubtful, Pinned, 0.005)
}

func TestIrrigationOfShallowSoil(t *testing.T) {
	p := newProbe(Soil, Root, 0.12)
	p.say(18, 10)
	expect(t, "before", p.say(18, 10), Good, Fine, 18)
	expect(t, "water", p.say(15, 10), Doubtful, Jump, 18)
	expect(t, "water stays", p.say(14.9, 10), Doubtful, Jump, 18)
	expect(t, "believed", p.say(14.9, 10), Good, Fine, 14.9)
}

func TestAJumpThatGoesBackIsForgotten(t *testing.T) {
	p := newProbe(Soil, Root, 0.12)
	p.say(18, 10)
	for range 20 {
		expect(t, "spike", p.say(35, 10), Doubtful, Jump, 18)
		v := p.say(18, 10)
		expect(t, "back", v, Good, Fine, 18)
		if v.AgeS != 0 {
			t.Fatalf("age is %g s", v.AgeS)
		}
	}
	p.say(35, 10)
	p.say(18, 10)
	expect(t, "the count starts anew", p.say(35, 10), Doubtful, Jump, 18)
	expect(t, "second", p.say(35, 10), Doubtful, Jump, 18)
}

func TestAJumpInASlowRecordingIsBelievedAtItsSecondReading(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(10, 900)
	expect(t, "first", p.say(39, 900), Doubtful, Jump, 10)
	expect(t, "second", p.say(41, 900), Good, Fine, 41)
	p = newProbe(Air, Crop, 0)
	p.say(10, 300)
	expect(t, "first", p.say(30, 300), Doubtful, Jump, 10)
	expect(t, "five minutes on", p.say(30, 300), Good, Fine, 30)
	p = newProbe(Air, Crop, 0)
	p.say(10, 290)
	p.say(30, 290)
	expect(t, "not yet", p.say(30, 290), Doubtful, Jump, 10)
	expect(t, "third", p.say(30, 290), Good, Fine, 30)
}

func TestJumpLimitsGrowWithTheTimeBetween(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(10, 10)
	expect(t, "6 K in 10 s", p.say(16, 10), Doubtful, Jump, 10)
	p = newProbe(Air, Crop, 0)
	p.say(10, 900)
	expect(t, "12 K in a quarter of an hour", p.say(22, 900), Good, Fine, 22)
	p = newProbe(Air, Crop, 0)
	p.say(10, 10)
	for range 25 {
		p.silent(10)
	}
	expect(t, "7 K over a gap", p.say(17, 10), Good, Fine, 17)
}

func TestAStepOfJustTheBandIsNoJump(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(10, 10)
	expect(t, "5 K in no time", p.say(15, 0), Good, Fine, 15)
	expect(t, "a jump", p.say(25, 0), Doubtful, Jump, 15)
	expect(t, "5 K on", p.say(30, 0), Doubtful, Jump, 15)
	expect(t, "and settled", p.say(35, 0), Good, Fine, 35)
}

func TestAFanThatStartsIsNoJump(t *testing.T) {
	p := newProbe(FanPower, NoPlace, 0)
	p.say(0, 10)
	expect(t, "started", p.say(600, 10), Good, Fine, 600)
}

func TestALooseWireThatNeverSettlesIsBad(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(10, 10)
	var v Verdict
	for i := range 32 {
		v = p.say([]float64{30, 45, 60}[i%3], 10)
	}
	expect(t, "five minutes of noise", v, Bad, Jump, 10)
	if v.AgeS != 320 {
		t.Errorf("age is %g s, want 320", v.AgeS)
	}
	p = newProbe(Air, Crop, 0)
	p.s.StaleS = 0
	p.say(10, 10)
	for i := range 99 {
		v = p.say([]float64{30, 45, 60}[i%3], 10)
	}
	expect(t, "without a limit", v, Doubtful, Jump, 10)
}

func TestAFewJumpsAreNotALooseWire(t *testing.T) {
	p := newProbe(Soil, Root, 0.12)
	p.s.StaleS = 30
	p.say(18, 10)
	for i := range 6 {
		expect(t, "sun and shade", p.say([]float64{25, 32}[i%2], 10), Doubtful, Jump, 18)
	}
	expect(t, "once more", p.say(25, 10), Bad, Jump, 18)
}

func TestNoTimeAtAllAndTimeBackwards(t *testing.T) {
	p := newProbe(Air, Crop, 0)
	p.say(10, 10)
	for _, step := range []float64{0, -3600, math.NaN(), math.Inf(-1)} {
		if v := p.silent(step); v.AgeS != 0 || v.Quality != Good {
			t.Errorf("step %g: %+v", step, v)
		}
	}
	if v := p.silent(math.Inf(1)); v.Cause != Stale || math.IsInf(v.AgeS, 0) {
		t.Errorf("endless step: %+v", v)
	}
}

func TestHowLongEachRoleMayBeSilent(t *testing.T) {
	for role, minutes := range map[Role]float64{
		Air: 5, Humidity: 5, Soil: 30, DuctOut: 5, Outside: 30, FanPower: 5, Smoke: 1, Radon: 360,
		CO2: 30, Light: 5,
	} {
		p := newProbe(role, NoPlace, 0)
		p.say(1, 10)
		if v := p.silent(minutes * 60); v.Quality == Bad {
			t.Errorf("%v is lost within %g minutes", role, minutes)
		}
		if v := p.silent(1); v.Cause != Stale {
			t.Errorf("%v is still %v after %g minutes", role, v.Quality, minutes)
		}
	}
}

func TestAHumidityStepThatNoVentMakesIsDoubtful(t *testing.T) {
	p := newProbe(Humidity, Crop, 0)
	p.say(0.9, 10)
	expect(t, "a vent opens", p.say(0.55, 10), Good, Fine, 0.55)
	expect(t, "a wire breaks", p.say(0.05, 10), Doubtful, Jump, 0.55)
}

func TestDefaultsOfEveryRole(t *testing.T) {
	for r := Air; r <= Light; r++ {
		s := Defaults(r, NoPlace, 0)
		if s.Role != r || !(s.Min < s.Max) || !(s.StaleS > 0) || s.Recover < 1 {
			t.Errorf("%v: %+v", r, s)
		}
		if r.Contact() != (s.Recover == 1) {
			t.Errorf("%v recovers after %d", r, s.Recover)
		}
	}
}
