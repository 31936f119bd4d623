package physics_test

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// NOCT and the rating are definitions; PerK and losses those of PVWatts 5. Monthly yields are checked
// against money_and_pv where arrays are sized.
func TestAPhotovoltaicModule(t *testing.T) {
	p := physics.UsualPhotovoltaic()
	for _, c := range []struct {
		name     string
		air      unit.Celsius
		planeWm2 float64
		cell     unit.Celsius
		yield    float64
	}{
		{"at NOCT's conditions", 20, 800, 47, 0.8 * (1 - 0.0047*22) * 0.86 * 0.96},
		{"at its rating, but for losses", 25 - 33.75, 1000, 25, 0.86 * 0.96},
		{"in the cold it gains", -10, 500, 6.875, 0.5 * (1 + 0.0047*18.125) * 0.86 * 0.96},
		{"by night", -10, 0, -10, 0},
		{"under a light that is none", -10, -3, -10, 0},
	} {
		if got := p.CellC(c.air, c.planeWm2); math.Abs(float64(got-c.cell)) > 1e-9 {
			t.Errorf("%s: the cell is at %v, want %v", c.name, got, c.cell)
		}
		if got := p.Yield(c.air, c.planeWm2); math.Abs(got-c.yield) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, got, c.yield)
		}
	}
}
