package weather

import (
	"encoding/csv"
	"fmt"
	"strings"
	"time"
)

// The TMY3 format is that of Wilcox and Marion 2008, User's Manual for TMY3 Data Sets,
// NREL/TP-581-43156, tables 1-2 and 1-3: a line for the station, one with the columns' names, a row
// for each hour.

// tmy3Columns are the columns that are read, found by the name in cell `head`; −9900 is the
// manual's code for missing.
var tmy3Columns = [...]column{
	{Global, "GHI (W/m^2)", 0, "W/m²", 1, -9900, false, 0, brightestWm2},
	{Direct, "DNI (W/m^2)", 0, "W/m²", 1, -9900, false, 0, brightestWm2},
	{Diffuse, "DHI (W/m^2)", 0, "W/m²", 1, -9900, false, 0, brightestWm2},
	{Cloud, "TotCld (tenths)", 0, "tenths", 0.1, -9900, false, 0, 10},
	{DryBulb, "Dry-bulb (C)", 0, "°C", 1, -9900, false, coldestC, hottestC},
	{DewPoint, "Dew-point (C)", 0, "°C", 1, -9900, false, coldestC, hottestC},
	{Humidity, "RHum (%)", 0, "%", 0.01, -9900, false, 0, 110},
	{Pressure, "Pressure (mbar)", 0, "mbar", 100, -9900, false, 310, 1200},
	{Wind, "Wspd (m/s)", 0, "m/s", 1, -9900, false, 0, 115},
}

// tmy3Widest is more columns than any file has.
const tmy3Widest = 128

func (y *Year) readTMY3(l *lines, first string) error {
	place := l.line
	text, ok, err := l.next()
	if err != nil {
		return err
	}
	head := strings.Split(string(text), ",")
	if !ok || len(head) < 2 || !strings.HasPrefix(head[0], "Date") || !strings.HasPrefix(head[1], "Time") {
		return &Fault{File: l.name, Line: place, What: "this is neither EPW nor TMY3", Remedy: formats}
	}
	if err := y.tmy3Station(l, place, first); err != nil {
		return err
	}
	columns, err := tmy3Places(l, head)
	if err != nil {
		return err
	}
	return y.tmy3Rows(l, columns, len(head))
}

func (y *Year) tmy3Station(l *lines, line int, first string) error {
	at := lines{name: l.name, line: line}
	cells, err := csv.NewReader(strings.NewReader(first)).Read()
	if err != nil || len(cells) != 7 {
		return at.fault(fmt.Sprintf("the station's line has %d fields", len(cells)),
			"it has seven: number, name, state, time zone, latitude, longitude, elevation")
	}
	y.Station = cells[1]
	return y.place(&at, cells[4], cells[5], cells[3], cells[6])
}

// tmy3Places finds each column by its name.
func tmy3Places(l *lines, head []string) ([]column, error) {
	if len(head) > tmy3Widest {
		return nil, l.fault(fmt.Sprintf("there are %d columns", len(head)), "a TMY3 file has 71")
	}
	columns := make([]column, 0, len(tmy3Columns))
	for _, c := range tmy3Columns {
		c.at = -1
		for i, name := range head {
			if strings.TrimSpace(name) == c.name {
				c.at = i
			}
		}
		if c.at < 0 {
			return nil, l.fault("there is no column "+c.name, "a TMY3 file has it, spelled so")
		}
		columns = append(columns, c)
	}
	return columns, nil
}

func (y *Year) tmy3Rows(l *lines, columns []column, width int) error {
	var cells [tmy3Widest]string
	for {
		text, ok, err := l.next()
		if err != nil || !ok {
			return err
		}
		if len(strings.TrimSpace(string(text))) == 0 {
			continue
		}
		if n := split(cells[:], string(text), ","); n != width {
			return l.fault(fmt.Sprintf("the row has %d fields", n), fmt.Sprintf("its header has %d", width))
		}
		r := Row{Line: l.line}
		if !r.stamp(cells[0], cells[1]) {
			return l.fault(fmt.Sprintf("%q, %q is no date and hour", cells[0], cells[1]), "MM/DD/YYYY,HH:00 is wanted, 01:00 to 24:00")
		}
		if err := y.add(l, &r, columns, cells[:width]); err != nil {
			return err
		}
	}
}

// stamp reads "01/31/1988" and "24:00".
func (r *Row) stamp(date, clock string) bool {
	var parts [3]string
	if split(parts[:], strings.TrimSpace(date), "/") != 3 {
		return false
	}
	var whole [3]int
	for i, text := range parts {
		v, ok := number(text)
		if whole[i] = int(v); !ok || v != float64(whole[i]) || v < 0 || v > 9999 {
			return false
		}
	}
	r.Month, r.Day, r.Year = time.Month(whole[0]), whole[1], whole[2]
	hour, minute, _ := strings.Cut(strings.TrimSpace(clock), ":")
	v, ok := number(hour)
	r.Hour = int(v)
	return ok && minute == "00" && v == float64(r.Hour)
}
