package season

import (
	"math"
	"time"

	"loambank/controller/physics"
)

const (
	degree = math.Pi / 180
	// secondsPerDegree is the time in which the Earth turns by one degree against the mean sun.
	secondsPerDegree = daySeconds / 360
)

// solar returns the apparent declination δ, rad, and the equation of time (apparent − mean), s.
func solar(unix float64) (declination, equationS float64) {
	sun := physics.SunAt(unix)
	return sun.DeclinationRad, sun.EquationS
}

// SunPosition returns where the sun's centre stands, without refraction: elevation over the horizon,
// -90 to 90°, and azimuth from north through east, 0 to 360°.
func SunPosition(site Site, t time.Time) (elevationDeg, azimuthDeg float64) {
	unix := float64(t.Unix()) + float64(t.Nanosecond())*1e-9
	return physics.SunPosition(unix, site.LatitudeDeg, site.LongitudeDeg)
}
