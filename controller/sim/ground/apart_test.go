package ground

import (
	"math"
	"testing"
)

// What stretches differ by waits while no air moves; a store that is looked at after every step, which
// brings it up to date, goes on as one that is not.
func TestDifferencesThatWaitedAreTheSame(t *testing.T) {
	p := bed()
	s := newStore(t, p)
	spots := []Spot{{DepthM: 0.5, BesideM: 0.06, AlongM: 0.5}, {DepthM: 0.5, BesideM: 0.06, AlongM: 11}}
	a, errA := s.Reduce(300, spots...)
	b, errB := s.Reduce(300, spots...)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	d := p.flowing(3, 30, 0.01)
	for n := range 400 {
		in := d
		if n%41 > 11 { // 29 steps without air: 12, 12 and 5
			in.DryAirKgS = 0
		}
		x, y := a.Step(in, 300), b.Step(in, 300)
		b.State()
		if !(math.Abs(float64(x.Out.C-y.Out.C)) < 1e-9) {
			t.Fatalf("step %d: the air leaves with %v °C and %v", n, x.Out.C, y.Out.C)
		}
		for i := range spots {
			if off := float64(a.Read(i) - b.Read(i)); !(math.Abs(off) < 1e-9) {
				t.Fatalf("step %d: spot %d is off by %g K", n, i, off)
			}
		}
	}
}

// Under a wind the surface of the warm end loses more than the mean does.
func TestDifferencesFadeThroughTheSurface(t *testing.T) {
	p := bed()
	p.Pipes.Segments = 3
	full := newStore(t, p)
	near := []Spot{{DepthM: 0.05, BesideM: 0.1, AlongM: 1}, {DepthM: 0.05, BesideM: 0.1, AlongM: p.Pipes.LengthM - 1}}
	few, err := full.Reduce(300, near...)
	if err != nil {
		t.Fatal(err)
	}
	apart := func() (whole, reduced float64) {
		var at [2]float64
		for i, spot := range near {
			pr, err := full.Probe(spot)
			if err != nil {
				t.Fatal(err)
			}
			at[i] = float64(full.Read(pr))
		}
		return at[0] - at[1], float64(few.Read(0) - few.Read(1))
	}
	d := p.flowing(1, 45, 0.004)
	d.SurfaceWm2K = 30
	for n := range 6 * 288 {
		if n == 4*288 {
			d.DryAirKgS = 0
		}
		full.Step(d, 300)
		few.Step(d, 300)
	}
	want, got := apart()
	t.Logf("the warm end is %.4f K over the other, reduced %.4f", want, got)
	if !(want > 0.02 && math.Abs(got/want-1) < 0.01) {
		t.Errorf("the warm end is %.4f K over the other, want %.4f", got, want)
	}
}

func TestClosedPipesTakeNoAir(t *testing.T) {
	p := bed()
	p.Closed = true
	still, sent := newStore(t, p), newStore(t, p)
	a, errA := still.Reduce(300)
	b, errB := sent.Reduce(300)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	d := p.flowing(3, 30, 0.02)
	rest := d
	rest.DryAirKgS = 0
	for range 20 {
		if x, y := still.Step(rest, 300), sent.Step(d, 300); x != y || y.AirJ() != 0 {
			t.Fatalf("air sent did %+v, none %+v", y, x)
		}
		if x, y := a.Step(rest, 300), b.Step(d, 300); x != y || y.AirJ() != 0 {
			t.Fatalf("air sent did %+v to few numbers, none %+v", y, x)
		}
	}
	open := p
	open.Closed = false
	c, err := newStore(t, open).Reduce(300)
	if err != nil || c.Modes() <= a.Modes() {
		t.Errorf("closed pipes take %d modes, open ones %d (%v)", a.Modes(), c.Modes(), err)
	}
}
