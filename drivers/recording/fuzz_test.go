package recording

import (
	"io"
	"math"
	"strings"
	"testing"
	"time"
)

func FuzzReader(f *testing.F) {
	rome := place(f, "Europe/Rome")
	f.Add("time,lower/air_degC,lower/damp_percent\n2026-01-31T17:00:00+01:00,21.5,50\n2026-01-31T17:10:00,-1,NaN\n", true)
	f.Add("\ufefftime,a\r\n2021-10-31T02:30,1\r\n2021-10-31T02:10,2\r\n2021-03-28 02:30,\r\n", true)
	f.Add("time,\"a\"\"\nb\"\n2021-10-31T02:30Z,\"1\n\"\n", false)
	f.Add("time,a\r2026-01-31T16:00:00Z,1\r", false)
	f.Add("\x7fELF\x00", false)
	f.Add("time,a_kW\n9999-12-31T23:59:59.999999999-23:59,1e306\n", false)
	f.Fuzz(func(t *testing.T, text string, local bool) {
		o := Options{Name: "x.csv"}
		if local {
			o.Zone = rome
		}
		r, err := NewReader(strings.NewReader(text), o)
		if err != nil {
			known(t, err)
			return
		}
		var row Row
		var last time.Time
		for n := 0; ; n++ {
			if err := r.Next(&row); err == io.EOF {
				return
			} else if err != nil {
				known(t, err)
				return
			}
			if n > 0 && !row.Time.After(last) {
				t.Fatalf("line %d: %v does not come after %v", row.Line, row.Time, last)
			}
			last = row.Time
			if row.Line < 2 || row.Line > strings.Count(text, "\n")+1 || len(row.Values) != len(r.Columns()) || len(row.OK) != len(row.Values) {
				t.Fatalf("row %+v of %d columns", row, len(r.Columns()))
			}
			for i, v := range row.Values {
				if math.IsNaN(v) || math.IsInf(v, 0) || !row.OK[i] && v != 0 {
					t.Fatalf("line %d: value %v, ok %v", row.Line, v, row.OK[i])
				}
			}
		}
	})
}

// known checks that an error names the file and is short and printable.
func known(t *testing.T, err error) {
	s := err.Error()
	if !strings.HasPrefix(s, "x.csv:") || len(s) > 2500 || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' }) {
		t.Fatalf("error %q", s)
	}
}

func BenchmarkReader(b *testing.B) {
	var text strings.Builder
	text.WriteString("time,lower/air_degC,lower/damp_percent,lower/beds/soil_degC,lower/beds/east_W,outside_degC\n")
	const rows = 50000
	rome := place(b, "Europe/Rome")
	at := time.Date(2021, 6, 1, 0, 0, 0, 0, rome)
	for i := range rows {
		text.WriteString(at.Add(time.Duration(i) * 10 * time.Minute).Format("2006-01-02T15:04:05"))
		text.WriteString(",21.54,87.3,14.06,,-3.2\n")
	}
	b.ReportAllocs()
	for b.Loop() {
		r, err := NewReader(strings.NewReader(text.String()), Options{Zone: rome})
		if err != nil {
			b.Fatal(err)
		}
		var row Row
		for err == nil {
			err = r.Next(&row)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
