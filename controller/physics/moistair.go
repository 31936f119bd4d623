package physics

import (
	"math"

	"loambank/config/unit"
)

const (
	zeroK       = 273.15   // K at 0 °C
	tripleC     = 0.01     // °C; ice below, water from here on
	waterPerAir = 0.621945 // molar mass of water over that of dry air; ASHRAE 2017, ch. 1, eq. 20
	dryAirR     = 287.042  // gas constant of dry air, J/(kg K); ASHRAE 2017, ch. 1, eq. 1
	cpAir       = 1006.0   // of dry air, J/(kg K); ASHRAE 2017, ch. 1, eq. 28
	cpVapour    = 1860.0   // of water vapour, J/(kg K); ASHRAE 2017, ch. 1, eq. 30
	vaporise    = 2501e3   // heat of vaporisation at 0 °C, J/kg; the same
	cpWater     = 4186.0   // of liquid water, J/(kg K)
)

// SatPressurePa returns the vapour pressure at saturation, Pa, over ice below 0.01 °C and over
// liquid water from there. ASHRAE Fundamentals 2017, ch. 1, eq. 5 (−100 °C to 0.01 °C) and
// eq. 6 (to 200 °C). Weather stations and humidity sensors state relative humidity over
// water even in frost, where this is lower, by 9 % at −10 °C: SatPressureWaterPa is theirs.
func SatPressurePa(t unit.Celsius) float64 {
	c := min(max(float64(t), -100), 200)
	if c < tripleC {
		ln, _ := lnSatIce(c + zeroK)
		return math.Exp(ln)
	}
	ln, _ := lnSatWater(c + zeroK)
	return math.Exp(ln)
}

// lnSatIce returns eq. 5's ln p over ice at k, K, and its derivative, 1/K.
func lnSatIce(k float64) (ln, slope float64) {
	const (
		c1 = -5.6745359e3
		c2 = 6.3925247
		c3 = -9.677843e-3
		c4 = 6.2215701e-7
		c5 = 2.0747825e-9
		c6 = -9.484024e-13
		c7 = 4.1635019
	)
	ln = c1/k + c2 + k*(c3+k*(c4+k*(c5+k*c6))) + c7*math.Log(k)
	slope = (c7-c1/k)/k + c3 + k*(2*c4+k*(3*c5+k*4*c6))
	return ln, slope
}

// lnSatWater returns eq. 6's ln p over liquid water at k, K, and its derivative, 1/K.
func lnSatWater(k float64) (ln, slope float64) {
	const (
		c8  = -5.8002206e3
		c9  = 1.3914993
		c10 = -4.8640239e-2
		c11 = 4.1764768e-5
		c12 = -1.4452093e-8
		c13 = 6.5459673
	)
	ln = c8/k + c9 + k*(c10+k*(c11+k*c12)) + c13*math.Log(k)
	slope = (c13-c8/k)/k + c10 + k*(2*c11+k*3*c12)
	return ln, slope
}

// DewPoint returns the temperature at which vapour of pressure pwPa, Pa, saturates: the dew
// point, below 0.01 °C the frost point. It inverts SatPressurePa to 1 µK from −100 °C to 200 °C.
func DewPoint(pwPa float64) unit.Celsius {
	const lowest, highest, triplePa = 0.0014, 1.555e6, 611.657
	pw := min(max(pwPa, lowest), highest)
	ln := math.Log(pw)
	lnSat := lnSatWater
	if pw < triplePa {
		lnSat = lnSatIce
	}
	// ln p is nearly a straight line over 1/k, so the start from the heat of vaporisation is
	// near and Newton's steps in 1/k close in within four.
	x := 1/(zeroK+tripleC) - (ln-math.Log(triplePa))/5400
	for range 8 {
		k := 1 / x
		have, slope := lnSat(k)
		by := (have - ln) / (slope * k * k)
		x += by
		if math.Abs(by)*k*k < 1e-6 {
			break
		}
	}
	return unit.Celsius(1/x - zeroK)
}

// RatioAtVapour returns the humidity ratio of air at pressure pPa that holds vapour of pressure
// pwPa. ASHRAE Fundamentals 2017, ch. 1, eq. 20, without enhancement factor (0.4 % low). Vapour
// is held under nine tenths of pPa, so that near-boiling stays a number.
func RatioAtVapour(pwPa, pPa float64) float64 {
	pw := min(max(pwPa, 0), 0.9*pPa)
	return waterPerAir * pw / (pPa - pw)
}

// HumidityRatio returns the humidity ratio of air at t and relative humidity rh over what
// SatPressurePa says; rh is brought into 0 to 1.
func HumidityRatio(t unit.Celsius, rh, pPa float64) float64 {
	return RatioAtVapour(min(max(rh, 0), 1)*SatPressurePa(t), pPa)
}

// SatHumidityRatio returns the humidity ratio of saturated air. ASHRAE Fundamentals 2017, ch. 1,
// eq. 20 at saturation.
func SatHumidityRatio(t unit.Celsius, pPa float64) float64 {
	return RatioAtVapour(SatPressurePa(t), pPa)
}

// Enthalpy returns J per kg of dry air with w of vapour, zero for dry air and liquid water at
// 0 °C. ASHRAE Fundamentals 2017, ch. 1, eq. 30.
func Enthalpy(t unit.Celsius, w float64) float64 {
	return cpAir*float64(t) + w*(vaporise+cpVapour*float64(t))
}

// SpecificVolume returns the m³ that hold one kg of dry air and its w of vapour. ASHRAE
// Fundamentals 2017, ch. 1, eq. 26.
func SpecificVolume(t unit.Celsius, w, pPa float64) float64 {
	return dryAirR * (float64(t) + zeroK) * (1 + w/waterPerAir) / pPa
}

// Density returns kg of moist air, vapour included, per m³. ASHRAE Fundamentals 2017, ch. 1,
// eq. 11.
func Density(t unit.Celsius, w, pPa float64) float64 {
	return (1 + w) / SpecificVolume(t, w, pPa)
}

// PressureAtAltitude returns the standard atmosphere's pressure, Pa, altitudeM metres above the
// sea. ASHRAE Fundamentals 2017, ch. 1, eq. 3; −5000 m to 11000 m.
func PressureAtAltitude(altitudeM float64) float64 {
	z := min(max(altitudeM, -5000), 11000)
	return 101325 * math.Pow(1-2.25577e-5*z, 5.2559)
}
