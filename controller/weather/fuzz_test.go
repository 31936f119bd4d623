package weather_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"loambank/controller/weather"
)

// repeat makes a file's header and first row into a year, so that what a fuzzer changes in them
// reaches the checks of whole years.
func repeat(text string, header int) string {
	rows := strings.SplitAfter(text, "\n")
	if len(rows) <= header {
		return text
	}
	return strings.Join(rows[:header+1], "")
}

func FuzzRead(f *testing.F) {
	epw, tmy3 := plain(f, golden), plain(f, greensboro)
	for _, seed := range []string{
		"", "LOCATION,", repeat(epw, 8), repeat(epw, 30), repeat(tmy3, 2), repeat(tmy3, 30),
		repeat(plain(f, satellite), 12), "\x1f\x8b", string(packed(f, greensboro)[:400]),
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		y, err := parse(text)
		var fault *weather.Fault
		if err == nil || !errors.As(err, &fault) || fault.What == "" || fault.Remedy == "" || fault.Line < 0 {
			t.Fatalf("%v, %v: a text this short is no year, want a fault", y, err)
		}
	})
}

// FuzzRow puts a cell into a whole year: it is refused, or what comes out is a year of numbers.
func FuzzRow(f *testing.F) {
	lines := strings.SplitAfter(plain(f, satellite), "\n")
	for _, seed := range []string{"99.9", "-0.00", "1e3", "", " 7 ", "999", "9999", "NaN", "0x1p4", "-9900", "٣", "1,2"} {
		f.Add(uint16(3000), uint8(6), seed)
		f.Add(uint16(0), uint8(13), seed)
	}
	f.Fuzz(func(t *testing.T, row uint16, column uint8, text string) {
		out := append([]string{}, lines...)
		at := 8 + int(row)%8760
		cells := strings.Split(out[at], ",")
		cells[int(column)%len(cells)] = text
		out[at] = strings.Join(cells, ",")
		y, err := parse(strings.Join(out, ""))
		if err != nil {
			return
		}
		if len(y.Rows) != 8760 {
			t.Fatalf("%d rows", len(y.Rows))
		}
		r := &y.Rows[at-8]
		for _, v := range []float64{
			float64(r.DryBulb), float64(r.DewPoint), r.Humidity, r.PressurePa, r.GlobalWm2, r.DirectWm2,
			r.DiffuseWm2, r.WindMS, r.SkyWm2, r.Cloud,
		} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%q in column %d gives %+v", text, column, r)
			}
		}
	})
}
