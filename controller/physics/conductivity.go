package physics

import "math"

const (
	waterWmK = 0.57 // Johansen 1975, as all constants of this file
	iceWmK   = 2.2
)

// ConductivityWmK returns the thermal conductivity of unfrozen soil that holds water, a share of its
// volume. Johansen 1975, as given in Farouki 1981, Thermal Properties of Soils, CRREL Monograph
// 81-1, ch. 7: k = (k_sat − k_dry) K_e + k_dry, with Kersten's number K_e = 0.7 lg S_r + 1 for
// coarse soil over a saturation S_r of 0.05 and lg S_r + 1 for fine soil over 0.1; K_e goes
// straight to 0 below. Within 25 % of nature.
func (s Soil) ConductivityWmK(water float64) float64 {
	saturation := s.held(water) / s.Porosity()
	kersten := 0.0
	switch slope, least := s.kersten(); {
	case saturation > least:
		kersten = slope*math.Log10(saturation) + 1
	default:
		kersten = (slope*math.Log10(least) + 1) * saturation / least
	}
	dry := s.DryConductivityWmK()
	return dry + (s.saturated(waterWmK)-dry)*min(max(kersten, 0), 1)
}

// kersten returns the slope of Kersten's number over lg S_r and the least S_r it is meant for.
func (s Soil) kersten() (slope, least float64) {
	if s.Fine {
		return 1, 0.1
	}
	return 0.7, 0.05
}

// FrozenConductivityWmK returns that of the same soil with all its water frozen; the source as
// above, with K_e = S_r.
func (s Soil) FrozenConductivityWmK(water float64) float64 {
	dry := s.DryConductivityWmK()
	return dry + (s.saturated(iceWmK)-dry)*s.held(water)/s.Porosity()
}

// DryConductivityWmK returns that of the dry soil:
// k_dry = (0.135 ρ + 64.7)/(2700 − 0.947 ρ), natural soils, within 20 %.
func (s Soil) DryConductivityWmK() float64 {
	rho := s.density()
	return (0.135*rho + 64.7) / (2700 - 0.947*rho)
}

// SaturatedConductivityWmK returns that of the soil with its pores full of water:
// k_sat = k_s^(1−n) · 0.57^n.
func (s Soil) SaturatedConductivityWmK() float64 { return s.saturated(waterWmK) }

// saturated fills the pores with something of conductivity poreWmK. Solids: k_s = 7.7^q k_o^(1−q),
// k_o 2 W/(m K), 3 in soil of no more than a fifth quartz.
func (s Soil) saturated(poreWmK float64) float64 {
	quartz := min(max(s.Quartz, 0), 1)
	other := 2.0
	if quartz <= 0.2 {
		other = 3
	}
	solids := math.Pow(7.7, quartz) * math.Pow(other, 1-quartz)
	pores := s.Porosity()
	return math.Pow(solids, 1-pores) * math.Pow(poreWmK, pores)
}

// DiffusivityM2s returns conductivity over heat capacity of unfrozen soil that holds water, m²/s.
func (s Soil) DiffusivityM2s(water float64) float64 {
	return s.ConductivityWmK(water) / s.HeatCapacityJM3K(water)
}

// CampbellConductivityWmK returns the thermal conductivity of mineral soil of dryKgM3 that holds
// water, a share of its volume, with clay a share of its mass, by another road than Johansen's.
// Campbell 1985, Soil Physics with BASIC, eq. 4.20 with the coefficients that follow it, made for
// mineral soil of little quartz. Clay is taken as at least 1 %.
func CampbellConductivityWmK(dryKgM3, water, clay float64) float64 {
	b := dryKgM3 / 1000
	a := 0.65 - 0.78*b + 0.60*b*b
	d := 0.03 + 0.1*b*b
	c := 1 + 2.6/math.Sqrt(max(clay, 0.01))
	return a + 1.06*b*water - (a-d)*math.Exp(-math.Pow(c*water, 4))
}
