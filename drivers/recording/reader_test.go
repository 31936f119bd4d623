package recording

import (
	"io"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
)

func place(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// all reads a recording to its end and returns its rows as text, with their lines.
func all(r interface{ Next(*Row) error }) (rows []Row, err error) {
	var row Row // reused, as callers do
	for {
		if err := r.Next(&row); err == io.EOF {
			return rows, nil
		} else if err != nil {
			return rows, err
		}
		rows = append(rows, Row{row.Time, slices.Clone(row.Values), slices.Clone(row.OK), row.Line})
	}
}

func times(rows []Row) []string {
	var s []string
	for _, r := range rows {
		s = append(s, r.Time.Format(time.RFC3339Nano))
	}
	return s
}

func TestRows(t *testing.T) {
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	two := []Row{
		{at("2026-01-31T16:00:00Z"), []float64{21.5, 0.5}, []bool{true, true}, 2},
		{at("2026-01-31T16:10:00Z"), []float64{-1, 0}, []bool{true, false}, 3},
	}
	const plain = "time,lower/air_degC,lower/damp_percent\n2026-01-31T17:00:00+01:00,21.5,50\n2026-01-31T17:10:00+01:00,-1,\n"
	tests := []struct {
		name, text string
		want       []Row
		missing    int64
	}{
		{"LF line ends", plain, two, 1},
		{"CRLF line ends", strings.ReplaceAll(plain, "\n", "\r\n"), two, 1},
		{"both line ends mixed", strings.Replace(plain, "\n", "\r\n", 1), two, 1},
		{"a byte order mark before the header", "\ufeff" + plain, two, 1},
		{"no line end after the last row", strings.TrimSuffix(plain, "\n"), two, 1},
		{"NaN in any case is missing", strings.Replace(plain, "-1,\n", "-1,nAn\n", 1), two, 1},
		{"spaces around headers, times and numbers", "time , lower/air_degC,lower/damp_percent\n 2026-01-31T16:00:00Z , 21.5 ,50\n2026-01-31T16:10:00Z,-1, \n", two, 1},
		{"quoted cells", `"time","lower/air_degC","lower/damp_percent"` + "\n2026-01-31T16:00:00Z,\"21.5\",50\n2026-01-31T16:10:00Z,-1,\"\"\n", two, 1},
		{"the time in another column than the first", "lower/air_degC,time,lower/damp_percent\n21.5,2026-01-31T16:00:00Z,50\n-1,2026-01-31T16:10:00Z,\n", two, 1},
		{
			"a header with a line end in quotes moves the lines on", "time,\"lower/\nair_degC\",lower/damp_percent\n2026-01-31T16:00:00Z,21.5,50\n2026-01-31T16:10:00Z,-1,\n",
			[]Row{{two[0].Time, two[0].Values, two[0].OK, 3}, {two[1].Time, two[1].Values, two[1].OK, 4}},
			1,
		},
		{
			"an empty line is no row", strings.Replace(plain, "\n2026-01-31T17:10", "\n\n2026-01-31T17:10", 1),
			[]Row{two[0], {two[1].Time, two[1].Values, two[1].OK, 4}},
			1,
		},
		{"no row at all", "time,lower/air_degC\n", nil, 0},
		{
			"of equal times the last row holds, as a whole", "time,a,b\n2026-01-31T16:00:00Z,1,2\n2026-01-31T17:00:00+01:00,3,\n",
			[]Row{{two[0].Time, []float64{3, 0}, []bool{true, false}, 3}},
			1,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := NewReader(strings.NewReader(tt.text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			rows, err := all(r)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(tt.want, rows); d != "" {
				t.Errorf("rows (-want +got):\n%s", d)
			}
			if s := r.Stats(); s.Missing != tt.missing || s.Rows != int64(len(tt.want)) {
				t.Errorf("stats %+v; want %d missing in %d rows", s, tt.missing, len(tt.want))
			}
			if err := r.Next(new(Row)); err != io.EOF {
				t.Errorf("after the end: %v; want io.EOF again", err)
			}
		})
	}
}

func TestHeader(t *testing.T) {
	tests := []struct {
		header string
		want   Column
		in     string
		value  float64
	}{
		{"lower/crop-air_degC", Column{House: "lower", Probe: "crop-air", Unit: "degC", SI: "degC"}, "21.5", 21.5},
		// sun_and_time has no units; 50 °F = 10 °C and 0 °F = -17.78 °C by the definition of °F.
		{"lower/air_degF", Column{House: "lower", Probe: "air", Unit: "degF", SI: "degC"}, "50", 10},
		{"lower/air_degF", Column{House: "lower", Probe: "air", Unit: "degF", SI: "degC"}, "-40", -40},
		{"lower/air_K", Column{House: "lower", Probe: "air", Unit: "K", SI: "degC"}, "273.15", 0},
		{"lower/beds/soil_between_degC", Column{House: "lower", Store: "beds", Probe: "soil_between", Unit: "degC", SI: "degC"}, "12", 12},
		{"lower/damp_percent", Column{House: "lower", Probe: "damp", Unit: "percent", SI: "1"}, "55", 0.55},
		{"lower/damp_fraction", Column{House: "lower", Probe: "damp", Unit: "fraction", SI: "1"}, "0.55", 0.55},
		{"lower/vent_contact", Column{House: "lower", Probe: "vent", Unit: "contact", SI: "1"}, "1", 1},
		{"lower/beds/east_kW", Column{House: "lower", Store: "beds", Probe: "east", Unit: "kW", SI: "W"}, "0.6", 600},
		{"lower/beds/east_m3h", Column{House: "lower", Store: "beds", Probe: "east", Unit: "m3h", SI: "m3s"}, "1800", 0.5},
		// 1 ft = 0.3048 m exactly (international yard and pound agreement, 1959).
		{"lower/beds/east_cfm", Column{House: "lower", Store: "beds", Probe: "east", Unit: "cfm", SI: "m3s"}, "60", 0.028316846592},
		{"lower/p_hPa", Column{House: "lower", Probe: "p", Unit: "hPa", SI: "Pa"}, "1013.25", 101325},
		{"air_degF", Column{Unit: "degF", SI: "degC"}, "32", 0},
		{"/air_degC", Column{Unit: "degC", SI: "degC"}, "1", 1},
		{"a/b/c/d_degC", Column{Unit: "degC", SI: "degC"}, "1", 1},
		{"lower/air_degc", Column{}, "1", 1},
		{"T1", Column{}, "-1e-3", -0.001},
	}
	for _, tt := range tests {
		t.Run(tt.header+" "+tt.in, func(t *testing.T) {
			r, err := NewReader(strings.NewReader("time,"+tt.header+"\n2026-01-31T16:00:00Z,"+tt.in+"\n"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			tt.want.Header = tt.header
			if d := cmp.Diff([]Column{tt.want}, r.Columns()); d != "" {
				t.Errorf("columns (-want +got):\n%s", d)
			}
			var row Row
			if err := r.Next(&row); err != nil {
				t.Fatal(err)
			}
			// 1e-12 is far above the rounding of a double here.
			if d := row.Values[0] - tt.value; d > 1e-12 || d < -1e-12 {
				t.Errorf("%s gives %v; want %v", tt.in, row.Values[0], tt.value)
			}
		})
	}
}

func TestMultiplesOfNineFahrenheitAreExact(t *testing.T) {
	for f, c := -40, -40; f <= 212; f, c = f+9, c+5 {
		m := measures[1]
		if got := (float64(f) - m.zero) * m.num / m.den; got != float64(c) {
			t.Errorf("%d °F gives %v °C; want %d", f, got, c)
		}
	}
}

// reread gives the same chunk for ever.
type reread struct{ s string }

func (r reread) Read(p []byte) (int, error) { return copy(p, r.s), nil }

func TestRefused(t *testing.T) {
	const head, row = "time,lower/air_degC,b\n", "2026-01-31T16:00:00Z,1,2\n"
	tests := []struct {
		name string
		text io.Reader
		want string
	}{
		{"an empty file", strings.NewReader(""), `x.csv: the file is empty; it should begin with a header line such as time,lower/air_degC`},
		{"only a byte order mark", strings.NewReader("\ufeff"), `x.csv: the file is empty; it should begin with a header line such as time,lower/air_degC`},
		{"no time column", strings.NewReader("Time,air\n"), `x.csv:1: no column is headed "time"; the headers are "Time", "air"`},
		{"no time column among many", strings.NewReader("a,b,c,d,e,f,g,h,i,j\n"), `x.csv:1: no column is headed "time"; the headers are "a", "b", "c", "d", "e", "f", "g", "h" and 2 more`},
		{"two time columns", strings.NewReader("time,time\n"), `x.csv:1: two columns are headed "time"`},
		{"two equal headers", strings.NewReader("time,a,a\n"), `x.csv:1: columns "a" and "a" hold the same probe; keep one`},
		{"one probe in two units", strings.NewReader("time,l/a_degC,l/a_degF\n"), `x.csv:1: columns "l/a_degC" and "l/a_degF" hold the same probe; keep one`},
		{"a column without a header", strings.NewReader("time,a,\n"), `x.csv:1: column 3 has no header; name it or remove it`},
		{"a header in Latin-1", strings.NewReader("time,a\xb0C\n"), `x.csv:1: header 2, "a\xb0C", is not UTF-8; save the file in UTF-8`},
		{"CR line ends", strings.NewReader("time,a\r2026-01-31T16:00:00Z,1\r"), `x.csv:1: lines end with a carriage return alone; save the file with LF or CRLF line ends`},
		{"CR line ends without end", reread{"time,a\r"}, `x.csv: lines end with a carriage return alone; save the file with LF or CRLF line ends`},
		{"a first line without end", reread{"time,a"}, `x.csv: after line 0: a row is longer than 1048576 bytes; is a quote not closed, or is this not CSV?`},
		{"a later line without end", io.MultiReader(strings.NewReader(head+row), reread{"7"}), `x.csv: after line 2: a row is longer than 1048576 bytes; is a quote not closed, or is this not CSV?`},
		{"a quote that is never closed", io.MultiReader(strings.NewReader(head+row+`2026-01-31T16:00:00Z,"`), reread{"7\n"}), `x.csv: after line 2: a row is longer than 1048576 bytes; is a quote not closed, or is this not CSV?`},
		{"a binary file", strings.NewReader("\x7fELF\x02\x01\n\x01\"\x00\x00\n\n"), `x.csv:2: a zero byte: this is not a text file; save it as CSV in UTF-8`},
		{"a zero byte behind a stray quote", io.MultiReader(strings.NewReader(head+"2026-01-31T16:00:00Z,1\"2"), strings.NewReader("\x00")), `x.csv:2: a zero byte: this is not a text file; save it as CSV in UTF-8`},
		{"UTF-16", strings.NewReader("\xff\xfet\x00i\x00m\x00e\x00"), `x.csv:1: a zero byte: this is not a text file; save it as CSV in UTF-8`},
		{"a quote within a cell", strings.NewReader(head + "2026-01-31T16:00:00Z,1\"2,\n"), `x.csv:2: bare " in non-quoted-field in column 23; a quote within a quoted cell is doubled`},
		{"a short row", strings.NewReader(head + row + "2026-01-31T16:10:00Z,1\n"), `x.csv:3: 2 cells, but 3 headers; a missing value is an empty cell between commas`},
		{"a long row", strings.NewReader(head + "2026-01-31T16:00:00Z,1,2,3\n"), `x.csv:2: 4 cells, but 3 headers; a missing value is an empty cell between commas`},
		{"infinity", strings.NewReader(head + "2026-01-31T16:00:00Z,inf,2\n"), `x.csv:2: column "lower/air_degC" holds "inf"; that is out of range; leave the cell empty where the value is missing`},
		{"a number beyond all range", strings.NewReader(head + "2026-01-31T16:00:00Z,1,-1e999\n"), `x.csv:2: column "b" holds "-1e999"; that is out of range; leave the cell empty where the value is missing`},
		{"a number beyond all range once in SI", strings.NewReader("time,l/p_kW\n2026-01-31T16:00:00Z,1e307\n"), `x.csv:2: column "l/p_kW" holds "1e307"; that is out of range; leave the cell empty where the value is missing`},
		{"a word", strings.NewReader(head + "2026-01-31T16:00:00Z,1,NA\n"), `x.csv:2: column "b" holds "NA"; it should hold a decimal number, or nothing where the value is missing`},
		{"a hexadecimal number", strings.NewReader(head + "2026-01-31T16:00:00Z,1,0x1p3\n"), `x.csv:2: column "b" holds "0x1p3"; it should hold a decimal number, or nothing where the value is missing`},
		{"a decimal comma in quotes", strings.NewReader(head + "2026-01-31T16:00:00Z,\"1,5\",1\n"), `x.csv:2: column "lower/air_degC" holds "1,5"; it should hold a decimal number, or nothing where the value is missing`},
		{"a bad cell behind a line end in quotes", strings.NewReader("time,a,b\n2026-01-31T16:00:00Z,\"\n1\",x\n"), `x.csv:3: column "b" holds "x"; it should hold a decimal number, or nothing where the value is missing`},
		{
			"a very long cell", strings.NewReader(head + "2026-01-31T16:00:00Z,1," + strings.Repeat("é", 500) + "\n"),
			`x.csv:2: column "b" holds "` + strings.Repeat(`\u00e9`, 20) + `" and 960 bytes more; it should hold a decimal number, or nothing where the value is missing`,
		},
		{"no time", strings.NewReader(head + ",1,2\n"), `x.csv:2: time "" is not understood; write it like 2026-01-31T17:05:00+01:00`},
		{"a day that does not exist", strings.NewReader(head + "2026-02-29T16:00:00Z,1,2\n"), `x.csv:2: time "2026-02-29T16:00:00Z" is not understood; write it like 2026-01-31T17:05:00+01:00`},
		{"a local time and no zone", strings.NewReader(head + "2026-01-31T16:00:00,1,2\n"), `x.csv:2: time "2026-01-31T16:00:00" has no offset; pass --zone`},
		{"a time that goes back", strings.NewReader(head + row + "2026-01-31T16:59:59+01:00,1,2\n"), `x.csv:3: time goes back from 2026-01-31T16:00:00Z to 2026-01-31T15:59:59Z; sort the file`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := NewReader(tt.text, Options{Name: "x.csv"})
			if err == nil {
				_, err = all(r)
				if again := r.Next(new(Row)); again == nil || err == nil || again.Error() != err.Error() {
					t.Errorf("afterwards %v; want %v to last", again, err)
				}
			}
			if err == nil || err.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

func TestTwoQuantitiesOfOneProbeAreTwoColumns(t *testing.T) {
	r := reader(t, "time,l/a_degC,l/a_percent\n")
	if n := len(r.Columns()); n != 2 {
		t.Errorf("%d columns; want 2", n)
	}
}

func TestALongRecordingIsReadToItsEnd(t *testing.T) {
	const rows = 150000 // some 3 MB, well over what one row may take
	var text strings.Builder
	text.WriteString("time,a\n")
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range rows {
		text.WriteString(at.Add(time.Duration(i)*time.Second).Format(time.RFC3339) + ",1\n")
	}
	if got, err := all(reader(t, text.String())); err != nil || len(got) != rows {
		t.Errorf("%d rows, %v; want %d", len(got), err, rows)
	}
}

func TestRowsBeforeAFaultAreGiven(t *testing.T) {
	r, err := NewReader(strings.NewReader("time,a\n2026-01-31T16:00:00Z,1\n2026-01-31T16:10:00Z,2\n2026-01-31T16:20:00Z,x\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	rows, err := all(r)
	if err == nil || len(rows) != 2 || rows[1].Values[0] != 2 {
		t.Errorf("got %v, %v; want the two good rows and then the fault of line 4", rows, err)
	}
}
