package physics

import "math"

// What is lost at the ends of a pipe, in velocity heads; ASHRAE and Idelchik, Handbook of Hydraulic
// Resistance.
const (
	LossFlushEntry     = 0.5
	LossReentrantEntry = 0.8 // to 1.0: the pipe juts into the room it draws from
	LossExit           = 1.0
)

// Pipe is one straight round pipe full of air. Of Manning's n and roughness the rougher counts; the
// zero value of both is a smooth pipe. Air that leaks through perforations is left out: along a
// store's pipe inside and outside are nearly at the same pressure, as far as the soil lies tight.
type Pipe struct {
	DiameterM, LengthM float64 // over 0
	ManningN           float64 // s/m^(1/3), of corrugated pipes
	RoughnessM         float64 // height of the walls' unevenness
	LossHeads          float64 // velocity heads lost at ends, bends and joints together
}

// VelocityMs returns the mean velocity of flowM3s.
func (p Pipe) VelocityMs(flowM3s float64) float64 {
	return flowM3s / (math.Pi / 4 * p.DiameterM * p.DiameterM)
}

// Reynolds returns ρ v D/μ of flowM3s of air at pPa.
func (p Pipe) Reynolds(flowM3s float64, air Air, pPa float64) float64 {
	return Density(air.C, air.W, pPa) * math.Abs(p.VelocityMs(flowM3s)) * p.DiameterM / AirViscosityPas(air.C)
}

// Friction returns Darcy's friction factor at a Reynolds number. Ribs make no difference while the
// flow is laminar.
func (p Pipe) Friction(reynolds float64) float64 {
	f := Friction(reynolds, p.RoughnessM/p.DiameterM)
	if p.ManningN <= 0 || reynolds <= laminarEnd {
		return f
	}
	ribbed := ManningFriction(p.ManningN, p.DiameterM)
	if reynolds < turbulentFrom {
		share := (reynolds - laminarEnd) / (turbulentFrom - laminarEnd)
		ribbed = (1-share)*64/laminarEnd + share*ribbed
	}
	return max(f, ribbed)
}

// PressureLossPa returns the pressure that it takes to push flowM3s through: Darcy and Weisbach's
// (f L/D + K) ρ v²/2, negative for flow the other way.
func (p Pipe) PressureLossPa(flowM3s float64, air Air, pPa float64) float64 {
	if flowM3s == 0 {
		return 0
	}
	v := p.VelocityMs(flowM3s)
	f := p.Friction(p.Reynolds(flowM3s, air, pPa))
	return (f*p.LengthM/p.DiameterM + p.LossHeads) * Density(air.C, air.W, pPa) * v * math.Abs(v) / 2
}

// FilmWm2K returns the mean coefficient of convection between flowM3s of air and the walls, with the
// air's properties at the given state, halfway between inlet and wall at best.
func (p Pipe) FilmWm2K(flowM3s float64, air Air, pPa float64) float64 {
	reynolds := p.Reynolds(flowM3s, air, pPa)
	nusselt := Nusselt(reynolds, AirPrandtl(air.C), p.LengthM/p.DiameterM, p.Friction(reynolds))
	return nusselt * AirConductivityWmK(air.C) / p.DiameterM
}

// NTU returns the number of transfer units between flowM3s of air and what lies soilKmW beyond the
// wall, a resistance for each metre of pipe, K m/W; 0 for the wall itself. The dry heat of the air
// counts, at the given state; infinite at rest.
func (p Pipe) NTU(flowM3s float64, air Air, pPa, soilKmW float64) float64 {
	film := 1 / (p.FilmWm2K(flowM3s, air, pPa) * math.Pi * p.DiameterM)
	streamWK := math.Abs(flowM3s) / SpecificVolume(air.C, air.W, pPa) * (cpAir + cpVapour*air.W)
	return p.LengthM / ((film + max(soilKmW, 0)) * streamWK)
}
