package physics

import (
	"errors"
	"fmt"
	"math"

	"loambank/config/unit"
)

var (
	// ErrShortRecord says that temperatures do not tell a year's wave.
	ErrShortRecord = errors.New("the record does not show the year's wave; give temperatures from at least half a year, spread over it")
	// ErrOneDepth says that temperatures do not tell the diffusivity.
	ErrOneDepth = errors.New("one depth does not tell the diffusivity; give temperatures from two depths or more, or state it")
)

// GroundReading is a measured temperature of undisturbed ground, or of the air over it. Missing ones
// are left out.
type GroundReading struct {
	Day    float64 // days after any year's beginning; years have 365
	DepthM float64 // 0 for the air
	C      unit.Celsius
}

// FitGround returns the wave that is nearest to the readings by least squares, and how far from it
// they are (root mean square). Readings of air describe the surface: bare ground is on average
// warmer by up to 2 K, more under snow (common practice, no source). With a diffusivityM2s of 0 it is
// found too, between 0.02 and 5 mm²/s. Kusuda and Achenbach 1965 fitted the same parameters.
//
// Errors: ErrShortRecord, ErrOneDepth where the diffusivity is to be found, and a reading that is not
// finite or above ground.
func FitGround(readings []GroundReading, diffusivityM2s float64) (w GroundWave, off unit.Kelvin, err error) {
	for i, r := range readings {
		if !finite(r.Day, r.DepthM, float64(r.C)) || r.DepthM < 0 {
			return GroundWave{}, 0, fmt.Errorf("ground reading %d is %g °C at %g m on day %g; finite numbers and depths from 0 are right", i, r.C, r.DepthM, r.Day)
		}
	}
	if diffusivityM2s > 0 {
		w, square, ok := fitWave(readings, diffusivityM2s)
		if !ok {
			return GroundWave{}, 0, ErrShortRecord
		}
		return w, rootMean(square, len(readings)), nil
	}
	if !twoDepths(readings) {
		return GroundWave{}, 0, ErrOneDepth
	}
	const least, most = 0.02e-6, 5e-6
	// The sum of squares may have more than one valley: a coarse walk finds the deepest, golden
	// sections its floor.
	const steps = 48
	ratio := math.Pow(most/least, 1.0/steps)
	best, bestSquare := 0.0, math.Inf(1)
	for i := range steps + 1 {
		alpha := least * math.Pow(ratio, float64(i))
		if _, square, ok := fitWave(readings, alpha); ok && square < bestSquare {
			best, bestSquare = alpha, square
		}
	}
	if best == 0 {
		return GroundWave{}, 0, ErrShortRecord
	}
	lnAlpha := golden(math.Log(max(best/ratio, least)), math.Log(min(best*ratio, most)), func(ln float64) float64 {
		_, square, _ := fitWave(readings, math.Exp(ln))
		return square
	})
	w, square, ok := fitWave(readings, math.Exp(lnAlpha))
	if !ok {
		return GroundWave{}, 0, ErrShortRecord
	}
	return w, rootMean(square, len(readings)), nil
}

func finite(all ...float64) bool {
	for _, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func twoDepths(readings []GroundReading) bool {
	for _, r := range readings {
		if r.DepthM != readings[0].DepthM {
			return true
		}
	}
	return false
}

func rootMean(square float64, n int) unit.Kelvin {
	return unit.Kelvin(math.Sqrt(max(square, 0) / float64(n)))
}

// fitWave fits mean and wave for one diffusivity, where both are linear: with down = z/D and the
// year's angle, T = m + a e^(−down) cos(angle − down) + b e^(−down) sin(angle − down). It returns
// the sum of squares left, and whether the readings tell all three.
func fitWave(readings []GroundReading, alpha float64) (w GroundWave, square float64, ok bool) {
	damping := DampingDepthM(alpha, yearDays*dayS)
	if len(readings) < 3 {
		return GroundWave{}, 0, false
	}
	// Temperatures count from the first, so that squares keep their digits.
	base := float64(readings[0].C)
	var n normal
	for _, r := range readings {
		n.add(waveRow(r, damping), float64(r.C)-base)
	}
	x, ok := n.solve()
	if !ok {
		return GroundWave{}, 0, false
	}
	for _, r := range readings {
		row := waveRow(r, damping)
		left := float64(r.C) - base - (x[0] + x[1]*row[1] + x[2]*row[2])
		square += left * left
	}
	coldest := math.Mod(math.Atan2(-x[2], -x[1])/(2*math.Pi)*yearDays+yearDays, yearDays)
	return GroundWave{
		Mean: unit.Celsius(base + x[0]), Amplitude: unit.Kelvin(math.Hypot(x[1], x[2])),
		ColdestDay: coldest, DiffusivityM2s: alpha,
	}, square, true
}

func waveRow(r GroundReading, damping float64) [3]float64 {
	down := r.DepthM / damping
	sin, cos := math.Sincos(2*math.Pi/yearDays*r.Day - down)
	fade := math.Exp(-down)
	return [3]float64{1, fade * cos, fade * sin}
}

// normal is the normal equations of a linear fit with three unknowns.
type normal struct {
	a [3][3]float64
	b [3]float64
}

func (n *normal) add(row [3]float64, y float64) {
	for i := range 3 {
		for j := range 3 {
			n.a[i][j] += row[i] * row[j]
		}
		n.b[i] += row[i] * y
	}
}

// solve answers the equations, unless the readings are so like each other that a pivot keeps less
// than a twentieth of its column: then they would answer about noise. Half a year keeps 0.19 in its
// worst season, four months 0.03.
func (n *normal) solve() (x [3]float64, ok bool) {
	const leastShare = 0.05
	a, b := n.a, n.b
	for i := range 3 {
		if !(a[i][i] > leastShare*n.a[i][i]) {
			return x, false
		}
		for j := i + 1; j < 3; j++ {
			f := a[j][i] / a[i][i]
			for k := i; k < 3; k++ {
				a[j][k] -= f * a[i][k]
			}
			b[j] -= f * b[i]
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = b[i]
		for k := i + 1; k < 3; k++ {
			x[i] -= a[i][k] * x[k]
		}
		x[i] /= a[i][i]
	}
	return x, true
}

// golden returns where f is least between low and high, to a millionth of their distance.
func golden(low, high float64, f func(float64) float64) float64 {
	const share = 0.6180339887498949
	a, b := low, high
	left, right := b-share*(b-a), a+share*(b-a)
	fl, fr := f(left), f(right)
	for range 29 {
		if fl < fr {
			b, right, fr = right, left, fl
			left = b - share*(b-a)
			fl = f(left)
		} else {
			a, left, fl = left, right, fr
			right = a + share*(b-a)
			fr = f(right)
		}
	}
	return (a + b) / 2
}
