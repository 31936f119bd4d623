package weather_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/physics"
	"loambank/controller/weather"
)

func resample(t testing.TB, y *weather.Year, step time.Duration) []weather.Sample {
	t.Helper()
	all, err := y.Resample(step)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// The rows' radiation is a mean over the hour (Wilcox and Marion 2008), so the steps' sum is the rows'.
func TestRadiationOfEachHourIsKept(t *testing.T) {
	for _, name := range []string{golden, burlington, greensboro} {
		y := read(t, name)
		for _, step := range []time.Duration{5 * time.Minute, 15 * time.Minute, 80 * time.Second, time.Hour} {
			all, n := resample(t, y, step), int(time.Hour/step)
			if len(all) != 8760*n {
				t.Fatalf("%s: %d steps of %s", name, len(all), step)
			}
			for i := range y.Rows {
				var got [3]float64
				for _, s := range all[i*n : (i+1)*n] {
					got[0] += s.GlobalWm2 / float64(n)
					got[1] += s.DirectWm2 / float64(n)
					got[2] += s.DiffuseWm2 / float64(n)
				}
				r := &y.Rows[i]
				for k, want := range []float64{r.GlobalWm2, r.DirectWm2, r.DiffuseWm2} {
					if math.Abs(got[k]-want) > 1e-9*max(1, want) {
						t.Fatalf("%s, %s steps, row %d: kind %d has %v W/m², want %v", name, step, i, k, got[k], want)
					}
				}
			}
		}
	}
}

// Of a file of instants the year's sum is kept: statistics.csv gives 1435.86 kWh/m².
func TestRadiationOfInstantsIsKept(t *testing.T) {
	y := read(t, satellite)
	for _, step := range []time.Duration{5 * time.Minute, 10 * time.Minute, time.Hour} {
		all := resample(t, y, step)
		var kWh float64
		for _, s := range all {
			kWh += s.GlobalWm2 * step.Hours() / 1000
		}
		if math.Abs(kWh-1435.861) > 1e-3 {
			t.Errorf("steps of %s: %.4f kWh/m², want 1435.861 (weather_files-S050)", step, kWh)
		}
	}
}

// A clear hour's instant lies in its hour: the spread radiation meets the file's value there.
func TestAnInstantMeetsItsSpread(t *testing.T) {
	y := read(t, satellite)
	all := resample(t, y, 5*time.Minute)
	for i := range y.Rows {
		r := &y.Rows[i]
		at := (float64(i) + 1 + y.InstantH) * 12
		if k := int(at); k < len(all) && r.GlobalWm2 > 300 {
			if got := all[k].GlobalWm2; math.Abs(got-r.GlobalWm2) > 0.06*r.GlobalWm2 {
				t.Errorf("row %d: %.0f W/m² at its instant, want about %.0f", i, got, r.GlobalWm2)
			}
		}
	}
}

// The sun of the steps is where radiation is: with the sun well down there is none.
func TestNoSunByNight(t *testing.T) {
	for _, name := range []string{golden, satellite, greensboro} {
		for i, s := range resample(t, read(t, name), 5*time.Minute) {
			if s.SunElevationDeg < -9 && s.GlobalWm2 > 0 {
				t.Fatalf("%s: step %d has %v W/m² with the sun at %.1f°", name, i, s.GlobalWm2, s.SunElevationDeg)
			}
			if s.GlobalWm2 < 0 || s.DirectWm2 < 0 || s.DiffuseWm2 < 0 || s.GlobalWm2 > 1361 || s.DirectWm2 > 1361 {
				t.Fatalf("%s: step %d has radiation of %v, %v, %v W/m²", name, i, s.GlobalWm2, s.DirectWm2, s.DiffuseWm2)
			}
		}
	}
}

func TestAirRunsStraightFromLabelToLabel(t *testing.T) {
	y := read(t, golden)
	all := resample(t, y, 30*time.Minute)
	// The step that ends an hour lies a quarter of an hour before its label, the next one as far after.
	for _, i := range []int{1, 77, 5000, 8758} {
		a, b := y.Rows[i], y.Rows[i+1]
		for k, share := range []float64{0.25, 0.75} {
			s := all[2*(i+1)+k]
			if want := float64(a.DryBulb) + share*float64(b.DryBulb-a.DryBulb); math.Abs(float64(s.Outside)-want) > 1e-9 {
				t.Errorf("row %d: %v °C at %v, want %v", i, s.Outside, share, want)
			}
			if want := a.WindMS + share*(b.WindMS-a.WindMS); math.Abs(s.WindMS-want) > 1e-9 {
				t.Errorf("row %d: wind of %v m/s at %v, want %v", i, s.WindMS, share, want)
			}
			if want := a.PressurePa + share*(b.PressurePa-a.PressurePa); math.Abs(s.PressurePa-want) > 1e-6 {
				t.Errorf("row %d: %v Pa at %v, want %v", i, s.PressurePa, share, want)
			}
		}
	}
	if got, want := all[48].Day, 1+15.0/60/24; math.Abs(got-want) > 1e-12 {
		t.Errorf("the first half hour of 2 January has its middle on day %v, want %v", got, want)
	}
	// The year's two ends are not joined.
	if first := all[0].Outside; first != y.Rows[0].DryBulb {
		t.Errorf("before the first label it is %v °C, want the first row's %v", first, y.Rows[0].DryBulb)
	}
}

// Over the year's frost-free hours humidity ratio and dew point of the file are one, within the
// file's rounding to whole °C and %. About the joints of its months the file itself is at odds
// with itself, a few hours each.
func TestVapourAgreesWithTheFilesDewPoint(t *testing.T) {
	y := read(t, golden)
	all := resample(t, y, time.Hour)
	compared, off := 0, 0
	for i := 1; i < 8759; i++ {
		a, b := &y.Rows[i], &y.Rows[i+1]
		if a.DewPoint < 1 || b.DewPoint < 1 {
			continue
		}
		compared++
		s := all[i+1]
		low := physics.SatHumidityRatio(min(a.DewPoint, b.DewPoint)-1.2, s.PressurePa)
		high := physics.SatHumidityRatio(max(a.DewPoint, b.DewPoint)+1.2, s.PressurePa)
		if s.Vapour < low || s.Vapour > high {
			off++
		}
	}
	if compared < 2000 || off > 20 {
		t.Errorf("%d of %d hours are off, want at most 20 of 2000 and more", off, compared)
	}
}

// Stations state humidity over water in frost too: moist_air's supercooled rows, at −10 °C 286.6 Pa
// over water and 259.9 Pa over ice.
func TestHumidityInFrostIsOverWater(t *testing.T) {
	text := plain(t, golden)
	text = each(each(text, 8, 7, gap(10, 3, "-10")), 8, 9, gap(10, 3, "100"))
	y, err := parse(text)
	if err != nil {
		t.Fatal(err)
	}
	s := resample(t, y, time.Hour)[11]
	if got, want := s.Vapour, physics.RatioAtVapour(286.5, s.PressurePa); math.Abs(got-want) > 2e-3*want {
		t.Errorf("%.6f kg/kg, want %.6f", got, want)
	}
}

func TestWhatAFileLacksIsAbsentFromItsSteps(t *testing.T) {
	text := plain(t, golden)
	for _, at := range []int{10, 13, 22, 23} {
		code := map[int]string{10: "999999", 13: "9999", 22: "999", 23: "99"}[at]
		text = each(text, 8, at, func(float64) string { return code })
	}
	y, err := parse(text)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range resample(t, y, time.Hour) {
		if s.Have&(weather.Pressure|weather.Wind|weather.Sky|weather.Cloud) != 0 {
			t.Fatalf("step %d has %b", i, s.Have)
		}
		// moist_air: 1829 m, the standard atmosphere's 81.2 kPa.
		if s.WindMS != 0 || s.SkyWm2 != 0 || s.Cloud != 0 || math.Abs(s.PressurePa-81200) > 100 {
			t.Fatalf("step %d: %+v", i, s)
		}
	}
}

func TestAnInstantOfAnyYearLiesInItsStep(t *testing.T) {
	y := read(t, golden) // UTC−7, 365 days
	denver := time.FixedZone("MDT", -6*3600)
	for _, c := range []struct {
		name string
		at   time.Time
		want int
	}{
		{"the year's beginning", time.Date(2031, 1, 1, 7, 0, 0, 0, time.UTC), 0},
		{"a moment before it, the year's end", time.Date(2031, 1, 1, 6, 59, 59, 999, time.UTC), 8760*12 - 1},
		{"the end of the first step", time.Date(2031, 1, 1, 7, 4, 59, 0, time.UTC), 0},
		{"the second step", time.Date(2031, 1, 1, 7, 5, 0, 0, time.UTC), 1},
		{"summer time is an hour ahead", time.Date(2026, 7, 1, 13, 30, 0, 0, denver), (181*24+12)*12 + 6},
		{"1 March of a leap year", time.Date(2028, 3, 1, 7, 0, 0, 0, time.UTC), 59 * 24 * 12},
		{"29 February is 28 February", time.Date(2028, 2, 29, 19, 0, 0, 0, time.UTC), (58*24 + 12) * 12},
	} {
		if got := y.Step(c.at, 5*time.Minute); got != c.want {
			t.Errorf("%s: step %d, want %d", c.name, got, c.want)
		}
	}
}

func TestStepsThatDoNotDivideAnHourAreRefused(t *testing.T) {
	y := read(t, golden)
	for _, step := range []time.Duration{0, -time.Minute, 7 * time.Minute, 2 * time.Hour, time.Millisecond} {
		if all, err := y.Resample(step); err == nil {
			t.Errorf("a step of %s gives %d samples", step, len(all))
		}
	}
}

func TestShortGapsAreFilledAndCounted(t *testing.T) {
	want := read(t, golden)
	for _, c := range []struct {
		name, code string
		at, gap    int
		first      int
		field      weather.Field
		value      func(*weather.Row) float64
	}{
		{"dry bulb, six hours", "99.9", 7, 6, 3000, weather.DryBulb, func(r *weather.Row) float64 { return float64(r.DryBulb) }},
		{"wind, one hour", "999", 22, 1, 50, weather.Wind, func(r *weather.Row) float64 { return r.WindMS }},
		{"pressure, six hours", "999999", 10, 6, 8000, weather.Pressure, func(r *weather.Row) float64 { return r.PressurePa }},
		{"diffuse, three hours by day", "9999", 16, 3, 24*180 + 11, weather.Diffuse, func(r *weather.Row) float64 { return r.DiffuseWm2 }},
		{"direct, three hours by day", "9999", 15, 3, 24*180 + 11, weather.Direct, func(r *weather.Row) float64 { return r.DirectWm2 }},
	} {
		y, err := parse(each(plain(t, golden), 8, c.at, gap(c.first, c.gap, c.code)))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if y.FilledCount(c.field) != c.gap {
			t.Errorf("%s: %d are filled", c.name, y.FilledCount(c.field))
		}
		a, b := c.value(&want.Rows[c.first-1]), c.value(&want.Rows[c.first+c.gap])
		for i := range c.gap {
			r := &y.Rows[c.first+i]
			line := a + (b-a)*float64(i+1)/float64(c.gap+1)
			if got := c.value(r); math.Abs(got-line) > 1e-9*max(1, math.Abs(line)) || !r.Have.Has(c.field) || r.Filled != c.field {
				t.Errorf("%s: hour %d is %v, filled %b, want %v", c.name, i, got, r.Filled, line)
			}
		}
		if r := &y.Rows[c.first-1]; r.Filled != 0 {
			t.Errorf("%s: the hour before is marked as filled", c.name)
		}
	}
}

func TestGapsAtTheYearsEndsTakeTheOneNeighbour(t *testing.T) {
	for _, first := range []int{0, 8757} {
		y, err := parse(each(plain(t, golden), 8, 7, gap(first, 3, "99.9")))
		if err != nil {
			t.Fatal(err)
		}
		neighbour := map[int]int{0: 3, 8757: 8756}[first]
		for i := first; i < first+3; i++ {
			if y.Rows[i].DryBulb != y.Rows[neighbour].DryBulb {
				t.Errorf("hour %d is %v, want %v", i, y.Rows[i].DryBulb, y.Rows[neighbour].DryBulb)
			}
		}
	}
}

// What one quantity says of another: humidity from dew point, global from direct and diffuse, and
// either of those from the other two.
func TestQuantitiesThatFollowFromOthers(t *testing.T) {
	want, text := read(t, golden), plain(t, golden)
	for _, c := range []struct {
		name, code string
		at         int
		value      func(*weather.Row) float64
		within     float64 // mean difference over the hours of light, in the value's unit
	}{
		// Whole °C of dew point are worth a few per cent; the file's radiation closes to its rounding.
		{"humidity", "999", 9, func(r *weather.Row) float64 { return r.Humidity }, 0.03},
		{"global", "9999", 14, func(r *weather.Row) float64 { return r.GlobalWm2 }, 8},
		{"diffuse", "9999", 16, func(r *weather.Row) float64 { return r.DiffuseWm2 }, 8},
		{"direct", "9999", 15, func(r *weather.Row) float64 { return r.DirectWm2 }, 15},
	} {
		y, err := parse(each(text, 8, c.at, func(float64) string { return c.code }))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var off, n float64
		for i := range y.Rows {
			if want.Rows[i].GlobalWm2 > 0 {
				off += math.Abs(c.value(&y.Rows[i]) - c.value(&want.Rows[i]))
				n++
			}
		}
		if off /= n; off > c.within {
			t.Errorf("%s: off by %.3g on the mean, want %.3g", c.name, off, c.within)
		}
	}
}

func TestSmallNegativeRadiationIsClippedAndCounted(t *testing.T) {
	y, err := parse(cell(cell(plain(t, golden), 10, 14, "-3"), 11, 16, "-10"))
	if err != nil {
		t.Fatal(err)
	}
	if y.ClippedCount() != 2 || y.Rows[1].GlobalWm2 != 0 || y.Rows[2].DiffuseWm2 != 0 {
		t.Errorf("%d clipped, %v and %v", y.ClippedCount(), y.Rows[1].GlobalWm2, y.Rows[2].DiffuseWm2)
	}
	if read(t, satellite).ClippedCount() != 0 {
		t.Error("negative zeros are counted as clipped")
	}
}

func BenchmarkRead(b *testing.B) {
	data := plain(b, golden)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := parse(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkResample(b *testing.B) {
	y := read(b, golden)
	b.ReportAllocs()
	for b.Loop() {
		resample(b, y, 5*time.Minute)
	}
}
