package physics

import (
	"math"

	"loambank/config/unit"
)

const (
	degree = math.Pi / 180
	// secondsPerDegree is the time in which the Earth turns by one degree against the mean sun.
	secondsPerDegree = dayS / 360
)

// Sun is where the sun stands as seen from the Earth's centre.
//
// Its place is the low-accuracy one of J. Meeus, Astronomical Algorithms, 2nd ed. (1998), ch. 25, in
// the form of NOAA's solar calculator: 0.01° between 1900 and 2100.
type Sun struct {
	DeclinationRad float64 // apparent, north of the equator positive
	EquationS      float64 // equation of time, apparent less mean solar time, s
	DistanceAU     float64 // 0.983 to 1.017
}

// SunAt returns the sun at unixS, Unix seconds. Universal time stands in for dynamical time; the
// minute between them moves the sun by less than 0.001°.
func SunAt(unixS float64) Sun {
	const j2000 = 946728000 // 2000-01-01 12:00 UTC
	t := (unixS - j2000) / (36525 * dayS)

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

	// Equation of time: Smart's form, eq. 28.3.
	tanHalf := sinEpsilon / (1 + cosEpsilon)
	y := tanHalf * tanHalf
	sin2L, cos2L := math.Sincos(2 * l0)
	equation := y*sin2L - 2*e*sinM + 4*e*y*sinM*cos2L - y*y*sin2L*cos2L - 1.25*e*e*sin2M
	return Sun{
		DeclinationRad: math.Asin(sinEpsilon * math.Sin(lambda)), // eq. 25.7
		EquationS:      equation / degree * secondsPerDegree,
		DistanceAU:     1.000001018 * (1 - e*e) / (1 + e*math.Cos(m+c*degree)), // eq. 25.5
	}
}

// SunPosition returns where the sun's centre stands at unixS, Unix seconds, without refraction:
// elevation over the horizon, −90 to 90°, and azimuth from north through east, 0 to 360°. Latitude
// is positive north, longitude east. Meeus eq. 13.5 and 13.6.
func SunPosition(unixS, latitudeDeg, longitudeDeg float64) (elevationDeg, azimuthDeg float64) {
	sun := SunAt(unixS)
	sinHour, cosHour := math.Sincos(sun.HourAngleDeg(unixS, longitudeDeg) * degree)
	sinLat, cosLat := math.Sincos(latitudeDeg * degree)
	sinDec, cosDec := math.Sincos(sun.DeclinationRad)
	east := -cosDec * sinHour
	north := cosLat*sinDec - sinLat*cosDec*cosHour
	up := sinLat*sinDec + cosLat*cosDec*cosHour
	azimuthDeg = math.Atan2(east, north) / degree
	if azimuthDeg < 0 {
		azimuthDeg += 360
	}
	return math.Atan2(up, math.Hypot(east, north)) / degree, azimuthDeg
}

// HourAngleDeg returns how far the sun is past the meridian of longitudeDeg at unixS, degrees; whole
// turns may be added.
func (s Sun) HourAngleDeg(unixS, longitudeDeg float64) float64 {
	turnedS := math.Mod(unixS, dayS) - dayS/2 + s.EquationS
	return turnedS/secondsPerDegree + longitudeDeg
}

// RefractionDeg returns by how much air lifts a body that truly stands at elevationDeg. Sæmundsson
// 1986, in Meeus eq. 16.4, with the factor for air that follows it; 0 under −1°.
func RefractionDeg(elevationDeg, pPa float64, air unit.Celsius) float64 {
	if elevationDeg < -1 {
		return 0
	}
	minutes := 1.02 / math.Tan((elevationDeg+10.3/(elevationDeg+5.11))*degree)
	return max(0, minutes/60*pPa/101000*283/(273+float64(air)))
}
