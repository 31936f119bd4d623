package greenhouse

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Over soil the film is Walton's still film (NBSSIR 83-2655), and two where that is less.
func TestFloorFilms(t *testing.T) {
	for _, overK := range []float64{-40, -25, -19, -18, -5, 0, 1, 2.2, 2.3, 5, 20} {
		want := max(2, physics.StillFilmWm2K(unit.Celsius(10+overK), 10, 0, overK > 0))
		if got := floorFilms.wm2K(overK); math.Abs(got-want) > 1e-6 {
			t.Errorf("soil %g K over the air: %g W/(m² K), want %g", overK, got, want)
		}
	}
}
