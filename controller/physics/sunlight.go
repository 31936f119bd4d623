package physics

import "math"

// SolarConstantWm2 is the sun's total irradiance at 1 AU. Kopp and Lean 2011, Geophysical Research
// Letters 38:L01706.
const SolarConstantWm2 = 1361.0

// ExtraterrestrialWm2 returns the irradiance above the air on a surface that faces the sun.
func (s Sun) ExtraterrestrialWm2() float64 {
	return SolarConstantWm2 / (s.DistanceAU * s.DistanceAU)
}

// ExtraterrestrialDayJM2 returns what a level surface above the air would get in a day with the sun
// as it stands, J/m²: 0 in the polar night. Duffie and Beckman 2013, Solar Engineering of
// Thermal Processes, 4th ed., eq. 1.10.3.
func (s Sun) ExtraterrestrialDayJM2(latitudeDeg float64) float64 {
	sinLat, cosLat := math.Sincos(latitudeDeg * degree)
	sinDec, cosDec := math.Sincos(s.DeclinationRad)
	sunset := math.Pi
	if across := cosLat * cosDec; across > 0 {
		sunset = math.Acos(min(max(-sinLat*sinDec/across, -1), 1))
	} else if sinLat*sinDec < 0 {
		sunset = 0
	}
	up := cosLat*cosDec*math.Sin(sunset) + sunset*sinLat*sinDec
	return max(0, dayS/math.Pi*s.ExtraterrestrialWm2()*up)
}
