package season

import (
	"math"
	"time"
)

// Polar says whether the sun crosses the horizon at all. The zero value is that it does.
type Polar uint8

// The closed list of what the sun may do on a date.
const (
	NotPolar   Polar = iota
	PolarDay         // never down
	PolarNight       // never up
)

// Daylight is the daylight around one solar noon, to the second, on the site's clock: that of a sea
// horizon, the sun's upper limb seen through standard refraction. Sunrise and Sunset are zero where
// Polar is not NotPolar. At high latitudes Sunset may lie after midnight.
type Daylight struct {
	Sunrise, Noon, Sunset time.Time
	Polar                 Polar
}

// DaylightOn returns the daylight of a local date: around the solar noon nearest to its clock noon.
func DaylightOn(site Site, year int, month time.Month, day int) Daylight {
	sun := sunOn(site, civilOf(year, month, day))
	zone := site.zone()
	light := Daylight{Noon: time.Unix(sun.noon, 0).In(zone), Polar: sun.polar}
	if sun.polar == NotPolar {
		light.Sunrise = time.Unix(sun.rise, 0).In(zone)
		light.Sunset = time.Unix(sun.set, 0).In(zone)
	}
	return light
}

// sunDay is one date's sun, Unix seconds. As days shorten towards the polar night sunrise and sunset
// meet at noon, and towards the polar day they meet their neighbours at solar midnight: there they
// stay while the sun does not cross the horizon, so that every date has both.
type sunDay struct {
	rise, noon, set int64
	polar           Polar
}

func sunOn(site Site, d civil) sunDay {
	clockNoon, _ := instants(site.zone(), int64(d)*daySeconds+daySeconds/2)
	// Mean noon, not apparent: the equation of time must never let two dates share one sun.
	mean := daySeconds/2 - site.LongitudeDeg*secondsPerDegree
	mean += daySeconds * math.Round((float64(clockNoon)-mean)/daySeconds)

	noon := transit(mean, mean, 0, site)
	declination, _ := solar(noon)
	sun := sunDay{noon: int64(math.Round(noon))}
	switch cos := cosHour(site, declination); {
	case cos > 1:
		sun.polar, sun.rise, sun.set = PolarNight, sun.noon, sun.noon
		return sun
	case cos < -1:
		sun.polar = PolarDay
	}
	side := 1.0
	if sun.polar == PolarDay {
		side = 2
	}
	sun.rise = int64(math.Round(transit(mean, noon, -side, site)))
	sun.set = int64(math.Round(transit(mean, noon, side, site)))
	return sun
}

// transit returns when the sun passes, Unix seconds: the meridian (side 0), the horizon before noon
// (-1) or after it (1), the lower meridian before (-2) or after (2). mean is the mean noon.
func transit(mean, guess, side float64, site Site) float64 {
	const enough = 0.01 // s
	for range 12 {
		declination, equationS := solar(guess)
		hourS := side * daySeconds / 4
		if math.Abs(side) == 1 {
			cos := max(-1, min(1, cosHour(site, declination)))
			hourS = side * math.Acos(cos) / degree * secondsPerDegree
		}
		next := mean - equationS + hourS
		if math.Abs(next-guess) < enough {
			return next
		}
		guess = next
	}
	return guess
}

// cosHour returns the cosine of the hour angle at which the upper limb touches the horizon, beyond
// ±1 where it never does. Meeus eq. 15.1 with h0 = −0°50′.
func cosHour(site Site, declination float64) float64 {
	const h0 = -0.833 * degree
	sinLat, cosLat := math.Sincos(site.LatitudeDeg * degree)
	sinDec, cosDec := math.Sincos(declination)
	return (math.Sin(h0) - sinLat*sinDec) / (cosLat * cosDec)
}
