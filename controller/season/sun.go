package season

import (
	"math"
	"time"
)

// The sun's place is the low-accuracy one of J. Meeus, Astronomical Algorithms, 2nd ed. (1998),
// ch. 25, in the form of NOAA's solar calculator: 0.01° between 1900 and 2100. Universal time stands
// in for dynamical time; the minute between them moves the sun by less than 0.001°.

const (
	degree = math.Pi / 180
	// secondsPerDegree is the time in which the Earth turns by one degree against the mean sun.
	secondsPerDegree = daySeconds / 360
)

// solar returns the apparent declination δ, rad, and the equation of time (apparent − mean), s.
func solar(unix float64) (declination, equationS float64) {
	const j2000 = 946728000 // 2000-01-01 12:00 UTC
	t := (unix - j2000) / (36525 * daySeconds)

	l0 := (280.46646 + t*(36000.76983+t*0.0003032)) * degree // eq. 25.2
	m := (357.52911 + t*(35999.05029-t*0.0001537)) * degree  // eq. 25.3
	e := 0.016708634 - t*(0.000042037+t*0.0000001267)        // eq. 25.4
	sinM, cosM := math.Sincos(m)
	sin2M := 2 * sinM * cosM
	sin3M := sinM * (3 - 4*sinM*sinM)
	c := (1.914602-t*(0.004817+t*0.000014))*sinM + (0.019993-t*0.000101)*sin2M + 0.000289*sin3M
	sinOmega, cosOmega := math.Sincos((125.04 - 1934.136*t) * degree)
	lambda := l0 + (c-0.00569-0.00478*sinOmega)*degree                                         // apparent longitude
	epsilon := (23.4392911 - t*(0.0130042+t*(1.64e-7-t*5.036e-7)) + 0.00256*cosOmega) * degree // eq. 22.2, 25.8

	sinEpsilon, cosEpsilon := math.Sincos(epsilon)
	declination = math.Asin(sinEpsilon * math.Sin(lambda)) // eq. 25.7

	// Equation of time: Smart's form, eq. 28.3.
	tanHalf := sinEpsilon / (1 + cosEpsilon)
	y := tanHalf * tanHalf
	sin2L, cos2L := math.Sincos(2 * l0)
	equation := y*sin2L - 2*e*sinM + 4*e*y*sinM*cos2L - y*y*sin2L*cos2L - 1.25*e*e*sin2M
	return declination, equation / degree * secondsPerDegree
}

// SunPosition returns where the sun's centre stands, without refraction: elevation over the horizon,
// -90 to 90°, and azimuth from north through east, 0 to 360°. Meeus eq. 13.5 and 13.6.
func SunPosition(site Site, t time.Time) (elevationDeg, azimuthDeg float64) {
	unix := float64(t.Unix()) + float64(t.Nanosecond())*1e-9
	declination, equationS := solar(unix)
	turnedS := math.Mod(unix, daySeconds) - daySeconds/2 + equationS
	hour := (turnedS/secondsPerDegree + site.LongitudeDeg) * degree

	sinLat, cosLat := math.Sincos(site.LatitudeDeg * degree)
	sinDec, cosDec := math.Sincos(declination)
	sinHour, cosHour := math.Sincos(hour)
	east := -cosDec * sinHour
	north := cosLat*sinDec - sinLat*cosDec*cosHour
	up := sinLat*sinDec + cosLat*cosDec*cosHour
	azimuthDeg = math.Atan2(east, north) / degree
	if azimuthDeg < 0 {
		azimuthDeg += 360
	}
	return math.Atan2(up, math.Hypot(east, north)) / degree, azimuthDeg
}
