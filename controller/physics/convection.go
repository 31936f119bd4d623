package physics

import (
	"math"

	"loambank/config/unit"
)

// WindFilmWm2K returns the coefficient of convection between wind and the outside of a house of
// volumeM3, W/(m² K), without radiation: max(5, 8.6 V^0.6/L^0.4), L the cube root of the
// volume. Mitchell 1976, Heat transfer from spheres and other animal forms, Biophysical Journal
// 16:561, as recommended in Duffie and Beckman 2013, eq. 3.15.10. A volume of 0 or less counts as
// 1 m³.
func WindFilmWm2K(windMs, volumeM3 float64) float64 {
	if !(volumeM3 > 0) {
		volumeM3 = 1
	}
	return max(5, 8.6*math.Pow(max(windMs, 0), 0.6)/math.Pow(volumeM3, 0.4/3))
}

// StillFilmWm2K returns the coefficient of natural convection between a surface and still air inside,
// W/(m² K), without radiation. tiltDeg is the surface's from level, 0 to 90; upward says that heat
// flows upward through the film: a floor warmer than the air, a roof colder. Walton 1983, Thermal
// Analysis Research Program Reference Manual, NBSSIR 83-2655: 1.31 |ΔT|^⅓ for a wall. Fans that
// stir the air make it more.
func StillFilmWm2K(surface, air unit.Celsius, tiltDeg float64, upward bool) float64 {
	root := math.Cbrt(math.Abs(float64(surface.Sub(air))))
	cos := math.Abs(math.Cos(tiltDeg * degree))
	switch {
	case cos < 1e-9:
		return 1.31 * root
	case upward:
		return 9.482 * root / (7.238 - cos)
	}
	return 1.810 * root / (1.382 + cos)
}
