package season

import (
	"math"
	"strconv"
	"testing"
	"time"
)

func TestSunStandsWhereTheReferenceSays(t *testing.T) {
	for _, r := range append(rows(t, 7, 7), rows(t, 47, 54)...) {
		at, err := time.Parse(time.RFC3339, r.inputs["utc"])
		if err != nil {
			t.Fatal(err)
		}
		site := Site{LatitudeDeg: r.number(t, "lat"), LongitudeDeg: r.number(t, "lon")}
		elevation, azimuth := SunPosition(site, at)
		for i, got := range []float64{elevation, azimuth}[:len(r.fields(";"))] {
			want, err := strconv.ParseFloat(r.fields(";")[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			// The tolerance of these rows; the rest of the algorithm's 0.01° and PyEphem's is less.
			if math.Abs(got-want) > 0.05 {
				t.Errorf("%s: %s: got %.3f, want %.3f", r.id, r.quantity, got, want)
			}
		}
	}
}

func TestDeclinationAndEquationOfTimeAreThoseOfTheReference(t *testing.T) {
	for _, r := range rows(t, 55, 66) {
		day, err := time.Parse(time.DateOnly, r.inputs["date"])
		if err != nil {
			t.Fatal(err)
		}
		declination, equationS := solar(float64(day.Add(12 * time.Hour).Unix()))
		got, tolerance := declination/degree, 0.05
		if r.unit == "min" {
			got, tolerance = equationS/60, 0.3
		}
		want, err := strconv.ParseFloat(r.expected, 64)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s: %s: got %.4f, want %.4f", r.id, r.quantity, got, want)
		}
	}
}
