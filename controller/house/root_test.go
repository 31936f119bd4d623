package house_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// A root probe that is pulled out on a hot day must not lift the cap, nor one in cold soil the
// floor: the last reading holds, on its worse side, for two days.
func TestLostRootSoilKeepsItsCapAndFloor(t *testing.T) {
	s := farm(t)
	h := house.New(s, house.State{})
	now := noon(t)
	tick := func(stepS float64, r readings) decide.StoreInputs {
		now = now.Add(time.Duration(stepS) * time.Second)
		return h.Tick(house.Seen{StepS: stepS, Believed: true, Raw: r.raw(s)}, now).Inputs.Stores[0]
	}
	hot := func() readings { return calm().but("beds root a", 30).but("beds root b", 9) }
	lost := func() readings { return hot().without("beds root a", "beds root b") }
	if in := tick(10, hot()); in.RootMax != good(30) || in.RootMin != good(9) {
		t.Fatalf("read, the roots are %+v and %+v", in.RootMax, in.RootMin)
	}
	tick(10, hot().but("beds root a", -127).but("beds root b", -127))
	in := tick(10, lost())
	if in.RootMax.Quality != judge.Doubtful || in.RootMax.C < 30 || in.RootMin.C > 9 {
		t.Errorf("after the probes said −127 the roots are %+v and %+v, want 30 and 9 held", in.RootMax, in.RootMin)
	}
	for range 24 {
		in = tick(3600, lost())
	}
	if up, down := float64(in.RootMax.C)-30, 9-float64(in.RootMin.C); math.Abs(up-0.48) > 0.01 || math.Abs(down-0.48) > 0.01 {
		t.Errorf("a day later they have moved by %.3f and %.3f K to their worse sides, want 0.48", up, down)
	}
	for range 24 {
		in = tick(3600, lost())
	}
	if in.RootMax.Quality != judge.Bad || in.RootMin.Quality != judge.Bad {
		t.Errorf("two days later they are still %+v and %+v", in.RootMax, in.RootMin)
	}
}
