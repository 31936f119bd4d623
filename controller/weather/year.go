package weather

import (
	"time"

	"loambank/config/unit"
)

// Field is a set of a row's quantities. The zero value is none.
type Field uint16

// The quantities of a row, in the order in which they are counted.
const (
	DryBulb Field = 1 << iota
	DewPoint
	Humidity
	Pressure
	Global
	Direct
	Diffuse
	Wind
	Sky
	Cloud

	fields = iota
)

// Has reports whether all of some are in f.
func (f Field) Has(some Field) bool { return f&some == some }

// Row is what a file says of one hour.
type Row struct {
	Year   int // the source year of its month
	Month  time.Month
	Day    int
	Hour   int   // 1 to 24, the hour that ends then, local standard time
	Line   int   // in the file
	Have   Field // what holds a value; all else is zero and means nothing
	Filled Field // what of it the file lacked and its neighbours gave

	DryBulb    unit.Celsius // at Hour:00, like all but radiation
	DewPoint   unit.Celsius
	Humidity   float64 // relative, over liquid water, 0 to 1
	PressurePa float64 // at the station
	GlobalWm2  float64 // on the horizontal, a mean over the hour, see TimeBase
	DirectWm2  float64 // on a plane that faces the sun, likewise
	DiffuseWm2 float64 // on the horizontal, likewise
	WindMS     float64
	SkyWm2     float64 // thermal radiation from the sky on the horizontal
	Cloud      float64 // share of the sky, 0 to 1
}

// value returns where the row keeps the one field f.
func (r *Row) value(f Field) *float64 {
	switch f {
	case DryBulb:
		return (*float64)(&r.DryBulb)
	case DewPoint:
		return (*float64)(&r.DewPoint)
	case Humidity:
		return &r.Humidity
	case Pressure:
		return &r.PressurePa
	case Global:
		return &r.GlobalWm2
	case Direct:
		return &r.DirectWm2
	case Diffuse:
		return &r.DiffuseWm2
	case Wind:
		return &r.WindMS
	case Sky:
		return &r.SkyWm2
	}
	return &r.Cloud
}

// TimeBase says what time a row's radiation stands for.
type TimeBase uint8

// The two kinds of files.
const (
	// HourEnding radiation is the mean of the hour that ends at the row's label: TMY3 and the EPW
	// files made from stations (Wilcox and Marion 2008, NREL/TP-581-43156, table 1-3).
	HourEnding TimeBase = iota
	// Instant radiation is that of an instant, Year.InstantH after the label: files made from
	// satellite pictures. It is taken for the mean of the hour around that instant.
	Instant
)

// Year is a whole year of hourly weather.
type Year struct {
	Name         string  // as given to Read
	Station      string  // as the file calls it
	LatitudeDeg  float64 // north positive, -90 to 90
	LongitudeDeg float64 // east positive, -180 to 180
	ElevationM   float64
	ZoneH        float64 // local standard time less UTC, h, -12 to 14
	Base         TimeBase
	InstantH     float64 // of Instant files: radiation's instant less the label, h
	Rows         []Row   // 8760, or 8784 with a 29 February

	filled  [fields]int
	clipped int
}

// FilledCount is how many values of the one field f were missing and filled from their neighbours.
func (y *Year) FilledCount(f Field) int {
	for i := range fields {
		if f == 1<<i {
			return y.filled[i]
		}
	}
	return 0
}

// ClippedCount is how many radiation values stood a little under zero, as instruments read at
// night, and were taken for zero. The "-0.00" that some programs write is not counted.
func (y *Year) ClippedCount() int { return y.clipped }

// Zone is the file's clock: local standard time the year round.
func (y *Year) Zone() *time.Location {
	return time.FixedZone("LST", int(y.ZoneH*3600))
}

// Start is the beginning of the year's first hour, in a calendar year that has as many days:
// 2003, or 2004 with its 29 February.
func (y *Year) Start() time.Time {
	year := 2003
	if len(y.Rows) == leapHours {
		year = 2004
	}
	return time.Date(year, time.January, 1, 0, 0, 0, 0, y.Zone())
}

// Step is the index among the steps of Resample in which t lies, whatever its year and zone. The 29
// February that a year does not have is its 28.
func (y *Year) Step(t time.Time, step time.Duration) int {
	t = t.In(y.Zone())
	start := y.Start()
	month, day := t.Month(), t.Day()
	if month == time.February && day == 29 && len(y.Rows) == yearHours {
		day = 28
	}
	sinceMidnight := t.Sub(time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location()))
	days := time.Date(start.Year(), month, day, 0, 0, 0, 0, start.Location()).Sub(start)
	return int((days + sinceMidnight) / step)
}

// radiationS returns the middle of the hour that row i's radiation stands for, s after Start.
func (y *Year) radiationS(i int) float64 {
	if y.Base == Instant {
		return (float64(i) + 1 + y.InstantH) * 3600
	}
	return (float64(i) + 0.5) * 3600
}
