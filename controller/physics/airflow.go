package physics

import (
	"math"

	"loambank/config/unit"
)

// AirViscosityPas returns the dynamic viscosity of air, Pa s, the same at any usual pressure and
// humidity. Sutherland's law with 17.16 µPa s at 0 °C and 110.4 K; White, Viscous Fluid Flow,
// table 1-2; −100 °C to 1600 °C, to 2 %.
func AirViscosityPas(t unit.Celsius) float64 {
	const at0, constant = 1.716e-5, 110.4
	k := max(float64(t)+zeroK, 100)
	return at0 * math.Pow(k/zeroK, 1.5) * (zeroK + constant) / (k + constant)
}

// AirConductivityWmK returns the thermal conductivity of air, W/(m K). Sutherland's law with
// 0.0241 at 0 °C and 194 K; White, table 1-3; −100 °C to 1600 °C, to 2 %.
func AirConductivityWmK(t unit.Celsius) float64 {
	const at0, constant = 0.0241, 194
	k := max(float64(t)+zeroK, 100)
	return at0 * math.Pow(k/zeroK, 1.5) * (zeroK + constant) / (k + constant)
}

// AirPrandtl returns the Prandtl number of dry air, about 0.71: c_p μ/k.
func AirPrandtl(t unit.Celsius) float64 {
	return cpAir * AirViscosityPas(t) / AirConductivityWmK(t)
}
