package weather

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// overWaterPa returns the vapour pressure of liquid water, Pa, also under 0 °C, over which weather
// stations state relative humidity and dew point. Murphy and Koop 2005, Quarterly Journal of the
// Royal Meteorological Society 131:1539–1565, eq. 10; 123 K to 332 K.
func overWaterPa(t unit.Celsius) float64 {
	k := float64(t) + 273.15
	ln := math.Log(k)
	return math.Exp(54.842763 - 6763.22/k - 4.210*ln + 0.000367*k +
		math.Tanh(0.0415*(k-218.8))*(53.878-1331.22/k-9.44523*ln+0.014025*k))
}

// humidityRatio returns kg of vapour per kg of dry air.
func humidityRatio(t unit.Celsius, humidity, pressurePa float64) float64 {
	return physics.RatioAtVapour(humidity*overWaterPa(t), pressurePa)
}
