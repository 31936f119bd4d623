package weather_test

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"loambank/controller/weather"
)

// cell replaces one cell of a line, both from 1.
func cell(text string, line, at int, by string) string {
	rows := strings.SplitAfter(text, "\n")
	cells := strings.Split(rows[line-1], ",")
	cells[at-1] = by
	rows[line-1] = strings.Join(cells, ",")
	return strings.Join(rows, "")
}

// each changes one column of every row of hours.
func each(text string, header, at int, by func(float64) string) string {
	rows := strings.SplitAfter(text, "\n")
	for i := header; i < len(rows); i++ {
		cells := strings.Split(rows[i], ",")
		if len(cells) < at {
			continue
		}
		v, _ := strconv.ParseFloat(cells[at-1], 64)
		cells[at-1] = by(v)
		rows[i] = strings.Join(cells, ",")
	}
	return strings.Join(rows, "")
}

// without leaves lines from..to out, from 1.
func without(text string, from, to int) string {
	rows := strings.SplitAfter(text, "\n")
	return strings.Join(append(append([]string{}, rows[:from-1]...), rows[to:]...), "")
}

func fahrenheit(v float64) string { return fmt.Sprintf("%.1f", v*1.8+32) }

func TestFaultsNameLineAndRemedy(t *testing.T) {
	epw, tmy3 := plain(t, golden), plain(t, greensboro)
	lines := strings.SplitAfter(epw, "\n")
	pick := func(from, to int) string { return strings.Join(lines[from-1:to], "") }
	always := func(s string) func(float64) string { return func(float64) string { return s } }
	for _, c := range []struct {
		name, text string
		line       int
		says       []string
	}{
		{"an empty file", "", 0, []string{"year: the file is empty", "EPW", "TMY3"}},
		{"another kind of file", "time,air\n2024-01-01,3\n", 1, []string{"year:1: this is neither EPW nor TMY3"}},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00", 1, []string{"neither EPW nor TMY3"}},
		{"a zero byte", "LOCATION,a\x00b\n", 1, []string{"zero byte"}},
		{"one line without end", "LOCATION," + strings.Repeat("a", 70000), 1, []string{"longer than 64 kB"}},
		{"a header only", pick(1, 8), 8, []string{"before its first hour", "8760"}},
		{"no DATA PERIODS", pick(1, 7), 7, []string{"DATA PERIODS"}},
		{"half-hourly rows", strings.Replace(epw, "DATA PERIODS,1,1", "DATA PERIODS,1,2", 1), 8, []string{"one row an hour"}},
		{"two periods", strings.Replace(epw, "DATA PERIODS,1,1", "DATA PERIODS,2,1", 1), 8, []string{"one period"}},
		{"a year cut in June", pick(1, 4000), 4000, []string{"after 06-16 hour 8, with 3992 hours", "8760"}},
		{"a row cut in the middle", pick(1, 4000) + lines[4000][:40], 4001, []string{"has 6 fields", "35"}},
		{"8 759 rows, the last missing", pick(1, 8767), 8767, []string{"after 12-31 hour 23, with 8759 hours"}},
		{"an hour missing in spring", without(epw, 2000, 2000), 2000, []string{"03-25 hour 1 stands where 03-24 hour 24 should"}},
		{"an hour twice", pick(1, 100) + pick(100, 8768), 101, []string{"01-04 hour 20 stands where 01-04 hour 21 should"}},
		{"two hours swapped", pick(1, 99) + lines[100] + lines[99] + pick(102, 8768), 100, []string{"01-04 hour 21 stands where 01-04 hour 20"}},
		{"rows after the year", epw + lines[8767], 8769, []string{"rows after 12-31 hour 24"}},
		{"an hour 0", cell(epw, 9, 4, "0"), 9, []string{"hour 0", "1 to 24"}},
		{"an hour 25", cell(epw, 9, 4, "25"), 9, []string{"hour 25"}},
		{"30 February", cell(epw, 9, 3, "30"), 9, []string{"stands where 01-01 hour 1"}},
		{"31 April", cell(cell(epw, 9, 2, "4"), 9, 3, "31"), 9, []string{"day 31 of month 4"}},
		{"month 13", cell(epw, 9, 2, "13"), 9, []string{"month 13"}},
		{"a month in words", cell(epw, 9, 2, "Jan"), 9, []string{`month is "Jan"`}},
		{"half a day", cell(epw, 9, 3, "1.5"), 9, []string{`day is "1.5"`}},
		{"rows on the half hour", cell(epw, 9, 5, "30"), 9, []string{"minute 30", "hourly"}},
		{"a column missing", each(epw, 8, 14, always("1,2")), 9, []string{"has 36 fields"}},
		{"a word for a number", cell(epw, 20, 7, "cold"), 20, []string{`dry bulb is "cold"`, "between -90 and 60 °C"}},
		{"not a number", cell(epw, 20, 14, "NaN"), 20, []string{`global horizontal radiation is "NaN"`}},
		{"an infinity", cell(epw, 20, 22, "1e999"), 20, []string{`wind speed is "1e999"`}},
		{"a hexadecimal number", cell(epw, 20, 7, "0x10"), 20, []string{`dry bulb is "0x10"`}},
		{"Fahrenheit by mistake", each(epw, 8, 7, fahrenheit), 260, []string{"dry bulb is 60.8 °C", "Fahrenheit"}},
		{"Fahrenheit where summers are cool", each(epw, 8, 7, func(v float64) string { return fahrenheit(min(v, 15)) }), 0, []string{"mean is", "Fahrenheit"}},
		{"kelvin by mistake", each(epw, 8, 7, func(v float64) string { return fmt.Sprint(v + 273.15) }), 9, []string{"kelvin"}},
		{"hectopascal in an EPW file", each(epw, 8, 10, func(v float64) string { return fmt.Sprint(v / 100) }), 9, []string{"station pressure is 806 Pa", "another unit"}},
		{"an elevation in feet", strings.Replace(epw, ",1829.0", ",6001.0", 1), 0, []string{"does not suit 6001 m", "metres"}},
		{"humidity over 110 %", cell(epw, 20, 9, "111"), 20, []string{"relative humidity is 111 %"}},
		{"humidity under 0", cell(epw, 20, 9, "-1"), 20, []string{"relative humidity is -1 %"}},
		{"a sun of 2000 W/m²", cell(epw, 20, 14, "2000"), 20, []string{"global horizontal radiation is 2000 Wh/m²", "1500"}},
		{"a sun of −50 W/m²", cell(epw, 20, 15, "-50"), 20, []string{"direct normal radiation is -50"}},
		{"wind from nowhere", cell(epw, 20, 22, "-2"), 20, []string{"wind speed is -2 m/s"}},
		{"no sun at all", each(epw, 8, 14, always("0")), 0, []string{"0 kWh/m²"}},
		{"the sun by night", strings.Replace(epw, "39.74,-105.18,-7.0", "39.74,-135.18,-7.0", 1), 0, []string{"night", "longitude"}},
		{"longitude with its sign wrong", strings.Replace(epw, "39.74,-105.18", "39.74,105.18", 1), 1, []string{"time zone -7 h does not suit longitude 105.18°", "sign"}},
		{"a latitude over 90", strings.Replace(epw, "39.74,-105.18", "139.74,-105.18", 1), 1, []string{"latitude"}},
		{"a place without elevation", strings.Replace(epw, ",1829.0", ",", 1), 1, []string{`elevation is ""`}},
		{"a short LOCATION", strings.Replace(epw, ",CO,USA,TMY3", "", 1), 1, []string{"LOCATION has 7 fields"}},
		{"seven hours without temperature", each(epw, 8, 7, gap(3000, 7, "99.9")), 3009, []string{"dry bulb is missing for 7 hours", "6"}},
		{"four sunny hours without sun", each(each(epw, 8, 14, gap(12, 4, "9999")), 8, 15, gap(12, 4, "9999")), 21, []string{"global radiation is missing for 4 hours", "3"}},
		{"no humidity and no dew point", each(each(epw, 8, 8, always("99.9")), 8, 9, always("999")), 0, []string{"no value of humidity"}},
		{"a satellite offset of a day", strings.Replace(plain(t, satellite), "-0.8239", "-23.8", 1), 7, []string{`"-23.8"`}},

		{"TMY3 with a column renamed", strings.Replace(tmy3, "Dry-bulb (C)", "Dry-bulb (F)", 1), 2, []string{"no column Dry-bulb (C)"}},
		{"TMY3 in another order of date", cell(tmy3, 3, 1, "1988-01-01"), 3, []string{`"1988-01-01"`, "MM/DD/YYYY"}},
		{"TMY3 on the half hour", cell(tmy3, 3, 2, "01:30"), 3, []string{"01:30", "HH:00"}},
		{"TMY3 hour 0", cell(tmy3, 3, 2, "00:00"), 3, []string{"hour 0"}},
		{"TMY3 with a field too few", without(tmy3, 10, 10)[:0] + strings.Replace(tmy3, ",10.0,A,7,6.1", ",10.0,A,6.1", 1), 3, []string{"has 70 fields", "71"}},
		{"TMY3 in Fahrenheit", each(tmy3, 2, 32, fahrenheit), 713, []string{"Fahrenheit"}},
		{"TMY3 cut short", tmy3[:len(tmy3)/2], 0, nil},
		{"TMY3 pressure in Pa", each(tmy3, 2, 41, func(v float64) string { return fmt.Sprint(v * 100) }), 3, []string{"Pressure (mbar)"}},
		{"TMY3 with a station cut short", strings.Replace(tmy3, ",273\n", "\n", 1), 1, []string{"seven"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			y, err := parse(c.text)
			if err == nil {
				t.Fatalf("it is read, with %d rows", len(y.Rows))
			}
			if c.says != nil {
				says(t, err, c.line, c.says...)
			}
		})
	}
}

// gap gives a code instead of n values from the hour with index first.
func gap(first, n int, code string) func(float64) string {
	i := -1
	return func(v float64) string {
		if i++; i >= first && i < first+n {
			return code
		}
		return fmt.Sprint(v)
	}
}

func TestADamagedArchiveIsNamed(t *testing.T) {
	data := packed(t, golden)
	for name, broken := range map[string][]byte{
		"cut short": data[:len(data)/2], "only a beginning": data[:5],
		"a byte flipped": bytes.Replace(data, data[len(data)-8:], []byte("12345678"), 1),
	} {
		_, err := weather.Read("golden.epw.gz", bytes.NewReader(broken))
		if err == nil || !strings.Contains(err.Error(), "golden.epw.gz") || !strings.Contains(err.Error(), "fetch the file again") {
			t.Errorf("%s: %v, want the file's name and what to do", name, err)
		}
	}
}

func TestFormsOfAFileReadAlike(t *testing.T) {
	want := read(t, golden)
	text := plain(t, golden)
	for name, form := range map[string]string{
		"LF line ends":               strings.ReplaceAll(text, "\r\n", "\n"),
		"no end of the last line":    strings.TrimRight(text, "\r\n"),
		"a byte order mark":          "\xef\xbb\xbf" + text,
		"an empty line at the end":   text + "\r\n",
		"blanks about numbers":       strings.ReplaceAll(text, ",-3.0,", ", -3.0 ,"),
		"minute 60":                  each(text, 8, 5, func(float64) string { return "60" }),
		"negative zeros by night":    strings.ReplaceAll(text, ",0,0,0,", ",-0.00,-0,0,"),
		"a comma in the city's name": strings.Replace(text, "Denver Centennial  Golden   Nr", "Denver Centennial,  Golden   Nr", 1),
	} {
		got, err := parse(form)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if diff := cmp.Diff(want.Rows, got.Rows); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", name, diff)
		}
		if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(weather.Year{}, "Name", "Station", "Rows"), cmpopts.IgnoreUnexported(weather.Year{})); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", name, diff)
		}
		for i := range got.Rows {
			if math.Signbit(got.Rows[i].GlobalWm2) {
				t.Fatalf("%s: a negative zero stays", name)
			}
		}
	}
}

func TestMissingCodesAreAbsent(t *testing.T) {
	text := plain(t, golden)
	for _, c := range []struct {
		name, code string
		at         int
		field      weather.Field
	}{
		{"dew point", "99.9", 8, weather.DewPoint},
		{"pressure", "999999", 10, weather.Pressure},
		{"infrared from the sky", "9999", 13, weather.Sky},
		{"infrared of zero", "0", 13, weather.Sky},
		{"wind", "999", 22, weather.Wind},
		{"wind left empty", "", 22, weather.Wind},
		{"sky cover", "99", 23, weather.Cloud},
	} {
		y, err := parse(each(text, 8, c.at, func(float64) string { return c.code }))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for i := range y.Rows {
			if y.Rows[i].Have.Has(c.field) {
				t.Errorf("%s: row %d has it", c.name, i)
				break
			}
		}
		// A long gap leaves hours without a value that is not needed.
		y, err = parse(each(text, 8, c.at, gap(100, 7, c.code)))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if have := y.Rows[99].Have & y.Rows[107].Have; !have.Has(c.field) || (y.Rows[100].Have | y.Rows[106].Have).Has(c.field) {
			t.Errorf("%s: want it missing for seven hours", c.name)
		}
		if y.FilledCount(c.field) != 0 {
			t.Errorf("%s: %d are filled", c.name, y.FilledCount(c.field))
		}
	}
	tmy3, err := parse(each(plain(t, greensboro), 2, 47, func(float64) string { return "-9900" }))
	if err != nil {
		t.Fatal(err)
	}
	if tmy3.Rows[5].Have.Has(weather.Wind) {
		t.Error("TMY3's code for missing wind is taken for wind")
	}
}

func TestALeapYearHas8784Hours(t *testing.T) {
	text := plain(t, golden)
	rows := strings.SplitAfter(text, "\n")
	const march = 8 + 59*24
	var day []string
	for _, row := range rows[march-24 : march] {
		day = append(day, strings.Replace(row, ",2,28,", ",2,29,", 1))
	}
	leap := strings.Join(rows[:march], "") + strings.Join(day, "") + strings.Join(rows[march:], "")
	y, err := parse(leap)
	if err != nil {
		t.Fatal(err)
	}
	if len(y.Rows) != 8784 || y.Start().YearDay() != 1 || y.Start().AddDate(1, 0, 0).Sub(y.Start()).Hours() != 8784 {
		t.Errorf("%d rows from %v", len(y.Rows), y.Start())
	}
	_, err = parse(without(leap, march+24, march+24)) // 8 783 rows
	says(t, err, march+24, "03-01 hour 1 stands where 02-29 hour 24 should")
}

// A year of the other half of the Earth: the same hours half a year on, at the mirrored latitude.
func TestTheSouthernHemisphereIsRead(t *testing.T) {
	rows := strings.SplitAfter(strings.Replace(plain(t, golden), "39.74,-105.18,-7.0", "-39.74,146.8,10.0", 1), "\n")
	out := append([]string{}, rows...)
	for i := range 8760 {
		stamp, from := strings.SplitN(rows[8+i], ",", 5), strings.SplitN(rows[8+(i+182*24)%8760], ",", 5)
		out[8+i] = strings.Join(append(stamp[:4:4], from[4]), ",")
	}
	y, err := parse(strings.Join(out, ""))
	if err != nil {
		t.Fatal(err)
	}
	if y.LatitudeDeg != -39.74 || y.ZoneH != 10 {
		t.Errorf("the place is %v°, zone %v h", y.LatitudeDeg, y.ZoneH)
	}
	dry := column(y, "dry_bulb")
	if january, july := mean(ofMonth(y, dry, 1)), mean(ofMonth(y, dry, 7)); january < july+10 {
		t.Errorf("January has %.1f °C, July %.1f °C", january, july)
	}
}
