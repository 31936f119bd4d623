package greenhouse

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/weather"
)

const (
	// skyView is how much of the half sphere before a round roof is sky: the mean of (1 + cos β)/2
	// over its slopes from 0 to 90°.
	skyView = 0.5 + 1/math.Pi
	// These stand in where a file has no wind and neither sky nor clouds; no source.
	usualWindMS, usualCloud = 3.0, 0.5
)

// Outdoors is what the weather of a step does to any house. Looked up once, it serves all houses and
// years under that weather.
type Outdoors struct {
	// As in weather.Sample.
	Day        float64
	Outside    unit.Celsius
	Vapour     float64
	PressurePa float64
	GlobalWm2  float64

	sky      unit.Celsius // as which sky and everything beside the house radiate
	filmWm2K float64      // between the air and a cover
	leaks    float64      // how many times as much as in still air
	openJkgK float64      // what a kg of the dry air carries for each K
}

// Look returns what w does to houses.
func Look(w *weather.Sample) Outdoors {
	windMS := usualWindMS
	if w.Have.Has(weather.Wind) {
		windMS = w.WindMS
	}
	return Outdoors{
		Day: w.Day, Outside: w.Outside, Vapour: w.Vapour, PressurePa: w.PressurePa, GlobalWm2: w.GlobalWm2,
		sky: skyOf(w), filmWm2K: outsideWm2K(windMS), leaks: leaks(windMS),
		openJkgK: dryAirJkgK + vapourJkgK*w.Vapour,
	}
}

// skyOf is what the sky and everything beside the house radiate on it, as a temperature.
func skyOf(w *weather.Sample) unit.Celsius {
	around := physics.InfraredWm2(w.Outside)
	sky := w.SkyWm2
	if !w.Have.Has(weather.Sky) {
		dew := physics.DewPoint(physics.VapourPressurePa(w.Vapour, w.PressurePa))
		cloud := usualCloud
		if w.Have.Has(weather.Cloud) {
			cloud = w.Cloud
		}
		sky = physics.SkyEmissivity(dew, cloud) * around
	}
	return physics.SkyFromInfrared(skyView*sky + (1-skyView)*around)
}

// outsideWm2K is the coefficient between a cover's outside and wind of up to 6 m/s, used beyond:
// 0.95 + 6.76 v^0.49; Papadakis and others as for the inside.
func outsideWm2K(windMS float64) float64 { return 0.95 + 6.76*math.Pow(max(windMS, 0), 0.49) }

// leaks says how many times as much leaks as in still air: twice in a wind of 15 mph, greenhouse-S013.
func leaks(windMS float64) float64 {
	const doubles = 6.7 // m/s
	return 1 + windMS/doubles
}
