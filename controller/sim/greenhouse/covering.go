package greenhouse

import "loambank/controller/physics"

// CoverOf returns the cover that a settings file calls by its name, in daily use: transmission with
// frame and dirt, which take a fifth of what new sheets let through (greenhouse-S016 to S018).
// Polyethylene is plain, without infrared blocker; a screen closes in the dark. A row cover is the
// crop's, not the house's: the house under it has a single film.
func CoverOf(c physics.Covering) Cover {
	const plain = 0.65 // thermal radiation through one film of polyethylene
	double := Cover{Films: 2, Transmission: 0.6, Absorption: 0.08, Thermal: plain}
	switch c {
	case physics.DoubleFilm:
		return double
	case physics.DoubleFilmCurt:
		double.Screen = Screen{UnderWm2: 10, Thermal: 0.4}
		return double
	case physics.SingleGlass:
		return Cover{Films: 1, Transmission: 0.7, Absorption: 0.05}
	case physics.TwinWall:
		return Cover{Films: 2, Transmission: 0.62, Absorption: 0.08}
	}
	return Cover{Films: 1, Transmission: 0.68, Absorption: 0.05, Thermal: plain}
}
