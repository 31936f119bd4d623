package weather

import (
	"fmt"
	"strings"
	"time"
)

// The EPW format is that of the EnergyPlus Auxiliary Programs, "EnergyPlus Weather File (EPW) Data
// Dictionary": eight header lines, then a row for each hour, 35 fields; older programs leave the
// last three out.
const (
	epwFields      = 35
	epwFieldsOlder = 32
	epwHeaderLines = 32 // more than any file has
)

// epwColumns are the fields that are read, with the codes for missing of the data dictionary.
var epwColumns = [...]column{
	{DryBulb, "dry bulb", 6, "°C", 1, 99.9, false, coldestC, hottestC},
	{DewPoint, "dew point", 7, "°C", 1, 99.9, false, coldestC, hottestC},
	{Humidity, "relative humidity", 8, "%", 0.01, 999, true, 0, 110},
	{Pressure, "station pressure", 9, "Pa", 1, 999999, true, 31000, 120000},
	{Sky, "infrared from the sky", 12, "W/m²", 1, 9999, true, 0, 700},
	{Global, "global horizontal radiation", 13, "Wh/m²", 1, 9999, true, 0, brightestWm2},
	{Direct, "direct normal radiation", 14, "Wh/m²", 1, 9999, true, 0, brightestWm2},
	{Diffuse, "diffuse horizontal radiation", 15, "Wh/m²", 1, 9999, true, 0, brightestWm2},
	{Wind, "wind speed", 21, "m/s", 1, 999, true, 0, 115},
	{Cloud, "total sky cover", 22, "tenths", 0.1, 99, true, 0, 10},
}

// satelliteComment comes before the radiation's offset in files made from satellite pictures. The
// offset counts from the row's label as if that were the hour's beginning, an hour late.
const satelliteComment = "Irradiance Time Offset (h):"

func (y *Year) readEPW(l *lines, first string) error {
	if err := y.epwLocation(l, first); err != nil {
		return err
	}
	for {
		text, ok, err := l.next()
		if err != nil {
			return err
		}
		if !ok || l.line > epwHeaderLines {
			return l.fault("no line begins with DATA PERIODS", "an EPW file has eight header lines, the last of them DATA PERIODS")
		}
		head := string(text)
		if strings.HasPrefix(head, "DATA PERIODS") {
			if err := epwPeriods(l, head); err != nil {
				return err
			}
			return y.epwRows(l)
		}
		if _, offset, found := strings.Cut(head, satelliteComment); found {
			h, ok := number(strings.Trim(offset, " \",\t"))
			if !ok || h < -1 || h > 1 {
				return l.fault(fmt.Sprintf("the radiation's time offset is %q", offset), "it lies between -1 and 1 h")
			}
			y.Base, y.InstantH = Instant, h+1
		}
	}
}

// epwLocation reads the first line from its end, since a station's name may hold commas.
func (y *Year) epwLocation(l *lines, head string) error {
	cells := strings.Split(head, ",")
	n := len(cells)
	if n < 10 {
		return l.fault(fmt.Sprintf("LOCATION has %d fields", n),
			"it has ten: the word, city, state, country, source, number, latitude, longitude, time zone, elevation")
	}
	y.Station = strings.TrimSpace(strings.Join(cells[1:n-8], ","))
	return y.place(l, cells[n-4], cells[n-3], cells[n-2], cells[n-1])
}

func epwPeriods(l *lines, head string) error {
	cells := strings.Split(head, ",")
	if len(cells) < 3 || strings.TrimSpace(cells[1]) != "1" || strings.TrimSpace(cells[2]) != "1" {
		return l.fault(fmt.Sprintf("%q is not one period of one row an hour", head), "DATA PERIODS,1,1,… is wanted")
	}
	return nil
}

func (y *Year) epwRows(l *lines) error {
	var cells [epwFields]string
	width := 0
	for {
		text, ok, err := l.next()
		if err != nil || !ok {
			return err
		}
		if len(strings.TrimSpace(string(text))) == 0 {
			continue
		}
		n := split(cells[:], string(text), ",")
		if width == 0 && (n == epwFieldsOlder || n == epwFields) {
			width = n
		}
		if n != width {
			return l.fault(fmt.Sprintf("the row has %d fields", n), "an EPW row has 35, in older files 32, and all rows the same")
		}
		if err := y.epwRow(l, cells[:n]); err != nil {
			return err
		}
	}
}

func (y *Year) epwRow(l *lines, cells []string) error {
	var stamp [5]int
	for i, name := range [...]string{"year", "month", "day", "hour", "minute"} {
		v, ok := number(strings.TrimSpace(cells[i]))
		if !ok || v != float64(int(v)) || v < 0 || v > 9999 {
			return l.fault(fmt.Sprintf("%s is %q", name, cells[i]), "a whole number is wanted")
		}
		stamp[i] = int(v)
	}
	if m := stamp[4]; m != 0 && m != 60 {
		return l.fault(fmt.Sprintf("minute %d", m), "rows are hourly, their minute 0 or 60")
	}
	r := Row{Year: stamp[0], Month: time.Month(stamp[1]), Day: stamp[2], Hour: stamp[3], Line: l.line}
	return y.add(l, &r, epwColumns[:], cells)
}

// add appends r with its values, if it is the hour that comes next.
func (y *Year) add(l *lines, r *Row, columns []column, cells []string) error {
	if what, remedy := y.follows(r); what != "" {
		return l.fault(what, remedy)
	}
	for i := range columns {
		if what, remedy := columns[i].put(y, r, cells[columns[i].at]); what != "" {
			return l.fault(what, remedy)
		}
	}
	r.Humidity = min(r.Humidity, 1)
	if r.SkyWm2 == 0 {
		r.Have &^= Sky // there is no sky so cold: some programs write 0 for missing
	}
	y.Rows = append(y.Rows, *r)
	return nil
}

// split cuts text at its separators into cells and returns how many there are, also beyond cells.
func split(cells []string, text, separator string) int {
	for n := 0; ; n++ {
		cell, rest, more := strings.Cut(text, separator)
		if n < len(cells) {
			cells[n] = cell
		}
		if !more {
			return n + 1
		}
		text = rest
	}
}
