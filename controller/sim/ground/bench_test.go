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
		})
	}
}
