package physics

import "math"

// The exact solutions of heat conduction in this file and its neighbours (slab, line, cylinder,
// buried pipes) are for solids without sources whose properties do not change. Times and depths
// under 0 count as 0; diffusivities and conductivities are over 0.

// HalfSpaceStep returns the share of a step of its surface temperature that has reached depthM after
// timeS in ground without a lower end, 0 to 1: erfc(z/(2 sqrt(α t))). Carslaw and Jaeger 1959,
// Conduction of Heat in Solids, 2nd ed., art. 2.4 eq. 10.
func HalfSpaceStep(diffusivityM2s, depthM, timeS float64) float64 {
	if depthM <= 0 {
		return 1
	}
	if timeS <= 0 {
		return 0
	}
	return math.Erfc(depthM / (2 * math.Sqrt(diffusivityM2s*timeS)))
}

// HalfSpaceFluxWm2 returns the heat that flows into the ground at timeS after its surface was made
// stepK warmer: k ΔT/sqrt(π α t), infinite at 0. The same, eq. 11.
func HalfSpaceFluxWm2(conductivityWmK, diffusivityM2s, stepK, timeS float64) float64 {
	return conductivityWmK * stepK / math.Sqrt(math.Pi*diffusivityM2s*max(timeS, 0))
}

// HalfSpaceHeatJm2 returns the heat that has flowed in by timeS: 2 k ΔT sqrt(t/(π α)), the integral
// of HalfSpaceFluxWm2.
func HalfSpaceHeatJm2(conductivityWmK, diffusivityM2s, stepK, timeS float64) float64 {
	return 2 * conductivityWmK * stepK * math.Sqrt(max(timeS, 0)/(math.Pi*diffusivityM2s))
}

// HalfSpaceHeatedK returns how much warmer the ground is depthM below a surface that has taken
// heatWm2 for timeS: 2 q/k sqrt(α t) ierfc(z/(2 sqrt(α t))). Carslaw and Jaeger 1959, art. 2.9
// eq. 7.
func HalfSpaceHeatedK(conductivityWmK, diffusivityM2s, heatWm2, depthM, timeS float64) float64 {
	if timeS <= 0 {
		return 0
	}
	reach := math.Sqrt(diffusivityM2s * timeS)
	x := max(depthM, 0) / (2 * reach)
	ierfc := math.Exp(-x*x)/math.Sqrt(math.Pi) - x*math.Erfc(x)
	return 2 * heatWm2 / conductivityWmK * reach * ierfc
}

// HalfSpaceFilm returns the share of a step of the air's temperature that has reached depthM after
// timeS, where filmWm2K couples air and surface, 0 to 1. Carslaw and Jaeger 1959, art. 2.7 eq. 1.
func HalfSpaceFilm(conductivityWmK, diffusivityM2s, filmWm2K, depthM, timeS float64) float64 {
	if timeS <= 0 || filmWm2K <= 0 {
		return 0
	}
	reach := math.Sqrt(diffusivityM2s * timeS)
	x := max(depthM, 0) / (2 * reach)
	y := filmWm2K * reach / conductivityWmK
	// exp(2xy + y²) erfc(x + y) = exp(−x²) erfcx(x + y), which never overflows.
	return math.Erfc(x) - math.Exp(-x*x)*scaledErfc(x+y)
}

// scaledErfc returns exp(x²) erfc(x) for x of 0 or more: beyond 5 by its asymptotic series
// (Abramowitz and Stegun 1964, eq. 7.1.23), whose error is under the first term left out, 7e-7
// of it.
func scaledErfc(x float64) float64 {
	if x < 5 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	y := 1 / (2 * x * x)
	return (1 - y*(1-y*(3-y*(15-y*(105-y*945))))) / (x * math.Sqrt(math.Pi))
}
