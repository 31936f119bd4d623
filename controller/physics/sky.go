package physics

import (
	"math"

	"loambank/config/unit"
)

// StefanBoltzmannWm2K4 is the radiation constant; CODATA 2018.
const StefanBoltzmannWm2K4 = 5.670374419e-8

// SkyFromInfrared returns the temperature of a black sky that sends infraredWm2 down to a level
// surface: Stefan and Boltzmann's law.
func SkyFromInfrared(infraredWm2 float64) unit.Celsius {
	return unit.Celsius(math.Sqrt(math.Sqrt(max(infraredWm2, 0)/StefanBoltzmannWm2K4)) - zeroK)
}

// InfraredWm2 returns what a black body of temperature t sends out, W/m².
func InfraredWm2(t unit.Celsius) float64 {
	k := max(float64(t)+zeroK, 0)
	return StefanBoltzmannWm2K4 * k * k * k * k
}

// SkyEmissivity returns the share of black-body radiation at the air's temperature that comes down
// from the sky, 0.5 to 1. dewPoint is the air's, cloud the share of the sky under opaque cloud.
// Clark and Allen 1978, Proc. 2nd National Passive Solar Conference, 2:675, for the clear sky
// (±10 W/m²) and Walton 1983, NBSSIR 83-2655, for clouds.
func SkyEmissivity(dewPoint unit.Celsius, cloud float64) float64 {
	clear := 0.787 + 0.764*math.Log(max(float64(dewPoint)+zeroK, 200)/273)
	tenths := 10 * min(max(cloud, 0), 1)
	return min(max(clear*(1+tenths*(0.0224+tenths*(-0.0035+tenths*0.00028))), 0.5), 1)
}

// SkyTemperature returns the temperature of a black sky that sends down as much as the real one:
// SkyEmissivity of air at the given temperature and dew point.
func SkyTemperature(air, dewPoint unit.Celsius, cloud float64) unit.Celsius {
	return SkyFromInfrared(SkyEmissivity(dewPoint, cloud) * InfraredWm2(air))
}

// RadiationWm2K returns the coefficient of radiation between two grey surfaces that see only each
// other, W/(m² K): ε σ (T₁² + T₂²)(T₁ + T₂), Stefan and Boltzmann. emissivity is the
// exchange's, 0 to 1.
func RadiationWm2K(a, b unit.Celsius, emissivity float64) float64 {
	ka, kb := float64(a)+zeroK, float64(b)+zeroK
	return min(max(emissivity, 0), 1) * StefanBoltzmannWm2K4 * (ka*ka + kb*kb) * (ka + kb)
}
