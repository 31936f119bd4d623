package sim

import (
	"math"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/season"
)

// Autumn is an invented late autumn: nights get colder day by day, some days are bright and some
// are not, always the same ones.
type Autumn struct {
	Site  season.Site
	First time.Time // the day of which Mean is the mean
	Mean  unit.Celsius
	// CoolingKDay is by how much the mean falls from day to day, K.
	CoolingKDay float64
	PressurePa  float64
}

// At is the weather at one instant.
func (a *Autumn) At(t time.Time) Weather {
	days := t.Sub(a.First).Hours() / 24
	bright := brightness(days)
	swing := 3 + 5*bright // K about the mean, widest under a clear sky
	hour := float64(a.Site.Local(t).Hour()) + float64(a.Site.Local(t).Minute())/60
	mean := float64(a.Mean) - a.CoolingKDay*days + 2*math.Sin(days/2.2)
	const warmest = 14.5 // h of the local day
	outside := unit.Celsius(mean + swing*math.Cos((hour-warmest)/24*2*math.Pi))
	elevation, _ := season.SunPosition(a.Site, t)
	return Weather{
		Outside: outside,
		Vapour:  physics.HumidityRatio(outside, 0.8, a.PressurePa),
		SunWm2:  clearSky(elevation) * (0.15 + 0.75*bright),
	}
}

// brightness is between 0, overcast, and 1, clear, and changes slowly.
func brightness(days float64) float64 {
	return 0.5 + 0.5*math.Sin(1.9*days+0.6)*math.Sin(0.7*days+1.1)
}

// clearSky is the sun on the horizontal under a clear sky, W/m²: Haurwitz 1945, as in the rows
// sun_and_time-S010 to S013.
func clearSky(elevationDeg float64) float64 {
	cosZenith := math.Sin(elevationDeg * math.Pi / 180)
	if cosZenith <= 0 {
		return 0
	}
	return 1098 * cosZenith * math.Exp(-0.059/cosZenith)
}
