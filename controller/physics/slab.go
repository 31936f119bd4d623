package physics

import "math"

// slabTerms ends the series of this file: at the least Fourier number for which they are used the
// terms left out are under 1e-12.
const slabTerms = 60

// SlabStep returns what is left of a slab's first temperature difference after both faces were
// stepped, 1 to 0. fourier is α t/L² and place x/L from the middle, −1 to 1, with L half the
// thickness. Carslaw and Jaeger 1959, art. 3.3 eq. 8; for early times as two half spaces
// (eq. 9's first terms).
func SlabStep(fourier, place float64) float64 {
	place = min(math.Abs(place), 1)
	if fourier <= 0 {
		return 1
	}
	if fourier < 0.05 {
		root := 2 * math.Sqrt(fourier)
		return 1 - math.Erfc((1-place)/root) - math.Erfc((1+place)/root)
	}
	sum, sign := 0.0, 1.0
	for n := range slabTerms {
		odd := (2*float64(n) + 1) * math.Pi / 2
		fade := math.Exp(-odd * odd * fourier)
		if fade < 1e-16 {
			break
		}
		sum += 2 * sign / odd * fade * math.Cos(odd*place)
		sign = -sign
	}
	return sum
}

// SlabStepMean returns what is left of it on average over the thickness, 1 to 0. Carslaw and Jaeger
// 1959, art. 3.3 eq. 10; for early times as two half spaces.
func SlabStepMean(fourier float64) float64 {
	if fourier <= 0 {
		return 1
	}
	if fourier < 0.05 {
		return 1 - 2*math.Sqrt(fourier/math.Pi)
	}
	sum := 0.0
	for n := range slabTerms {
		odd := (2*float64(n) + 1) * math.Pi / 2
		sum += 2 / (odd * odd) * math.Exp(-odd*odd*fourier)
	}
	return sum
}

// SlabFilm returns what is left of a slab's first difference to the air, which a film couples to both
// faces, 1 to 0. biot is h L/k; fourier and place as in SlabStep. Incropera and DeWitt,
// Fundamentals of Heat and Mass Transfer, eq. 5.42, with all terms. Meant for Fourier
// numbers from 0.001; below, HalfSpaceFilm says what happens under the face.
func SlabFilm(biot, fourier, place float64) float64 {
	if fourier <= 0 || biot <= 0 {
		return 1
	}
	sum := 0.0
	for n := range slabTerms {
		zeta := slabRoot(biot, n)
		fade := math.Exp(-zeta * zeta * fourier)
		if fade < 1e-16 {
			break
		}
		sum += slabWeight(zeta) * fade * math.Cos(zeta*place)
	}
	return sum
}

// SlabFirstTerm returns the first root ζ₁ of ζ tan ζ = biot, rad, and its weight C₁, with which
// C₁ exp(−ζ₁² Fo) cos(ζ₁ x/L) is SlabFilm from a Fourier number of 0.2 on. Incropera and DeWitt,
// table 5.1.
func SlabFirstTerm(biot float64) (zeta, weight float64) {
	zeta = slabRoot(max(biot, 0), 0)
	return zeta, slabWeight(zeta)
}

func slabWeight(zeta float64) float64 {
	if zeta == 0 {
		return 1
	}
	return 4 * math.Sin(zeta) / (2*zeta + math.Sin(2*zeta))
}

// slabRoot returns the root of ζ sin ζ = biot cos ζ between n π and n π + π/2, by halving.
func slabRoot(biot float64, n int) float64 {
	low := float64(n) * math.Pi
	high := low + math.Pi/2
	for range 60 {
		middle := (low + high) / 2
		sin, cos := math.Sincos(middle)
		// Between the ends of an odd branch both sides change sign.
		over := middle*sin > biot*cos
		if n%2 == 1 {
			over = !over
		}
		if over {
			high = middle
		} else {
			low = middle
		}
	}
	return (low + high) / 2
}
