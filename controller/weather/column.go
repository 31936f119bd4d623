package weather

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// column is how a format writes one quantity.
type column struct {
	field   Field
	name    string  // as people call it
	at      int     // its place in a row, from 0
	unit    string  // as the format has it
	factor  float64 // to SI
	missing float64 // the code for no value
	beyond  bool    // greater values mean the same
	least   float64 // what can be, in the format's unit
	most    float64
}

// What can be, whatever the format: the hottest and coldest of the Earth's surface air, 56.7 and
// −89.2 °C, and the strongest gust, 113 m/s, are from the World Meteorological Organization's
// archive of extremes; radiation is bound by the solar constant, 1361 W/m², and by what clouds
// can add on the horizontal for minutes.
const (
	coldestC, hottestC = -90, 60
	brightestWm2       = 1500
	// nightWm2 is how far under zero an instrument's zero drifts by night, W/m²; common practice,
	// no source.
	nightWm2 = 10
)

// number reads a plain decimal number; what ParseFloat takes besides (NaN, 0x1p4, 1_000) is none.
func number(text string) (float64, bool) {
	for i := range len(text) {
		if c := text[i]; (c < '0' || c > '9') && !strings.ContainsRune("+-.eE", rune(c)) {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// put reads a cell into r: nothing where it is empty or holds the code for missing.
func (c *column) put(y *Year, r *Row, text string) (what, remedy string) {
	text = strings.TrimSpace(text)
	if text == "" {
		return "", ""
	}
	v, ok := number(text)
	if !ok {
		return fmt.Sprintf("%s is %q, which is no number", c.name, text), c.extent()
	}
	if v == c.missing || c.beyond && v > c.missing {
		return "", ""
	}
	if c.field&(Global|Direct|Diffuse) != 0 && v <= 0 && v >= -nightWm2 {
		if v < 0 {
			y.clipped++
		}
		v = 0 // also for negative zero
	}
	if v < c.least || v > c.most {
		return fmt.Sprintf("%s is %s %s", c.name, text, c.unit), c.hint(v)
	}
	*r.value(c.field) = v * c.factor
	r.Have |= c.field
	return "", ""
}

func (c *column) extent() string {
	return fmt.Sprintf("it lies between %g and %g %s", c.least, c.most, c.unit)
}

// hint guesses which unit an impossible value is in.
func (c *column) hint(v float64) string {
	switch {
	case c.field&(DryBulb|DewPoint) != 0 && v > c.most && v <= 140:
		return "no air is that hot in °C, so the file seems to be in Fahrenheit; both formats hold °C"
	case c.field&(DryBulb|DewPoint) != 0 && v > 180 && v < 340:
		return "the file seems to be in kelvin; both formats hold °C"
	case c.field == Pressure && v*c.factor < c.least*c.factor && v > 0:
		return c.extent() + "; is it in another unit of pressure?"
	}
	return c.extent()
}
