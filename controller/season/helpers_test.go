package season

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func siteIn(t testing.TB, name string, lat, lon float64) Site {
	t.Helper()
	return Site{LatitudeDeg: lat, LongitudeDeg: lon, Zone: zone(t, name)}
}

func must[T any](t testing.TB, v T, err error) T {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func localTime(t testing.TB, layout, text string, zone *time.Location) time.Time {
	t.Helper()
	at, err := time.ParseInLocation(layout, text, zone)
	return must(t, at, err)
}

func mustDates(t testing.TB, text string) Dates {
	t.Helper()
	if text == "" {
		return Dates{}
	}
	v, err := ParseDates(text)
	return must(t, v, err)
}

func mustHours(t testing.TB, text string) Hours {
	t.Helper()
	if text == "" {
		return Hours{}
	}
	v, err := ParseHours(text)
	return must(t, v, err)
}

func mustDays(t testing.TB, text string) Days {
	t.Helper()
	if text == "" {
		return Days{}
	}
	v, err := ParseDays(text)
	return must(t, v, err)
}

func mustSchedule(t testing.TB, spec string, z *time.Location) Schedule {
	t.Helper()
	v, err := ParseSchedule(spec, z)
	return must(t, v, err)
}

// row is one line of the reference table of sun and time.
type row struct {
	id, quantity, expected, unit string
	inputs                       map[string]string
}

func (r row) number(t testing.TB, key string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r.inputs[key], 64)
	if err != nil {
		t.Fatalf("%s: %s: %v", r.id, key, err)
	}
	return v
}

func (r row) fields(sep string) []string {
	parts := strings.Split(r.expected, sep)
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

// rows reads the rows first to last of the reference table.
func rows(t testing.TB, first, last int) []row {
	t.Helper()
	f, err := os.Open("../../testdata/reference/sun_and_time.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var found []row
	for _, record := range records[1:] {
		n, err := strconv.Atoi(strings.TrimPrefix(record[0], "sun_and_time-S"))
		if err != nil {
			t.Fatal(err)
		}
		if n < first || n > last {
			continue
		}
		r := row{id: record[0], quantity: record[1], expected: record[3], unit: record[4], inputs: map[string]string{}}
		for pair := range strings.SplitSeq(record[2], ";") {
			key, value, _ := strings.Cut(pair, "=")
			r.inputs[key] = value
		}
		found = append(found, r)
	}
	if len(found) != last-first+1 {
		t.Fatalf("found %d rows from S%03d to S%03d", len(found), first, last)
	}
	return found
}
