package physics

import (
	"fmt"
	"math"

	"loambank/config/unit"
)

// Covering is what a house is covered with. The zero value is a single film.
type Covering uint8

// The closed list of coverings.
const (
	SingleFilm     Covering = iota // polyethylene
	DoubleFilm                     // two films, air blown between
	DoubleFilmCurt                 // with a thermal screen drawn
	SingleFilmRow                  // row cover over the beds
	SingleGlass
	TwinWall      // polycarbonate, 8 mm
	coverings int = iota
)

// ipToSI is one BTU/(h ft² °F) in W/(m² K); NIST SP 811.
const ipToSI = 5.678263

// covers holds heat transmittances of NRAES-33, Greenhouse Engineering, and ASABE EP460, from
// memory: 15 % apart between published tables. Between air inside and air outside, in a moderate
// wind, with all radiation, referred to the cover's area.
var covers = [coverings]struct {
	name string
	ip   float64 // BTU/(h ft² °F), as published
}{
	SingleFilm:     {"single film", 1.2},
	DoubleFilm:     {"double film", 0.7},
	DoubleFilmCurt: {"double film with screen", 0.35},
	SingleFilmRow:  {"single film over row cover", 0.8},
	SingleGlass:    {"single glass", 1.1},
	TwinWall:       {"twin-wall", 0.6},
}

func (c Covering) known() Covering {
	if int(c) < coverings {
		return c
	}
	return SingleFilm
}

// UWm2K returns the covering's heat transmittance, W/(m² K), from published tables; unknown
// coverings count as a single film.
func (c Covering) UWm2K() float64 { return covers[c.known()].ip * ipToSI }

// String returns the covering's name as people write it, for example "double film".
func (c Covering) String() string { return covers[c.known()].name }

// MarshalText writes the covering's name; it never fails.
func (c Covering) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads a covering's name.
func (c *Covering) UnmarshalText(text []byte) error {
	for i, one := range covers {
		if one.name == string(text) {
			*c = Covering(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no covering; single film, double film, double film with screen, single film over row cover, single glass and twin-wall are", text)
}

// CoverSurface returns the temperature of a cover's inner face between air inside and outside.
// insideWm2K is the coefficient between it and the inside, 8.3 W/(m² K) by common practice; resistances
// in series.
func CoverSurface(inside, outside unit.Celsius, uWm2K, insideWm2K float64) unit.Celsius {
	if !(insideWm2K > 0) {
		return outside
	}
	share := min(max(uWm2K/insideWm2K, 0), 1)
	return inside.Add(unit.Kelvin(share) * outside.Sub(inside))
}

// DripHumidity returns the relative humidity inside from which water condenses on a surface, 0 to 1.
func DripHumidity(inside, surface unit.Celsius) float64 {
	return min(1, SatPressurePa(surface)/SatPressurePa(inside))
}

// HalfCylinder returns the cover's area, both ends included, and the air volume of a house that is
// half a round tube.
func HalfCylinder(widthM, lengthM float64) (coverM2, volumeM3 float64) {
	r := widthM / 2
	return math.Pi * r * (lengthM + r), math.Pi / 2 * r * r * lengthM
}
