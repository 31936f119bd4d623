package ground

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What a port foretells of wall and surface comes true, whatever coefficient the step has.
func TestPortsForetellTheStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := New(drawParams(t))
		if err != nil {
			t.Fatal(err)
		}
		d := drawDrive(t)
		const day = 40
		dtS := rapid.SampledFrom([]float64{600, 1e5, 1e7}).Draw(t, "step")
		op := s.soil.operator(dtS)
		s.soil.release(op, day)
		radiationWm2 := d.RadiationW / s.p.FloorM2()
		ports := make([]port, len(s.wallW))
		for k := range ports {
			ports[k] = s.soil.port(op, k, &d, radiationWm2)
			s.wallW[k] = rapid.Float64Range(-100, 100).Draw(t, "heat at the pipe")
			s.topW[k] = ports[k].topW + ports[k].topPer*s.wallW[k]
		}
		// One stretch at a time: what flows along the pipe comes after.
		op.along.still = true
		s.soil.finish(op, day, s.wallW, s.topW)
		for k, p := range ports {
			want := p.stillC + p.riseKW*s.wallW[k]
			if got := s.soil.wallC(k); !(math.Abs(got-want) < 1e-8) {
				t.Fatalf("wall %.10g °C, foretold %.10g", got, want)
			}
			surfaceC := s.soil.surface(s.soil.tempC, k, len(ports))
			takenW := s.topW[k] - s.soil.usualWm2K*s.soil.widthM*surfaceC
			wantW := s.soil.widthM * (radiationWm2 + d.SurfaceWm2K*(float64(d.Air)-surfaceC))
			if !(math.Abs(takenW-wantW) < 1e-7*(1+math.Abs(wantW))) {
				t.Fatalf("the surface takes %.10g W/m, its balance says %.10g", takenW, wantW)
			}
		}
	})
}

// In soil of one kind with the temperature of a slope no node gains heat, but where soil ends.
func TestSlopesCarryHeatThrough(t *testing.T) {
	p := bed()
	p.Fineness = 2
	s := newSection(&p)
	for name, slope := range map[string]func(point) float64{
		"down":   func(at point) float64 { return at.z },
		"across": func(at point) float64 { return at.x },
	} {
		gain, gross := make([]float64, len(s.at)), make([]float64, len(s.at))
		for _, l := range s.link {
			w := l.g * (slope(s.at[l.i]) - slope(s.at[l.j]))
			gain[l.i] -= w
			gain[l.j] += w
			gross[l.i] += math.Abs(w) / 2
			gross[l.j] += math.Abs(w) / 2
		}
		tried := 0
		for i, at := range s.at {
			fromPipe := math.Hypot(at.x, at.z-p.Pipes.DepthM)
			inside := at.x > 0.02 && at.x < 0.24 && at.z > 0 && s.baseWmK[i] == 0 && fromPipe > 0.055
			if !inside || gross[i] < 1e-9 {
				continue
			}
			tried++
			if !(math.Abs(gain[i]) <= 0.03*gross[i]) {
				t.Errorf("slope %s: the node at %.3v keeps %.1f %% of what passes", name, at, 100*gain[i]/gross[i])
			}
		}
		if tried < 100 {
			t.Errorf("slope %s: only %d nodes were tried", name, tried)
		}
	}
}

func TestReducedHeatMovesAlongThePipe(t *testing.T) {
	p := bed()
	p.Edge = Edge{}
	r, err := newStore(t, p).Reduce(600)
	if err != nil {
		t.Fatal(err)
	}
	clear(r.whole)
	clear(r.apart)
	n := len(r.m.rate)
	r.apart[2*n] = 1
	r.spreadAlong(r.pace(86400))
	var sum float64
	for k := range r.longM {
		sum += r.apart[k*n]
	}
	if !(math.Abs(sum-1) < 1e-12 && r.apart[2*n] < 1 && r.apart[n] > 0 && math.Abs(r.apart[n]-r.apart[3*n]) < 0.05*r.apart[n]) {
		t.Errorf("one lot of heat became %v, in all %v", []float64{r.apart[n], r.apart[2*n], r.apart[3*n]}, sum)
	}
	// α dt/L² goes each way: α = 1.4/2.4e6, L = 2 m.
	if want := 1.4 / 2.4e6 * 86400 / 4; !(math.Abs(r.apart[n]/want-1) < 0.03) {
		t.Errorf("a day moves %.4g to the neighbour, want %.4g", r.apart[n], want)
	}
}

// After centuries under the same drive both stores are where everything balances, which reducing
// keeps exactly: also in the pipe, where what the modes lack is most.
func TestReducedStoreRestsWhereTheFullOneDoes(t *testing.T) {
	p := bed()
	p.Edge, p.Ground.Amplitude = Edge{}, 0
	p.Pipes.Segments = 1
	full := newStore(t, p)
	spots := []Spot{{DepthM: 0.5}, {DepthM: 0.5, BesideM: 0.06}, {DepthM: 0}, {DepthM: 3}}
	few, err := full.Reduce(300, spots...)
	if err != nil {
		t.Fatal(err)
	}
	d := p.flowing(3, 45, 0.004)
	d.RadiationW, d.SurfaceWm2K = 3000, 12
	const decadeS = 10 * 365 * 86400
	var a, b Flux
	for range 60 {
		a, b = full.Step(d, decadeS), few.Step(d, decadeS)
	}
	if !(math.Abs(b.SensibleJ/a.SensibleJ-1) < 1e-5 && math.Abs(b.SurfaceJ/a.SurfaceJ-1) < 1e-5 && math.Abs(b.BaseJ/a.BaseJ-1) < 1e-5) {
		t.Errorf("in balance the reduced store has %+v, the full one %+v", b, a)
	}
	for i, spot := range spots {
		pr, err := full.Probe(spot)
		if err != nil {
			t.Fatal(err)
		}
		if off := float64(few.Read(i) - full.Read(pr)); !(math.Abs(off) < 1e-4) {
			t.Errorf("%+v is off by %.2g K in balance", spot, off)
		}
	}
}
