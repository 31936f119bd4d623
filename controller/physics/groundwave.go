package physics

import (
	"math"

	"loambank/config/unit"
)

const (
	yearDays = 365.0
	dayS     = 86400.0
)

// GroundWave is the temperature of undisturbed ground over the year. The zero value is ground of
// 0 °C all year.
type GroundWave struct {
	Mean       unit.Celsius
	Amplitude  unit.Kelvin // at the surface, 0 or more
	ColdestDay float64     // of the surface, days after the year's beginning, 0 to 365
	// DiffusivityM2s is the soil's; 0 or less lets nothing through.
	DiffusivityM2s float64
}

// At returns the temperature depthM below the surface, day days after any year's beginning.
// Kusuda and Achenbach 1965, Earth temperature and thermal diffusivity at selected stations in the
// United States, ASHRAE Transactions 71(1):61–75:
//
//	T = Mean − Amplitude e^(−z/D) cos(2π/365 (day − ColdestDay) − z/D),  D = sqrt(α 365 d/π)
func (w GroundWave) At(depthM, day float64) unit.Celsius {
	turn := 2 * math.Pi / yearDays * (day - w.ColdestDay)
	if depthM <= 0 {
		return w.Mean.Add(-w.Amplitude * unit.Kelvin(math.Cos(turn)))
	}
	damping := DampingDepthM(w.DiffusivityM2s, yearDays*dayS)
	if damping <= 0 {
		return w.Mean
	}
	down := depthM / damping
	return w.Mean.Add(-w.Amplitude * unit.Kelvin(math.Exp(-down)*math.Cos(turn-down)))
}

// DampingDepthM returns the depth at which a wave of temperature at the surface has faded to 1/e:
// sqrt(α P/π), 0 for a diffusivity or period of 0 or less. Carslaw and Jaeger 1959, Conduction of
// Heat in Solids, 2nd ed., art. 2.6.
func DampingDepthM(diffusivityM2s, periodS float64) float64 {
	return math.Sqrt(max(diffusivityM2s, 0) * max(periodS, 0) / math.Pi)
}

// WaveAtDepth returns which share of a surface wave's amplitude reaches depthM, 0 to 1, and how much
// later, s. The source as above.
func WaveAtDepth(diffusivityM2s, periodS, depthM float64) (share, lagS float64) {
	if depthM <= 0 {
		return 1, 0
	}
	damping := DampingDepthM(diffusivityM2s, periodS)
	if damping <= 0 {
		return 0, 0
	}
	down := depthM / damping
	return math.Exp(-down), down * periodS / (2 * math.Pi)
}
