package weather

import (
	"fmt"
	"math"
)

// quantityNames are what people call a row's quantities, in the order of Field.
var quantityNames = [fields]string{
	"air temperature", "dew point", "humidity", "pressure", "sunshine on the level", "direct sunshine",
	"diffuse sunshine", "wind", "infrared light of the sky", "cloud",
}

// Notes returns what a person who trusts this year must know of it: what its file lacked and was
// filled, what was clipped, and whether its sunshine comes at another time than the sun. Empty for
// a whole file.
func (y *Year) Notes() []string {
	var notes []string
	for i := range fields {
		switch n := y.FilledCount(1 << i); n {
		case 0:
		case 1:
			notes = append(notes, "one hour's "+quantityNames[i]+" was missing and is filled from its neighbours")
		default:
			notes = append(notes, fmt.Sprintf("%d hours of %s were missing and are filled from their neighbours", n, quantityNames[i]))
		}
	}
	if n := y.ClippedCount(); n > 0 {
		notes = append(notes, fmt.Sprintf("%d values of sunshine stood a little under zero and count as zero", n))
	}
	const lateH = 0.4
	if late, ok := y.SunLateH(); ok && math.Abs(late) > lateH {
		word := "later"
		if late < 0 {
			word = "earlier"
		}
		notes = append(notes, fmt.Sprintf("its sunshine comes %.1f h %s than the sun: its hours are probably not those of its format", math.Abs(late), word))
	}
	return notes
}
