package controller

import (
	"testing"
	"testing/synctest"
	"time"

	"loambank/config/unit"
	"loambank/controller/learn"
)

func TestNextNoon(t *testing.T) {
	for _, c := range []struct{ now, want string }{
		{"2026-01-20 05:00", "2026-01-20 12:00"},
		{"2026-01-20 11:59", "2026-01-20 12:00"},
		{"2026-01-20 12:00", "2026-01-21 12:00"},
		{"2026-01-31 23:00", "2026-02-01 12:00"},
		{"2026-12-31 20:00", "2027-01-01 12:00"},
	} {
		const form = "2006-01-02 15:04"
		now, err := time.Parse(form, c.now)
		must(t, err)
		if got := nextNoon(now).Format(form); got != c.want {
			t.Errorf("after %s: %s, want %s", c.now, got, c.want)
		}
	}
}

// TestATypedLowHoldsUntilNoon: it counts over what is stated of the climate, through a restart and a
// reload, and not after noon.
func TestATypedLowHoldsUntilNoon(t *testing.T) {
	g := stake(t, "5 min", "lower")
	g.keep()
	g.s = g.edit(`elevation = "150 m"`, `elevation = "150 m", cold_night = "-20 °C"`)
	synctest.Test(t, func(t *testing.T) {
		const speed = 600
		g.clock = Scaled(speed, from) // in the night
		f := g.run(t, nil)
		hours := func(h float64) { pass(time.Duration(h * float64(time.Hour) / speed)) }
		hours(0.2)
		told := func(when string, want unit.Celsius, origin learn.Origin) {
			t.Helper()
			if low := f.View().Houses[0].Tonight.Low; low.Temp.C != want || low.Origin != origin {
				t.Errorf("%s: %+v, want %v %v", when, low, want, origin)
			}
		}
		told("before", -20, learn.Climate)
		must(t, f.ExpectLow("lower", -8.5, grower))
		hours(0.2)
		told("typed", -8.5, learn.Typed)
		if f.ExpectLow("upper", -8, grower) == nil {
			t.Error("there is no upper house")
		}
		must(t, f.Reload(g.s))
		hours(0.2)
		told("after a reload", -8.5, learn.Typed)
		must(t, f.end())
		f = g.run(t, nil)
		hours(0.2)
		told("after a restart", -8.5, learn.Typed)
		hours(24)
		if low := f.View().Houses[0].Tonight.Low; low.Origin == learn.Typed {
			t.Errorf("a day later it still holds: %+v", low)
		}
		must(t, f.end())
	})
}
