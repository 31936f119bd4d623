package trial

import (
	"math"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/weather"
)

// Autumn is an invented late autumn: nights get colder day by day, some days are bright and some
// are not, always the same ones.
type Autumn struct {
	Site  season.Site
	First time.Time // the day of which Mean is the mean
	Mean  unit.Celsius
	// CoolingKDay is by how much the mean falls from day to day, K, down to Coldest.
	CoolingKDay float64
	Coldest     unit.Celsius
	PressurePa  float64
}

// At is the weather at one instant.
func (a *Autumn) At(t time.Time) weather.Sample {
	days := t.Sub(a.First).Hours() / 24
	bright := brightness(days)
	swing := 3 + 5*bright // K about the mean, widest under a clear sky
	local := a.Site.Local(t)
	hour := float64(local.Hour()) + float64(local.Minute())/60
	mean := max(float64(a.Coldest), float64(a.Mean)-a.CoolingKDay*days) + 2*math.Sin(days/2.2)
	const warmest = 14.5 // h of the local day
	outside := unit.Celsius(mean + swing*math.Cos((hour-warmest)/24*2*math.Pi))
	elevation, azimuth := season.SunPosition(a.Site, t)
	const wind = 2 // m/s
	w := weather.Sample{
		Have: weather.Wind | weather.Cloud | weather.Pressure | weather.Direct | weather.Diffuse, Day: float64(local.YearDay()-1) + hour/24,
		Outside: outside, Vapour: physics.HumidityRatio(outside, 0.8, a.PressurePa), PressurePa: a.PressurePa,
		GlobalWm2: clearSky(elevation) * (0.15 + 0.75*bright), WindMS: wind, Cloud: 1 - bright,
		SunElevationDeg: elevation, SunAzimuthDeg: azimuth,
	}
	const diffuse = 0.3 // of the global on a bright day
	w.DiffuseWm2 = w.GlobalWm2 * (1 - bright*(1-diffuse))
	if elevation > 3 {
		w.DirectWm2 = (w.GlobalWm2 - w.DiffuseWm2) / math.Sin(elevation*math.Pi/180)
	}
	return w
}

// Ground is what lies under a place with such autumns.
func (a *Autumn) Ground() physics.GroundWave {
	layer := soilOf(usualSoil(), 0)[0]
	return physics.GroundWave{
		Mean: a.Mean.Add(5), Amplitude: 10, ColdestDay: 25, DiffusivityM2s: layer.ConductWmK / layer.CapacityJm3K,
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
