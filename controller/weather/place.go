package weather

import (
	"fmt"
	"math"
	"strings"
)

// place reads where a station is. The time zone must suit the longitude: with one sign wrong the
// sun would rise at the wrong hour.
func (y *Year) place(l *lines, latitude, longitude, zone, elevation string) error {
	for _, p := range [...]struct {
		name, text  string
		to          *float64
		least, most float64
		unit        string
	}{
		{"latitude", latitude, &y.LatitudeDeg, -90, 90, "°, north positive"},
		{"longitude", longitude, &y.LongitudeDeg, -180, 180, "°, east positive"},
		{"time zone", zone, &y.ZoneH, -12, 14, "h, east positive"},
		{"elevation", elevation, &y.ElevationM, -1000, 9000, "m"},
	} {
		v, ok := number(strings.TrimSpace(p.text))
		if !ok || v < p.least || v > p.most {
			return l.fault(fmt.Sprintf("the station's %s is %q", p.name, p.text),
				fmt.Sprintf("it lies between %g and %g %s", p.least, p.most, p.unit))
		}
		*p.to = v
	}
	// The clocks that are farthest from the sun's are some three hours off.
	if off := math.Remainder(y.ZoneH-y.LongitudeDeg/15, 24); math.Abs(off) > 4 {
		return l.fault(fmt.Sprintf("time zone %g h does not suit longitude %g°", y.ZoneH, y.LongitudeDeg),
			"both are east positive; is a sign wrong?")
	}
	return nil
}
