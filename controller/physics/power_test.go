package physics

import (
	"math"
	"testing"
)

func TestPowersByTableKeepToTheirFunction(t *testing.T) {
	for _, exponent := range []float64{0.3, 1.0 / 3, 0.49, 0.6} {
		p, worst := NewPower(exponent), 0.0
		for x := 1e-12; x < 1.6e7; x *= 1.00071 {
			worst = max(worst, math.Abs(p.At(x)/math.Pow(x, exponent)-1))
		}
		t.Logf("x^%.3f is off by at most %.2g", exponent, worst)
		if !(worst <= 1e-8) {
			t.Errorf("x^%v is off by %.2g, over 1e-8", exponent, worst)
		}
		for i := range 40 {
			whole := math.Pow(2, float64(i-20))
			if under, at := p.At(whole*(1-1e-12)), p.At(whole); !(math.Abs(under/at-1) < 1e-10) {
				t.Errorf("x^%v steps from %v to %v at %v", exponent, under, at, whole)
			}
		}
	}
}

func TestPowersBeyondTheirTable(t *testing.T) {
	p := NewPower(0.3)
	for _, x := range []float64{0, -1, 1e-13, math.Inf(-1), math.NaN()} {
		if got := p.At(x); got != 0 {
			t.Errorf("%v at %v, want 0", got, x)
		}
	}
	for _, x := range []float64{1.7e7, 1e300, math.Inf(1)} {
		if got, want := p.At(x), math.Pow(1<<24-1, 0.3); !(math.Abs(got/want-1) < 1e-8) {
			t.Errorf("%v at %v, want %v", got, x, want)
		}
	}
}
