package ground

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Soil whose surface follows the annual wave follows it at every depth: the rows of ground_wave for
// undisturbed ground, down to 3 m.
func TestSoilUnderItsOwnWaveKeepsToIt(t *testing.T) {
	checked := 0
	for _, r := range sorted(table(t, "ground_wave.csv")) {
		if !strings.HasPrefix(r.quantity, "undisturbed") || r.in["z_m"] > 3 {
			continue
		}
		checked++
		alpha := r.in["alpha_mm2_s"]
		p := lonely(0.008, 2, 0.5, 2.4*alpha, alpha)
		p.DepthM, p.Edge = 4, Edge{ReachM: 0.5}
		p.Ground = physics.GroundWave{
			Mean: unit.Celsius(r.in["Tmean_C"]), Amplitude: unit.Kelvin(r.in["amp_K"]),
			ColdestDay: r.in["d0"], DiffusivityM2s: alpha * 1e-6,
		}
		s := newStore(t, p)
		until := 365 + r.in["day"]
		const dtS = 21600
		for day := dtS / 86400.0; day <= until; day += dtS / 86400.0 {
			s.Step(Drive{Day: day, Air: p.Ground.At(0, day), SurfaceWm2K: held}, dtS)
		}
		got := s.depth(t, r.in["z_m"])
		if off := got - r.want(t); !(math.Abs(off) <= 0.06) {
			t.Errorf("%s: %.3f °C at %v, want %.3f ± 0.06", r.id, got, r.in, r.want(t))
		}
	}
	if checked != 9 {
		t.Errorf("%d rows were checked, want 9", checked)
	}
}

func TestSplitWaveIsTheWave(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := physics.GroundWave{
			Mean: unit.Celsius(rapid.Float64Range(-5, 25).Draw(t, "mean")), Amplitude: unit.Kelvin(rapid.Float64Range(0, 20).Draw(t, "amplitude")),
			ColdestDay: rapid.Float64Range(0, 365).Draw(t, "coldest"), DiffusivityM2s: rapid.Float64Range(0, 1e-6).Draw(t, "diffusivity"),
		}
		z, day := rapid.Float64Range(0, 10).Draw(t, "depth"), rapid.Float64Range(-400, 800).Draw(t, "day")
		in, back := swing(&w, day)
		a, b := shares(&w, z)
		if off := float64(w.Mean) + in*a + back*b - float64(w.At(z, day)); !(math.Abs(off) < 1e-9) {
			t.Fatalf("off by %g K", off)
		}
	})
}

// winter lets a warm store lie in cold ground for a month, and returns what left through the edge.
func winter(t *testing.T, edge Edge, count int) (edgeJ float64) {
	t.Helper()
	p := bed()
	p.Edge, p.Pipes.Count, p.Ground = edge, count, physics.GroundWave{Mean: 5}
	s := newStore(t, p)
	s.Fill(level(18))
	for range 30 * 24 {
		edgeJ -= s.Step(Drive{Air: 18, SurfaceWm2K: 5}, 3600).EdgeJ
	}
	return edgeJ
}

func TestEdgeLoses(t *testing.T) {
	const pipes = 12
	none := winter(t, Edge{}, pipes)
	open := winter(t, Edge{ReachM: 1.5}, pipes)
	near := winter(t, Edge{ReachM: 0.5}, pipes)
	shallow := winter(t, Edge{ReachM: 1.5, InsulationM2KW: 2, InsulationDepthM: 0.6}, pipes)
	deep := winter(t, Edge{ReachM: 1.5, InsulationM2KW: 2, InsulationDepthM: 1.2}, pipes)
	t.Logf("kWh a month: open %.0f, near %.0f, insulated to 0.6 m %.0f, to 1.2 m %.0f", open/3.6e6, near/3.6e6, shallow/3.6e6, deep/3.6e6)
	if none != 0 {
		t.Errorf("a closed edge loses %g J", none)
	}
	if !(near > open && open > shallow && shallow > deep && deep > 0) {
		t.Errorf("edge losses %g, %g, %g, %g J: want near > open > shallow > deep board > 0", near, open, shallow, deep)
	}
	// At the start, all at 18 °C: both sides and both ends, 4 m deep, through 1.5 m of soil at
	// k = 1.4. Ends have the middle of the first stretch, 1 m, before them.
	p := bed()
	p.Ground = physics.GroundWave{Mean: 5}
	s := newStore(t, p)
	s.Fill(level(18))
	got := -s.Step(Drive{Air: 18, SurfaceWm2K: 5}, 1).EdgeJ
	wantW := 1.4 * 13 * (2*12*4/1.5 + 2*(6*4-12*math.Pi/4*0.01)/2.5)
	if !(math.Abs(got/wantW-1) < 1e-3) {
		t.Errorf("a new store loses %.1f W at its edge, want %.1f", got, wantW)
	}
	// The edge belongs to the store, so more pipes in it share the same sides.
	if ratio := winter(t, Edge{ReachM: 1.5}, 2*pipes) / open; !(ratio > 1 && ratio < 1.6) {
		t.Errorf("twice the pipes lose %.2f times at the edge, want the same sides and longer ends", ratio)
	}
}

func TestProbeReadsBetweenNodes(t *testing.T) {
	p := bed()
	s := newStore(t, p)
	s.Fill(func(z float64) unit.Celsius { return unit.Celsius(20 - 3*z) })
	s.soil.tempC[s.soil.wall*p.Pipes.Segments+2] = 55
	rapid.Check(t, func(t *rapid.T) {
		at := Spot{
			DepthM: rapid.Float64Range(0, 4).Draw(t, "depth"), BesideM: rapid.Float64Range(-0.25, 0.25).Draw(t, "beside"),
			AlongM: rapid.Float64Range(0, 12).Draw(t, "along"),
		}
		pr, err := s.Probe(at)
		if err != nil {
			t.Fatal(err)
		}
		if want := min(5, int(at.AlongM/2)); pr.stretch != want && math.Mod(at.AlongM, 2) > 1e-9 {
			t.Fatalf("%+v is in stretch %d, want %d", at, pr.stretch, want)
		}
		if math.Hypot(at.BesideM, at.DepthM-0.5) < 0.07 {
			return
		}
		if off := float64(s.Read(pr)) - (20 - 3*at.DepthM); !(math.Abs(off) < 1e-3) {
			t.Fatalf("%+v reads %g K off", at, off)
		}
	})
	wall, err := s.Probe(Spot{DepthM: 0.52, BesideM: 0.01, AlongM: 5})
	if err != nil || s.Read(wall) != 55 {
		t.Errorf("in the pipe: %v (%v), want its wall, 55", s.Read(wall), err)
	}
	for _, at := range []Spot{{DepthM: -0.1}, {DepthM: 4.1}, {BesideM: 0.26}, {AlongM: 12.1}, {AlongM: -1}, {DepthM: math.NaN()}} {
		if _, err := s.Probe(at); err == nil {
			t.Errorf("a probe at %+v was taken", at)
		}
	}
}

func TestLayersLieWhereTheyShould(t *testing.T) {
	p := Params{Layers: []Layer{{0.3, 1e6, 0.5}, {0.2, 2e6, 1}, {0, 3e6, 2}}}
	for _, c := range []struct{ top, bottom, conduct, capacity float64 }{
		{0, 0.1, 0.5, 1e6},
		{0.2, 0.4, 0.2 / (0.1/0.5 + 0.1/1), 1.5e6},
		{0.3, 0.5, 1, 2e6},
		{0, 1, 1 / (0.3/0.5 + 0.2/1 + 0.5/2), 2.2e6},
		{9, 10, 2, 3e6},
		{0.3, 0.3, 1, 2e6},
	} {
		k, capacity := p.soil(c.top, c.bottom)
		if math.Abs(k/c.conduct-1) > 1e-12 || math.Abs(capacity/c.capacity-1) > 1e-12 {
			t.Errorf("%g to %g m: %g W/(m K), %g J/(m³ K); want %g, %g", c.top, c.bottom, k, capacity, c.conduct, c.capacity)
		}
	}
}

// Every square metre of soil is in exactly one node, whatever the shape.
func TestCellsFillTheSection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawParams(t)
		p.Fineness = rapid.IntRange(0, 3).Draw(t, "fineness")
		if err := p.check(); err != nil {
			t.Fatal(err)
		}
		s := newSection(&p)
		var area, top float64
		for i, a := range s.areaM2 {
			if !(a > 0 && s.capJmK[i] > 0) {
				t.Fatalf("node %d has %g m²", i, a)
			}
			area += a
			top += s.topM[i]
		}
		radius := p.Pipes.DiameterM / 2
		if want := p.Pipes.SpacingM*p.DepthM - math.Pi*radius*radius; !(math.Abs(area-want) < 1e-9) {
			t.Fatalf("%g m² of soil, want %g", area, want)
		}
		if !(math.Abs(top-p.Pipes.SpacingM) < 1e-12) {
			t.Fatalf("%g m of surface, want %g", top, p.Pipes.SpacingM)
		}
	})
}
