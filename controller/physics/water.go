package physics

import (
	"math"

	"loambank/config/unit"
)

// Heats of water's changes at 0 °C, J/kg: handbook values.
const (
	FusionJkg      = 333.6e3 // ice to water
	SublimationJkg = 2834e3  // ice to vapour
)

// VaporisationJkg returns the heat of vaporisation of water, J/kg: 2501 kJ/kg at 0 °C, falling with
// temperature. Allen et al. 1998, FAO Irrigation and Drainage Paper 56, annex 3, eq. 3-1; 0 to
// 50 °C to 0.1 %.
func VaporisationJkg(t unit.Celsius) float64 {
	return 2.501e6 - 2361*float64(t)
}

// WaterDensityKgM3 returns the density of air-free liquid water at one atmosphere, kg/m³. Tanaka et
// al. 2001, Recommended table for the density of water, Metrologia 38:301–309, eq. 1; 0 to 40 °C,
// and within 0.01 % to 50 °C.
func WaterDensityKgM3(t unit.Celsius) float64 {
	c := min(max(float64(t), 0), 60)
	const a1, a2, a3, a4, a5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
	return a5 * (1 - (c+a1)*(c+a1)*(c+a2)/(a3*(c+a4)))
}

// WaterHeatJkgK returns the isobaric specific heat of liquid water, J/(kg K). Popiel and Wojtkowiak
// 1998, Simple formulas for thermophysical properties of liquid water for heat transfer
// calculations, Heat Transfer Engineering 19(3):87–101, from memory; 0 to 150 °C to 0.1 %.
func WaterHeatJkgK(t unit.Celsius) float64 {
	c := min(max(float64(t), 0), 150)
	root := math.Sqrt(c)
	return 4217.4356 + c*(-5.6181625+1.2992528*root-0.11535353*c+4.14964e-3*c*root)
}
