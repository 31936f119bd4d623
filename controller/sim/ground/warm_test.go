package ground

import (
	"math"
	"testing"
)

// TestHeatPutInLeavesAgain follows a reduced store beside its twin that was warmed once: it holds that
// much more, is warmer at the pipes first and elsewhere later, and in years gives all of it back through
// surface, edge and base.
func TestHeatPutInLeavesAgain(t *testing.T) {
	p := bed()
	const dtS = 3600
	twins := [2]*Reduced{}
	for i := range twins {
		few, err := newStore(t, p).Reduce(dtS, Spot{DepthM: p.Pipes.DepthM, BesideM: p.Pipes.SpacingM / 2, AlongM: p.Pipes.LengthM / 2})
		if err != nil {
			t.Fatal(err)
		}
		twins[i] = few
	}
	plain, warm := twins[0], twins[1]
	const heatJ = 100 * 3.6e6
	warm.Warm(heatJ)
	if more := warm.HeatJ() - plain.HeatJ(); math.Abs(more-heatJ) > 1e-9*heatJ {
		t.Fatalf("it holds %g J more, want %g", more, float64(heatJ))
	}
	var leftJ, most, at float64
	for n := range 4 * 365 * 24 {
		in := Drive{Air: p.Ground.At(0, float64(n)/24), Day: float64(n) / 24}
		a, b := plain.Step(in, dtS), warm.Step(in, dtS)
		leftJ += a.SurfaceJ + a.EdgeJ + a.BaseJ - b.SurfaceJ - b.EdgeJ - b.BaseJ
		if over := float64(warm.Read(0) - plain.Read(0)); over > most {
			most, at = over, float64(n)/24
		}
	}
	if math.Abs(leftJ-heatJ) > 0.01*heatJ {
		t.Errorf("of %g J %g left", float64(heatJ), leftJ)
	}
	// Between the pipes it is warmest when heat has come that far: l²/(6 α) to l²/(2 α) after a line
	// source, and never by more than all of it in the soil between pipes and their depth.
	l := p.Pipes.SpacingM / 2
	alpha := p.Layers[0].ConductWmK / p.Layers[0].CapacityJm3K
	if days := l * l / alpha / 86400; at < days/8 || at > days {
		t.Errorf("it is warmest between the pipes after %.2f days, a length of diffusion takes %.2f", at, days)
	}
	if mean := heatJ / p.FloorM2() / p.Pipes.DepthM / p.Layers[0].CapacityJm3K; most <= 0 || most > mean {
		t.Errorf("between the pipes it is warmer by up to %.3f K, spread to twice their depth by %.3f", most, mean/2)
	}
}
