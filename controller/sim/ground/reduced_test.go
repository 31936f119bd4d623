package ground

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A year at 300 s through the full store and through the reduced one made from it.
func TestReducedStoreFollowsTheFullOneForAYear(t *testing.T) {
	p := bed()
	p.Pipes.Segments = 3
	full := newStore(t, p)
	spots := []Spot{
		{DepthM: 0.12, BesideM: 0.25, AlongM: 6},
		{DepthM: 0.5, BesideM: 0.25, AlongM: 1},
		{DepthM: 0.5, BesideM: 0.25, AlongM: 11},
		{DepthM: 1.2, BesideM: 0, AlongM: 6},
	}
	const dtS = 300
	few, err := full.Reduce(dtS, spots...)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d modes for %d nodes, bound %.2g K m/W", few.Modes(), len(full.soil.at), few.m.cut)
	var probes []Probe
	for _, spot := range spots {
		pr, err := full.Probe(spot)
		if err != nil {
			t.Fatal(err)
		}
		probes = append(probes, pr)
	}
	miss, worst := make([]misfit, len(spots)), make([]float64, len(spots))
	var outlet misfit
	var outletWorst float64
	var a, b Flux
	for n := range 365 * 86400 / dtS {
		in := season(&p, float64(n)*dtS/3600)
		x, y := full.Step(in, dtS), few.Step(in, dtS)
		for i, pr := range probes {
			off := float64(few.Read(i) - full.Read(pr))
			miss[i].add(off)
			worst[i] = max(worst[i], math.Abs(off))
		}
		if in.DryAirKgS > 0 {
			off := float64(y.Out.C - x.Out.C)
			outlet.add(off)
			outletWorst = max(outletWorst, math.Abs(off))
		}
		a.SensibleJ, b.SensibleJ = a.SensibleJ+math.Abs(x.SensibleJ), b.SensibleJ+math.Abs(y.SensibleJ)
		a.LatentJ, b.LatentJ = a.LatentJ+math.Abs(x.LatentJ), b.LatentJ+math.Abs(y.LatentJ)
		a.SurfaceJ, b.SurfaceJ = a.SurfaceJ+x.SurfaceJ, b.SurfaceJ+y.SurfaceJ
		a.EdgeJ, b.EdgeJ = a.EdgeJ+x.EdgeJ, b.EdgeJ+y.EdgeJ
		a.BaseJ, b.BaseJ = a.BaseJ+x.BaseJ, b.BaseJ+y.BaseJ
	}
	for i := range spots {
		t.Logf("%+v: RMSE %.4f K, worst %.3f K", spots[i], miss[i].rmse(), worst[i])
		if !(worst[i] <= 0.05) {
			t.Errorf("%+v is off by up to %.3f K, over 0.05", spots[i], worst[i])
		}
	}
	// At the first step of a run the full store's own step shows: 0.1 K.
	t.Logf("outlet: RMSE %.4f K, worst %.3f K", outlet.rmse(), outletWorst)
	if !(outlet.rmse() <= 0.02 && outletWorst <= 0.2) {
		t.Errorf("the outlet is off by %.3f K, %.3f at worst; over 0.02 and 0.2", outlet.rmse(), outletWorst)
	}
	for _, c := range []struct {
		name      string
		few, full float64
	}{
		{"sensible", b.SensibleJ, a.SensibleJ},
		{"latent", b.LatentJ, a.LatentJ},
		{"surface", b.SurfaceJ, a.SurfaceJ},
		{"edge", b.EdgeJ, a.EdgeJ},
		{"base", b.BaseJ, a.BaseJ},
		{"held", few.HeatJ() - full.HeatJ() + a.SensibleJ, a.SensibleJ},
	} {
		t.Logf("%s %+.3f %%", c.name, 100*(c.few/c.full-1))
		if !(math.Abs(c.few/c.full-1) <= 1e-3) {
			t.Errorf("%s heat of the year is off by %.3f %%, over 0.1", c.name, 100*(c.few/c.full-1))
		}
	}
}

// Other stores than bed, three days of warm damp air from the ground's own temperatures.
func TestReducedStoresOfOtherKindsFollow(t *testing.T) {
	cases := map[string]func(*Params){
		"one lonely wide pipe":         func(p *Params) { p.Pipes.Count, p.Pipes.SpacingM, p.Pipes.DiameterM = 1, 3, 0.2 },
		"narrow pipes, deep":           func(p *Params) { p.Pipes.SpacingM, p.Pipes.DiameterM, p.Pipes.DepthM = 0.25, 0.075, 1 },
		"no edge":                      func(p *Params) { p.Edge = Edge{} },
		"an insulated edge":            func(p *Params) { p.Edge.InsulationM2KW, p.Edge.InsulationDepthM = 2, 1 },
		"dry sand over clay":           func(p *Params) { p.Layers = []Layer{{0.3, 1.3e6, 0.3}, {1, 3e6, 1.6}} },
		"one stretch":                  func(p *Params) { p.Pipes.Segments = 1 },
		"everything drains":            func(p *Params) { p.Pipes.HoldsKgM = 0 },
		"a surface that hardly passes": func(p *Params) { p.SurfaceWm2K = 0.2 },
	}
	for name, change := range cases {
		t.Run(name, func(t *testing.T) {
			p := bed()
			change(&p)
			full := newStore(t, p)
			spots := []Spot{
				{DepthM: p.Pipes.DepthM, BesideM: p.Pipes.SpacingM / 2, AlongM: 1},
				{DepthM: p.Pipes.DepthM, BesideM: p.Pipes.DiameterM/2 + 0.02, AlongM: 1},
			}
			const dtS = 600
			few, err := full.Reduce(dtS, spots...)
			if err != nil {
				t.Fatal(err)
			}
			d := p.flowing(2, 28, 0.016)
			var a, b [4]float64
			for range 3 * 86400 / dtS {
				for to, f := range map[*[4]float64]Flux{&a: full.Step(d, dtS), &b: few.Step(d, dtS)} {
					for i, j := range []float64{f.AirJ(), f.SurfaceJ, f.EdgeJ, f.BaseJ} {
						to[i] += j
					}
				}
			}
			for i, spot := range spots {
				pr, err := full.Probe(spot)
				if err != nil {
					t.Fatal(err)
				}
				off := float64(few.Read(i) - full.Read(pr))
				t.Logf("%d modes, %+v: %+.4f K", few.Modes(), spot, off)
				if !(math.Abs(off) <= 0.05) {
					t.Errorf("%+v is off by %.3f K, over 0.05", spot, off)
				}
			}
			for i, name := range []string{"air", "surface", "edge", "base"} {
				if off := math.Abs(b[i] - a[i]); !(off <= 0.012*math.Abs(a[i])+0.0005*math.Abs(a[0])) {
					t.Errorf("heat of the %s is %g J, want %g", name, b[i], a[i])
				}
			}
		})
	}
}

func TestReducedStateGoesOn(t *testing.T) {
	p := bed()
	s := newStore(t, p)
	spot := Spot{DepthM: 0.3, BesideM: 0.1, AlongM: 5}
	a, errA := s.Reduce(600, spot)
	b, errB := s.Reduce(600, spot)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	const first = 192 // of the steps from which on another look at the ground holds
	for n := range first {
		a.Step(season(&p, float64(n)/6), 600)
	}
	b.Step(season(&p, float64(first+1)/6), 600) // it has looked already
	text, err := json.Marshal(a.State())
	if err != nil {
		t.Fatal(err)
	}
	var st ReducedState
	if err := json.Unmarshal(text, &st); err != nil {
		t.Fatal(err)
	}
	if err := b.Restore(st); err != nil {
		t.Fatal(err)
	}
	if a.Read(0) != b.Read(0) || a.HeatJ() != b.HeatJ() || a.FilmKg() != b.FilmKg() {
		t.Errorf("restored %v, %v J, %v kg; kept %v, %v, %v", b.Read(0), b.HeatJ(), b.FilmKg(), a.Read(0), a.HeatJ(), a.FilmKg())
	}
	for n := first; n < first+60; n++ {
		if diff := cmp.Diff(a.Step(season(&p, float64(n)/6), 600), b.Step(season(&p, float64(n)/6), 600)); diff != "" {
			t.Fatalf("step %d (-kept +restored):\n%s", n, diff)
		}
	}
	p.Pipes.Segments = 2
	if c, err := newStore(t, p).Reduce(600, spot); err != nil || c.Restore(st) == nil {
		t.Errorf("a store of 2 segments took the state of one of 6 (%v)", err)
	}
}

// A store of a single stretch, too, forgets at rest what the air left while it blew.
func TestAStoreOfOneStretchRests(t *testing.T) {
	p := bed()
	p.Pipes.Segments = 1
	full := newStore(t, p)
	spot := Spot{DepthM: p.Pipes.DepthM, BesideM: p.Pipes.DiameterM/2 + 0.01, AlongM: 6}
	few, err := full.Reduce(300, spot)
	if err != nil {
		t.Fatal(err)
	}
	probe, err := full.Probe(spot)
	if err != nil {
		t.Fatal(err)
	}
	d := p.flowing(3, 35, 0.01)
	for n := range 24 {
		if n == 12 {
			d.DryAirKgS = 0
		}
		full.Step(d, 300)
		few.Step(d, 300)
		if blown := few.State().Blown; blown != (n < 12) {
			t.Errorf("step %d: blown %v", n, blown)
		}
		if off := few.Read(0) - full.Read(probe); math.Abs(float64(off)) > 0.2 { // the full store's own step shows
			t.Errorf("step %d: beside the pipe it reads %.3f K off", n, off)
		}
	}
}

func TestReduceRefuses(t *testing.T) {
	s := newStore(t, bed())
	for _, c := range []struct {
		dtS  float64
		spot Spot
	}{{0, Spot{}}, {-1, Spot{}}, {1e6, Spot{}}, {300, Spot{DepthM: 99}}} {
		if _, err := s.Reduce(c.dtS, c.spot); err == nil {
			t.Errorf("a step of %g s and a spot at %+v were taken", c.dtS, c.spot)
		}
	}
}

func TestReducedStoreTakesLongerSteps(t *testing.T) {
	p := bed()
	s := newStore(t, p)
	spot := Spot{DepthM: 0.5, BesideM: 0.25, AlongM: 1}
	short, err := s.Reduce(300, spot)
	if err != nil {
		t.Fatal(err)
	}
	long, err := s.Reduce(300, spot)
	if err != nil {
		t.Fatal(err)
	}
	d := p.flowing(2, 25, 0.004)
	var a, b float64
	for range 3 * 24 {
		for range 12 {
			a += short.Step(d, 300).AirJ()
		}
		b += long.Step(d, 3600).AirJ()
	}
	off := float64(long.Read(0) - short.Read(0))
	t.Logf("steps of an hour: %+.4f K, heat %+.3f %%", off, 100*(b/a-1))
	if !(math.Abs(off) <= 0.02 && math.Abs(b/a-1) <= 0.003) {
		t.Errorf("steps of an hour are off by %.3f K and %.2f %% of the heat, over 0.02 and 0.3", off, 100*(b/a-1))
	}
	held := long.HeatJ()
	if f := long.Step(d, 0); f.StoredJ != 0 || long.HeatJ() != held {
		t.Errorf("no time moved the store: %+v", f)
	}
}
