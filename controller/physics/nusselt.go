package physics

import "math"

// Nusselt returns the mean Nusselt number between air and the walls of a round pipe of even wall
// temperature: laminar up to a Reynolds number of 2300, turbulent from 4000, a straight line between
// (Gnielinski 2013, International Journal of Heat and Mass Transfer 63:134–140). long is length over
// diameter; friction the pipe's own factor, which ribs raise; 3.66 at rest.
func Nusselt(reynolds, prandtl, long, friction float64) float64 {
	switch {
	case !(reynolds > laminarEnd):
		return laminarNusselt(max(reynolds, 0), prandtl, long)
	case reynolds < turbulentFrom:
		share := (reynolds - laminarEnd) / (turbulentFrom - laminarEnd)
		return (1-share)*laminarNusselt(laminarEnd, prandtl, long) +
			share*turbulentNusselt(turbulentFrom, prandtl, long, friction)
	}
	return turbulentNusselt(reynolds, prandtl, long, friction)
}

// laminarNusselt is Hausen's mean with a cold start of the walls: Incropera and DeWitt, eq. 8.57.
func laminarNusselt(reynolds, prandtl, long float64) float64 {
	graetz := reynolds * prandtl / max(long, 1)
	return 3.66 + 0.0668*graetz/(1+0.04*math.Pow(graetz, 2.0/3))
}

// turbulentNusselt is that of a smooth pipe, longer by what its entry adds, 1 + (D/L)^(2/3)
// (Gnielinski 1976, International Chemical Engineering 16:359–368), and by what roughness adds:
// (f/f_smooth)^n, n = 0.68 Pr^0.215, of no more than four times the smooth friction (Norris 1970, in
// Kays and Crawford, Convective Heat and Mass Transfer).
func turbulentNusselt(reynolds, prandtl, long, friction float64) float64 {
	smooth := PetukhovFriction(reynolds)
	entry := 1 + math.Pow(max(long, 1), -2.0/3)
	rough := 1.0
	if friction > smooth {
		rough = math.Pow(min(friction/smooth, 4), 0.68*math.Pow(prandtl, 0.215))
	}
	return GnielinskiNusselt(reynolds, prandtl, smooth) * entry * rough
}

// GnielinskiNusselt returns the Nusselt number of fully developed turbulent flow. Gnielinski 1976, in
// Incropera and DeWitt, eq. 8.62; Re 3000 to 5e6, Pr 0.5 to 2000.
func GnielinskiNusselt(reynolds, prandtl, friction float64) float64 {
	f := friction / 8
	return f * (reynolds - 1000) * prandtl / (1 + 12.7*math.Sqrt(f)*(math.Pow(prandtl, 2.0/3)-1))
}

// Effectiveness returns the share of the way to a wall's temperature that a stream goes, 0 to 1, by its
// number of transfer units: 1 − e^(−NTU). Incropera and DeWitt, eq. 11.35a.
func Effectiveness(ntu float64) float64 { return -math.Expm1(-max(ntu, 0)) }
