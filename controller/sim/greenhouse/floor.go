package greenhouse

import (
	"math"

	"loambank/controller/physics"
)

// floorFilm is the coefficient between a level surface of soil and air, W/(m² K). A still film goes with
// the cube root of the difference: it is warmWm2K over soil that is 1 K warmer and coldWm2K over soil that
// is 1 K colder. Circulating fans keep it over stirredWm2K, which it passes from warmK and coldK on.
type floorFilm struct {
	stirredWm2K, warmWm2K, coldWm2K float64
	warmK, coldK                    float64
	cubeRoot                        *physics.Power
}

// floorFilms: that fans keep it over two is common practice, no source.
var floorFilms = newFloorFilm(2)

func newFloorFilm(stirredWm2K float64) floorFilm {
	f := floorFilm{
		stirredWm2K: stirredWm2K, cubeRoot: physics.NewPower(1.0 / 3),
		warmWm2K: physics.StillFilmWm2K(1, 0, 0, true), coldWm2K: physics.StillFilmWm2K(0, 1, 0, false),
	}
	f.warmK, f.coldK = math.Pow(stirredWm2K/f.warmWm2K, 3), math.Pow(stirredWm2K/f.coldWm2K, 3)
	return f
}

// wm2K is the coefficient while the soil is so much warmer than the air.
func (f *floorFilm) wm2K(overK float64) float64 {
	switch {
	case overK > f.warmK:
		return f.warmWm2K * f.cubeRoot.At(overK)
	case overK < -f.coldK:
		return f.coldWm2K * f.cubeRoot.At(-overK)
	}
	return f.stirredWm2K
}
