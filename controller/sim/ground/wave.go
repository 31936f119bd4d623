package ground

import (
	"math"

	"loambank/controller/physics"
)

// The wave of the ground around is split, so that each depth's temperature is a sum of two products:
// mean + in step × inStep(depth) + a quarter late × quarter(depth). physics.GroundWave.At is the same.

const (
	yearDays = 365.0
	yearS    = yearDays * 86400
)

// swing returns the surface's present departure from the mean and that of a quarter year ago, K.
func swing(w *physics.GroundWave, day float64) (inStep, quarter float64) {
	sin, cos := math.Sincos(2 * math.Pi / yearDays * (day - w.ColdestDay))
	return -float64(w.Amplitude) * cos, -float64(w.Amplitude) * sin
}

// shares returns how much of both reaches depthM.
func shares(w *physics.GroundWave, depthM float64) (inStep, quarter float64) {
	if depthM <= 0 {
		return 1, 0
	}
	damping := physics.DampingDepthM(w.DiffusivityM2s, yearS)
	if damping <= 0 {
		return 0, 0
	}
	sin, cos := math.Sincos(depthM / damping)
	fade := math.Exp(-depthM / damping)
	return fade * cos, fade * sin
}
