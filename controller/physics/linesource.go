package physics

import "math"

// LineSourceK returns how much warmer the ground is radiusM from an endless straight line that has
// given heatWm for timeS: q/(4 π k) E₁(r²/(4 α t)). Carslaw and Jaeger 1959, art. 10.4 eq. 5. At a
// pipe's wall it is low, by 1 % once α t is 60 r² and by 5 % at 10 r²; see CylinderSource. Infinite at a radius of 0.
func LineSourceK(heatWm, conductivityWmK, diffusivityM2s, radiusM, timeS float64) float64 {
	if timeS <= 0 {
		return 0
	}
	return heatWm / (4 * math.Pi * conductivityWmK) * ExpIntegral(radiusM*radiusM/(4*diffusivityM2s*timeS))
}

// ExpIntegral returns E₁(x), the integral of e^(−u)/u from x on; infinite at 0 or under. Abramowitz
// and Stegun 1964, Handbook of Mathematical Functions: the series eq. 5.1.11 up to 1, the continued
// fraction eq. 5.1.22 beyond, to 1e-12 of itself.
func ExpIntegral(x float64) float64 {
	const euler = 0.57721566490153286061
	switch {
	case x <= 0:
		return math.Inf(1)
	case x <= 1:
		sum, term := -euler-math.Log(x), 1.0
		for n := 1.0; n < 40; n++ {
			term *= -x / n
			sum -= term / n
			if math.Abs(term) < 1e-17 {
				break
			}
		}
		return sum
	case x > 740:
		return 0
	}
	// Lentz's way through the even form of the fraction.
	const tiny = 1e-300
	b := x + 1
	c, d := 1/tiny, 1/b
	h := d
	for n := 1.0; n < 200; n++ {
		a := -n * n
		b += 2
		d = 1 / (a*d + b)
		c = b + a/c
		h *= c * d
		if math.Abs(c*d-1) < 1e-15 {
			break
		}
	}
	return h * math.Exp(-x)
}

// ShortLineSourceK returns how much warmer endless ground is radiusM beside a line of lengthM that has
// given heatWm for timeS, placeM from one end along it. Eskilson 1987, Thermal Analysis of Heat
// Extraction Boreholes, Lund, eq. for the point sources of a line, without its image:
// q/(4 π k) ∫ erfc(d/(2 sqrt(α t)))/d ds along the line, by Simpson's rule. The radius is over 0.
func ShortLineSourceK(heatWm, conductivityWmK, diffusivityM2s, radiusM, placeM, lengthM, timeS float64) float64 {
	if timeS <= 0 {
		return 0
	}
	reach := 2 * math.Sqrt(diffusivityM2s*timeS)
	// With s = r sinh u the integrand loses its peak.
	from, to := math.Asinh(-placeM/radiusM), math.Asinh((lengthM-placeM)/radiusM)
	const steps = 400
	h := (to - from) / steps
	sum := 0.0
	for i := range steps + 1 {
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		sum += weight * math.Erfc(radiusM*math.Cosh(from+float64(i)*h)/reach)
	}
	return heatWm / (4 * math.Pi * conductivityWmK) * sum * h / 3
}

// BuriedLineSourceK returns how much warmer the ground is at a pipe's wall, radiusM from its axis
// depthM under a surface held at its first temperature, after the pipe has given heatWm for timeS: a
// line source less its image in the surface. Carslaw and Jaeger 1959, art. 10.10 (images).
func BuriedLineSourceK(heatWm, conductivityWmK, diffusivityM2s, radiusM, depthM, timeS float64) float64 {
	return LineSourceK(heatWm, conductivityWmK, diffusivityM2s, radiusM, timeS) -
		LineSourceK(heatWm, conductivityWmK, diffusivityM2s, 2*depthM, timeS)
}
