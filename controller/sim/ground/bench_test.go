package ground

import (
	"testing"

	"loambank/controller/physics"
)

func BenchmarkStep(b *testing.B) {
	p := bed()
	for _, c := range []struct {
		name string
		d    Drive
	}{
		{"resting", Drive{Air: 15, SurfaceWm2K: 5}},
		{"dry", p.flowing(3, 25, 0.004)},
		{"wet", p.flowing(3, 25, physics.HumidityRatio(25, 0.9, 101325))},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := newStore(b, p)
			s.Step(c.d, 300)
			for b.Loop() {
				s.Step(c.d, 300)
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds()/(365*288), "years/s")
		})
	}
}

func BenchmarkReducedYear(b *testing.B) {
	for _, c := range []struct {
		name     string
		segments int
		rest     bool
	}{{"1 stretch", 1, false}, {"3 stretches", 3, false}, {"6 stretches", 6, false}, {"3 stretches at rest", 3, true}} {
		b.Run(c.name, func(b *testing.B) {
			p := bed()
			p.Pipes.Segments = c.segments
			r, err := newStore(b, p).Reduce(300)
			if err != nil {
				b.Fatal(err)
			}
			var year []Drive
			for n := range 365 * 288 {
				d := season(&p, float64(n)/12)
				if c.rest {
					d.DryAirKgS = 0
				}
				year = append(year, d)
			}
			for b.Loop() {
				for _, d := range year {
					r.Step(d, 300)
				}
			}
			b.ReportMetric(float64(r.Modes()), "modes")
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "years/s")
		})
	}
}
