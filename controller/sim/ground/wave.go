package ground

import (
	"math"

	"loambank/config/unit"
)

// Wave is the temperature of undisturbed ground over the year.
// Kusuda and Achenbach 1965, Earth temperature and thermal diffusivity at selected stations in
// the United States, with the annual damping depth sqrt(α · 365 d/π) in place of α:
//
//	T(z, day) = Mean − Amplitude e^(−z/Damping) cos(2π (day − Coldest)/365 − z/Damping)
type Wave struct {
	Mean       unit.Celsius
	Amplitude  unit.Kelvin // at the surface; 0: the same all year
	ColdestDay float64     // of the surface, days after the year's beginning
	DampingM   float64     // over 0
}

// At returns the temperature depthM below the surface, day days after any year's beginning.
func (w Wave) At(depthM, day float64) unit.Celsius {
	in, quarter := w.swing(day)
	a, b := w.shares(depthM)
	return w.Mean.Add(unit.Kelvin(in*a + quarter*b))
}

// swing returns the surface's present departure from the mean and that of a quarter year ago, K.
func (w Wave) swing(day float64) (in, quarter float64) {
	sin, cos := math.Sincos(2 * math.Pi / 365 * (day - w.ColdestDay))
	return -float64(w.Amplitude) * cos, -float64(w.Amplitude) * sin
}

// shares returns how much of both reaches depthM.
func (w Wave) shares(depthM float64) (in, quarter float64) {
	sin, cos := math.Sincos(depthM / w.DampingM)
	fade := math.Exp(-depthM / w.DampingM)
	return fade * cos, fade * sin
}
