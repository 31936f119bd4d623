package chart

import (
	"bytes"
	"encoding/xml"
	"flag"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden files anew")

var midnight = time.Date(2026, time.January, 20, 0, 0, 0, 0, time.UTC)

// night is an invented night, with a gap in the air and a hostile name.
func night() *Chart {
	c := &Chart{
		Title: "A night in lower", About: "Air falls to 3 °C, soil stays at 12 °C.",
		From: midnight, To: midnight.Add(12 * time.Hour),
	}
	air := Curve{Name: `air <script>alert("x")</script>`}
	soil := Curve{Name: "soil", Thin: true}
	for i := range 73 {
		at := midnight.Add(time.Duration(i) * 10 * time.Minute)
		air.Points = append(air.Points, Point{at, 6 - 3*math.Sin(float64(i)/72*math.Pi), i > 30 && i < 36})
		soil.Points = append(soil.Points, Point{at, 12 - float64(i)/72, false})
	}
	c.Panels = []Panel{{Name: "°C", Curves: []Curve{air, soil}, Rules: []Rule{{"frost limit", 1.5}}}}
	c.Lanes = []Lane{{"beds", []Stretch{
		{midnight, midnight.Add(5 * time.Hour), "bringing heat up"},
		{midnight.Add(5 * time.Hour), midnight.Add(20 * time.Hour), "at rest"},
	}}}
	return c
}

func draw(t testing.TB, c *Chart) string {
	t.Helper()
	var out bytes.Buffer
	if err := c.WriteSVG(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestThePictureIsAsItWas(t *testing.T) {
	const path = "testdata/night.svg"
	got := draw(t, night())
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

// wellFormed reads the picture as XML and returns its elements' names.
func wellFormed(t testing.TB, svg string) (names []string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return names
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, svg)
		}
		if start, ok := token.(xml.StartElement); ok {
			names = append(names, start.Name.Local)
		}
	}
}

func TestNamesDoNotBecomeMarkup(t *testing.T) {
	if names := wellFormed(t, draw(t, night())); slices.Contains(names, "script") {
		t.Error("a name has become a script")
	}
}

func TestACurveBreaksWhereThereIsNoValue(t *testing.T) {
	c := night()
	pens := c.thin(&c.Panels[0].Curves[0])
	begins := 0
	for _, p := range pens {
		if p.begins {
			begins++
		}
	}
	if begins != 2 {
		t.Errorf("the curve begins %d times, want twice: before and after its gap", begins)
	}
	c.Panels[0].Curves[0].Points[3].Value = math.NaN()
	if svg := draw(t, c); strings.Contains(svg, "NaN") {
		t.Error("a value that is none is drawn")
	}
}

// Whatever a curve holds, what is drawn of it is never more than its columns and has its peaks.
func TestNoPeakIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := &Chart{From: midnight, To: midnight.Add(time.Hour)}
		var curve Curve
		low, high := math.Inf(1), math.Inf(-1)
		n := rapid.IntRange(1, 5000).Draw(t, "points")
		peak := rapid.IntRange(0, n-1).Draw(t, "peak")
		for i := range n {
			v := math.Sin(float64(i))
			if i == peak {
				v = 7
			}
			low, high = min(low, v), max(high, v)
			curve.Points = append(curve.Points, Point{Time: midnight.Add(time.Duration(i) * time.Hour / time.Duration(n)), Value: v})
		}
		pens := c.thin(&curve)
		if len(pens) > defaultWidth {
			t.Fatalf("%d columns are drawn", len(pens))
		}
		gotLow, gotHigh := math.Inf(1), math.Inf(-1)
		for _, p := range pens {
			gotLow, gotHigh = min(gotLow, p.low), max(gotHigh, p.high)
		}
		if gotLow != low || gotHigh != high {
			t.Fatalf("drawn from %v to %v, want %v to %v", gotLow, gotHigh, low, high)
		}
	})
}

func TestTheAxisIsRound(t *testing.T) {
	for _, tt := range []struct {
		name      string
		values    []float64
		zero      bool
		low, high float64
		step      float64
	}{
		{"around a winter", []float64{-7.3, 21.4}, false, -10, 30, 10},
		{"from zero where asked", []float64{3, 9}, true, 0, 10, 2},
		{"around one value", []float64{4}, false, 3, 5, 0.5},
		{"small differences", []float64{11.02, 11.31}, false, 11, 11.4, 0.1},
		{"without any value", nil, false, 0, 1, 0.2},
		{"without a number", []float64{math.NaN(), math.Inf(1)}, false, 0, 1, 0.2},
	} {
		p := &Panel{Zero: tt.zero, Curves: []Curve{{}}}
		for _, v := range tt.values {
			p.Curves[0].Points = append(p.Curves[0].Points, Point{Value: v})
		}
		s := scaleOf(p, 5)
		if s.step != tt.step || math.Abs(s.low-tt.low) > 1e-9 || math.Abs(s.high-tt.high) > 1e-9 {
			t.Errorf("%s: %+v, want %v to %v by %v", tt.name, s, tt.low, tt.high, tt.step)
		}
	}
}

func TestTheTimeAxisNamesRoundTimes(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name     string
		from, to time.Time
		first    string
		most     int
		width    int
	}{
		{"hours of a night", time.Date(2026, 1, 20, 18, 10, 0, 0, zone), time.Date(2026, 1, 21, 3, 0, 0, 0, zone), "19:00", 9, 0},
		{"three hours of a day", time.Date(2026, 1, 20, 0, 0, 0, 0, zone), time.Date(2026, 1, 21, 0, 0, 0, 0, zone), "00:00", 9, 0},
		{"two days, each at its midnight", time.Date(2026, 1, 19, 23, 0, 0, 0, zone), time.Date(2026, 1, 21, 23, 0, 0, 0, zone), "20 Jan", 9, 0},
		{"a day and a half in its hours", time.Date(2026, 1, 20, 1, 0, 0, 0, zone), time.Date(2026, 1, 21, 13, 0, 0, 0, zone), "03:00", 12, 0},
		{"a day when clocks go back", time.Date(2026, 11, 1, 0, 0, 0, 0, zone), time.Date(2026, 11, 2, 0, 0, 0, 0, zone), "00:00", 9, 0},
		{"days of a week", time.Date(2026, 3, 6, 12, 0, 0, 0, zone), time.Date(2026, 3, 13, 12, 0, 0, 0, zone), "7 Mar", 8, 0},
		{"months of a season", time.Date(2026, 9, 3, 0, 0, 0, 0, zone), time.Date(2027, 5, 20, 0, 0, 0, 0, zone), "Oct", 9, 0},
		{"years", time.Date(2020, 9, 3, 0, 0, 0, 0, zone), time.Date(2029, 5, 20, 0, 0, 0, 0, zone), "2021", 9, 0},
		{"a century", time.Date(1950, 9, 3, 0, 0, 0, 0, zone), time.Date(2049, 5, 20, 0, 0, 0, 0, zone), "1960", 9, 0},
		{"a day on a phone", time.Date(2026, 1, 20, 1, 0, 0, 0, zone), time.Date(2026, 1, 21, 1, 0, 0, 0, zone), "06:00", 4, 360},
		{"a week on a phone", time.Date(2026, 1, 14, 6, 0, 0, 0, zone), time.Date(2026, 1, 21, 6, 0, 0, 0, zone), "16 Jan", 3, 360},
	} {
		c := &Chart{From: tt.from, To: tt.to, Zone: zone, Width: tt.width}
		ticks := c.timeTicks()
		if len(ticks) < min(tt.most, 4) || len(ticks) > tt.most || ticks[0].label != tt.first {
			t.Errorf("%s: %v", tt.name, ticks)
		}
		for i := 1; i < len(ticks); i++ {
			if !ticks[i].at.After(ticks[i-1].at) {
				t.Errorf("%s: %v", tt.name, ticks)
			}
		}
	}
}

func TestAnEmptyPictureIsOne(t *testing.T) {
	for _, c := range []*Chart{{}, {Panels: []Panel{{}}, Lanes: []Lane{{}}}, {From: midnight, To: midnight.Add(-time.Hour), Panels: []Panel{{Curves: []Curve{{}}}}}} {
		wellFormed(t, draw(t, c))
	}
}

func BenchmarkYear(b *testing.B) {
	c := &Chart{From: midnight, To: midnight.AddDate(1, 0, 0)}
	var curve Curve
	for i := range 365 * 24 * 12 {
		curve.Points = append(curve.Points, Point{Time: midnight.Add(time.Duration(i) * 5 * time.Minute), Value: math.Sin(float64(i))})
	}
	c.Panels = []Panel{{Curves: []Curve{curve}}}
	for b.Loop() {
		if err := c.WriteSVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
