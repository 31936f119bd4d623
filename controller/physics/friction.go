package physics

import "math"

const (
	laminarEnd    = 2300.0 // Reynolds number up to which flow in pipes stays laminar
	turbulentFrom = 4000.0 // and from which it is surely turbulent
)

// Manning's n of drain pipes, s/m^(1/3), for Pipe.
const (
	ManningDrainTubing = 0.016 // corrugated polyethylene, 75 to 200 mm: 0.015 to 0.017, ASABE EP260, from memory
	ManningCorrugated  = 0.022 // corrugated plastic, 0.020 to 0.025: Caltrans, Highway Design Manual, table 851.2
	ManningSmooth      = 0.012 // smooth plastic: 0.010 to 0.013, the same
)

// Friction returns Darcy's friction factor of a round pipe: 64/Re up to a Reynolds number of 2300,
// Colebrook's from 4000, a straight line between. roughness is the walls' over the diameter, 0 to
// 0.1. 0 at rest.
func Friction(reynolds, roughness float64) float64 {
	switch {
	case !(reynolds > 0):
		return 0
	case reynolds <= laminarEnd:
		return 64 / reynolds
	case reynolds < turbulentFrom:
		share := (reynolds - laminarEnd) / (turbulentFrom - laminarEnd)
		return (1-share)*64/laminarEnd + share*colebrook(turbulentFrom, roughness)
	}
	return colebrook(reynolds, roughness)
}

// colebrook solves 1/√f = −2 lg(ε/3.7 + 2.51/(Re √f)): Colebrook 1939, Journal of the Institution
// of Civil Engineers 11:133–156. Haaland's formula (1983) starts within 2 %, and three of Newton's
// steps end within 1e-12.
func colebrook(reynolds, roughness float64) float64 {
	rough := min(max(roughness, 0), 0.1) / 3.7
	x := -1.8 * math.Log10(math.Pow(rough, 1.11)+6.9/reynolds)
	for range 3 {
		inside := rough + 2.51*x/reynolds
		gap := x + 2*math.Log10(inside)
		x -= gap / (1 + 2/math.Ln10*2.51/reynolds/inside)
	}
	return 1 / (x * x)
}

// ManningFriction returns Darcy's friction factor of a round pipe full of fast flow, by Manning's n:
// 8 g n²/R^(1/3), R = D/4. An identity of the two formulas; n is stated for water pipes, and ribs
// make it the same for air.
func ManningFriction(n, diameterM float64) float64 {
	const g = 9.80665
	return 8 * g * n * n / math.Cbrt(diameterM/4)
}

// PetukhovFriction returns Darcy's friction factor of a smooth pipe, (0.790 ln Re − 1.64)^−2. Petukhov
// 1970, in Incropera and DeWitt, eq. 8.21; Re from 3000 to 5e6, within which others are brought.
func PetukhovFriction(reynolds float64) float64 {
	root := 0.790*math.Log(min(max(reynolds, 3000), 5e6)) - 1.64
	return 1 / (root * root)
}
