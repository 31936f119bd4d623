package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// BenchmarkStep is one tick of a house with two stores in each steady state.
func BenchmarkStep(b *testing.B) {
	damp := seen(18, 12)
	damp.Humidity = decide.Fraction{V: 0.85, Quality: judge.Good}
	for _, c := range []struct {
		name string
		in   decide.Inputs
		now  time.Time
	}{
		{"rest", seen(14, 12), noon(b)},
		{"charge", damp, noon(b)},
		{"discharge", seen(3.6, 12), night(b)},
		{"frost", seen(1, 12), night(b)},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := farm(b)
			y := begin(b, s, c.now)
			y.pass(20*time.Minute, c.in)
			st, now := y.st, y.now
			b.ReportAllocs()
			for b.Loop() {
				now = now.Add(time.Millisecond)
				_, st = decide.Step(s, st, c.in, now)
			}
		})
	}
}
