package physics

import (
	"math"

	"loambank/config/unit"
)

// SatPressureWaterPa returns the vapour pressure at saturation over liquid water, Pa, also under
// 0.01 °C, where weather stations and humidity sensors still mean water. Murphy and Koop 2005,
// Quarterly Journal of the Royal Meteorological Society 131:1539–1565, eq. 10, from 123 K to the
// triple point; SatPressurePa from there, which it meets within 10 ppm.
func SatPressureWaterPa(t unit.Celsius) float64 {
	if t >= tripleC {
		return SatPressurePa(t)
	}
	ln, _ := lnSatSupercooled(max(float64(t), -150) + zeroK)
	return math.Exp(ln)
}

// lnSatSupercooled returns Murphy and Koop's ln p over liquid water at k, K, and its derivative,
// 1/K.
func lnSatSupercooled(k float64) (ln, slope float64) {
	const steep, middle = 0.0415, 218.8
	lnK := math.Log(k)
	tanh := math.Tanh(steep * (k - middle))
	cold := 53.878 - 1331.22/k - 9.44523*lnK + 0.014025*k
	ln = 54.842763 - 6763.22/k - 4.210*lnK + 0.000367*k + tanh*cold
	slope = (6763.22/k-4.210)/k + 0.000367 + steep*(1-tanh*tanh)*cold +
		tanh*((1331.22/k-9.44523)/k+0.014025)
	return ln, slope
}

// DewPointWater returns the temperature at which vapour of pressure pwPa, Pa, saturates over
// liquid water: in frost the dew point that weather services state, up to 12 % of |t| under the
// frost point of DewPoint. It inverts SatPressureWaterPa to 1 µK from −100 °C to 200 °C.
func DewPointWater(pwPa float64) unit.Celsius {
	const lowest, triplePa = 0.0036, 611.657
	if pwPa >= triplePa {
		return DewPoint(pwPa)
	}
	ln := math.Log(max(pwPa, lowest))
	k := float64(DewPoint(pwPa)) + zeroK
	for range 12 {
		have, slope := lnSatSupercooled(k)
		by := (have - ln) / slope
		k -= by
		if math.Abs(by) < 1e-6 {
			break
		}
	}
	return unit.Celsius(k - zeroK)
}

// VapourPressurePa returns the vapour pressure of air at pPa that holds w, the inverse of
// RatioAtVapour; w under 0 counts as 0. ASHRAE Fundamentals 2017, ch. 1, eq. 36.
func VapourPressurePa(w, pPa float64) float64 {
	w = max(w, 0)
	return pPa * w / (waterPerAir + w)
}

// RelativeHumidity returns the relative humidity of air at t that holds w, over 1 where the air
// holds more than SatPressurePa says. The inverse of HumidityRatio.
func RelativeHumidity(t unit.Celsius, w, pPa float64) float64 {
	return VapourPressurePa(w, pPa) / SatPressurePa(t)
}

// AbsoluteHumidityKgM3 returns the kg of vapour in a m³ of air. ASHRAE Fundamentals 2017, ch. 1,
// eq. 10.
func AbsoluteHumidityKgM3(t unit.Celsius, w, pPa float64) float64 {
	return max(w, 0) / SpecificVolume(t, w, pPa)
}

// VapourDeficitPa returns how much vapour pressure a surface at the given temperature has over
// air at t and relative humidity rh, Pa: with the air's own temperature the vapour pressure
// deficit, with a leaf's what drives its transpiration, negative where dew falls on it.
func VapourDeficitPa(surface, t unit.Celsius, rh float64) float64 {
	return SatPressurePa(surface) - min(max(rh, 0), 1)*SatPressurePa(t)
}

// TemperatureAtEnthalpy returns the temperature of air that holds w of vapour and hJkg of
// enthalpy per kg of dry air: the inverse of Enthalpy.
func TemperatureAtEnthalpy(hJkg, w float64) unit.Celsius {
	w = max(w, 0)
	return unit.Celsius((hJkg - vaporise*w) / (cpAir + cpVapour*w))
}
