package physics

import (
	"math"

	"loambank/config/unit"
)

// The table behind TabledSatPressurePa: intervals of satStepK to both sides of the triple point, so
// that none has ice at one end and water at the other.
const (
	satStepK = 0.5
	satIced  = 121 // down to −60.49 °C
	satWet   = 200 // up to 100.01 °C
)

// satCubics is the pressure, Pa, over the share of an interval, 0 to 1: four coefficients, the
// constant first.
var satCubics = cubics()

// cubics lays through each interval the cubic that has pressure and slope of eq. 5 or 6 at both
// ends (Hermite). It is off by at most step⁴/384 of the fourth derivative: 6e-8 of the pressure at
// −60 °C, less in warmer air.
func cubics() (all [satIced + satWet][4]float64) {
	for i := range all {
		lnSat := lnSatWater
		if i < satIced {
			lnSat = lnSatIce
		}
		var pa, slope [2]float64
		for end := range pa {
			ln, lnSlope := lnSat(zeroK + tripleC + float64(i-satIced+end)*satStepK)
			pa[end] = math.Exp(ln)
			slope[end] = pa[end] * lnSlope * satStepK
		}
		all[i] = hermite(pa[0], pa[1], slope[0], slope[1])
	}
	return all
}

// TabledSatPressurePa is SatPressurePa for simulations, which ask for it millions of times: from
// −60 °C to 100 °C within 1e-7 of it and without a step but the one of 2 ppm that it has itself
// where ice becomes water; beyond, the same.
func TabledSatPressurePa(t unit.Celsius) float64 {
	c, x := satCubic(t)
	if c == nil {
		return SatPressurePa(t)
	}
	return c[0] + x*(c[1]+x*(c[2]+x*c[3]))
}

// satCubic is the cubic of t's interval and where in it t lies, 0 to 1; nil beyond the table.
func satCubic(t unit.Celsius) (c *[4]float64, x float64) {
	at := (float64(t)-tripleC)/satStepK + satIced
	if !(at >= 0 && at < satIced+satWet) {
		return nil, 0
	}
	i := int(at)
	return &satCubics[i], at - float64(i)
}

// TabledSaturation is TabledSatHumidityRatio, and how it moves with temperature, 1/K, within 1e-5: the
// table's own slope, beyond it a difference.
func TabledSaturation(t unit.Celsius, pPa float64) (w, slope float64) {
	c, x := satCubic(t)
	if c == nil {
		w = SatHumidityRatio(t, pPa)
		return w, (SatHumidityRatio(t+satStepK, pPa) - w) / satStepK
	}
	pa := min(c[0]+x*(c[1]+x*(c[2]+x*c[3])), 0.9*pPa)
	paK := (c[1] + x*(2*c[2]+x*3*c[3])) / satStepK
	air := 1 / (pPa - pa)
	w = waterPerAir * pa * air
	return w, waterPerAir * pPa * paK * air * air
}

// TabledSatHumidityRatio is SatHumidityRatio with TabledSatPressurePa.
func TabledSatHumidityRatio(t unit.Celsius, pPa float64) float64 {
	return RatioAtVapour(TabledSatPressurePa(t), pPa)
}
