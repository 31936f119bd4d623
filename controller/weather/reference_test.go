package weather_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"loambank/controller/weather"
)

// column returns a series by the name that statistics.csv gives it.
func column(y *weather.Year, name string) (all []float64) {
	for i := range y.Rows {
		r := &y.Rows[i]
		all = append(all, map[string]float64{
			"dry_bulb": float64(r.DryBulb), "dew_point": float64(r.DewPoint), "relative_humidity": 100 * r.Humidity,
			"pressure": r.PressurePa, "ghi": r.GlobalWm2, "dni": r.DirectWm2, "dhi": r.DiffuseWm2, "wind_speed": r.WindMS,
		}[name])
	}
	return all
}

func mean(v []float64) (m float64) {
	for _, x := range v {
		m += x / float64(len(v))
	}
	return m
}

func extremes(v []float64) (lowest, highest float64) {
	lowest, highest = v[0], v[0]
	for _, x := range v {
		lowest, highest = min(lowest, x), max(highest, x)
	}
	return lowest, highest
}

// ofMonth leaves only one month of a series.
func ofMonth(y *weather.Year, v []float64, month int) (all []float64) {
	for i := range v {
		if int(y.Rows[i].Month) == month {
			all = append(all, v[i])
		}
	}
	return all
}

func sum(v []float64) float64 { return mean(v) * float64(len(v)) }

// centroid is the radiation's mean hour, each row taken at the middle of the hour that it ends.
func centroid(y *weather.Year) float64 {
	var whole, moment float64
	for i := range y.Rows {
		whole += y.Rows[i].GlobalWm2
		moment += y.Rows[i].GlobalWm2 * (float64(y.Rows[i].Hour) - 0.5)
	}
	return moment / whole
}

// statistic computes a row of statistics.csv, "method" and all; ok is false for a row that is not
// about what was read.
func statistic(y *weather.Year, series, name string) (v float64, ok bool) {
	switch series {
	case "header":
		v, ok = map[string]float64{
			"latitude": y.LatitudeDeg, "longitude": y.LongitudeDeg, "utc_offset": y.ZoneH, "elevation": y.ElevationM,
		}[name]
		return v, ok
	case "sun":
		return 12 + (15*y.ZoneH-y.LongitudeDeg)/15, name == "mean_solar_noon"
	}
	all := column(y, series)
	if _, month, found := strings.Cut(name, "_month_"); found {
		n, err := strconv.Atoi(month)
		if err != nil {
			return 0, false
		}
		if all = ofMonth(y, all, n); strings.HasPrefix(name, "sum") {
			return sum(all) / 1000, true
		}
		return mean(all), true
	}
	lowest, highest := extremes(all)
	switch name {
	case "mean":
		return mean(all), true
	case "min":
		return lowest, true
	case "max":
		return highest, true
	case "annual_sum":
		return sum(all) / 1000, true
	case "nov_to_mar_sum":
		for _, m := range []int{11, 12, 1, 2, 3} {
			v += sum(ofMonth(y, all, m)) / 1000
		}
		return v, true
	case "hours_below_0":
		for _, x := range all {
			if x < 0 {
				v++
			}
		}
		return v, true
	case "heating_degree_days_18":
		for _, x := range all {
			v += max(0, 18-x) / 24
		}
		return v, true
	case "centroid_of_hour_label_minus_half":
		return centroid(y), true
	}
	return 0, false // the yearly wave is fitted in another package
}

func TestYearsAgreeWithTheirStatistics(t *testing.T) {
	years := map[string]*weather.Year{}
	for _, name := range []string{
		golden, burlington, satellite, greensboro,
		"USA_VA_Richmond.Intl.AP.724010_TMY3.epw", "USA_WA_Tacoma.Narrows.AP.727938_TMY3.epw",
	} {
		years[name] = read(t, name)
	}
	checked := 0
	for _, row := range table(t, "weather/statistics.csv") {
		file := row[0][strings.LastIndex(row[0], "/")+1:]
		y := years[strings.TrimSuffix(file, ".gz")]
		if y == nil {
			continue
		}
		got, ok := statistic(y, row[1], row[2])
		if !ok {
			continue
		}
		checked++
		want, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		within := 1e-9 * max(1, math.Abs(want))
		if tolerance, err := strconv.ParseFloat(row[5], 64); err == nil {
			within = tolerance
		}
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s %s %s is %v, want %v ± %v", row[0], row[1], row[2], got, want, within)
		}
	}
	if checked < 6*46 {
		t.Errorf("only %d rows of the statistics were compared", checked)
	}
}

// The rows weather_files-S001 to S069, by their quantity.
func quantities(y *weather.Year, quantity string, month int) (v []float64) {
	all, global := column(y, "dry_bulb"), column(y, "ghi")
	lowest, highest := extremes(all)
	place := []float64{y.LatitudeDeg, y.LongitudeDeg, y.ZoneH, y.ElevationM}
	switch quantity {
	case "rows (hours)":
		return []float64{float64(len(y.Rows))}
	case "latitude; longitude; UTC offset; elevation":
		return place
	case "TMY3 rows; latitude; longitude; UTC offset; elevation":
		return append([]float64{float64(len(y.Rows))}, place...)
	case "dry bulb mean; min; max", "TMY3 dry bulb mean; min; max":
		return []float64{mean(all), lowest, highest}
	case "mean station pressure":
		return []float64{mean(column(y, "pressure"))}
	case "mean wind speed":
		return []float64{mean(column(y, "wind_speed"))}
	case "global horizontal sum of the year":
		return []float64{sum(global) / 1000}
	case "TMY3 GHI year; mean RH; mean pressure":
		return []float64{sum(global) / 1000, mean(column(y, "relative_humidity")), mean(column(y, "pressure")) / 100}
	case "hours at or below 0 C; at or below -10 C":
		frost, hard := 0.0, 0.0
		for _, x := range all {
			if x <= 0 {
				frost++
			}
			if x <= -10 {
				hard++
			}
		}
		return []float64{frost, hard}
	case "heating degree days base 18.3 C (daily means)":
		days := 0.0
		for i := 0; i < len(all); i += 24 {
			days += max(0, 18.3-mean(all[i:i+24]))
		}
		return []float64{days}
	case "monthly mean dry bulb":
		return []float64{mean(ofMonth(y, all, month))}
	case "monthly global horizontal":
		return []float64{sum(ofMonth(y, global, month)) / 1000}
	}
	return nil
}

func TestYearsAgreeWithTheReferenceTable(t *testing.T) {
	checked, years := 0, map[string]*weather.Year{}
	for _, row := range table(t, "reference/weather_files.csv") {
		id, quantity := row[0], row[1]
		file, inputs, _ := strings.Cut(strings.TrimPrefix(row[2], "file="), ";")
		month := 0
		if n, err := strconv.Atoi(strings.TrimPrefix(inputs, "month=")); err == nil {
			month = n
		}
		if years[file] == nil {
			years[file] = read(t, file)
		}
		y := years[file]
		got := quantities(y, quantity, month)
		if got == nil {
			continue // S070 to S073 have tests of their own
		}
		checked++
		want := strings.Split(row[3], "; ")
		if len(want) != len(got) {
			t.Fatalf("%s: %d values, want %d", id, len(got), len(want))
		}
		for i := range want {
			w, err := strconv.ParseFloat(want[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			within := 1e-9 * max(1, math.Abs(w))
			var by float64
			if n, _ := fmt.Sscanf(row[5], "rel %g", &by); n == 1 {
				within = by * math.Abs(w)
			} else if n, _ := fmt.Sscanf(row[5], "abs %g", &by); n == 1 {
				within = by
			}
			// The extremes of S047 stand there with one decimal, the file has two.
			if id == "weather_files-S047" && i > 0 {
				within = 0.05
			}
			if !(math.Abs(got[i]-w) <= within) {
				t.Errorf("%s: %s of %s is %v, want %v ± %v", id, quantity, file, got[i], w, within)
			}
		}
	}
	if checked != 69 {
		t.Errorf("%d rows were compared, want S001 to S069", checked)
	}
}

// weather_files-S070.
func TestHour24EndsItsOwnDay(t *testing.T) {
	y := read(t, greensboro)
	first, last := y.Rows[0], y.Rows[len(y.Rows)-1]
	if first.Year != 1988 || first.Month != 1 || first.Day != 1 || first.Hour != 1 {
		t.Errorf("the first row is of %+v, want 1988-01-01 hour 1", first)
	}
	if last.Year != 1980 || last.Month != 12 || last.Day != 31 || last.Hour != 24 {
		t.Errorf("the last row is of %+v, want 1980-12-31 hour 24", last)
	}
}

// weather_files-S071 to S073 take every row as hour-ending; a reader that knows the satellite
// file's clock brings its sun back to within what clouds do.
func TestSunStandsWhereTheClockSays(t *testing.T) {
	for _, c := range []struct {
		id, file string
		hourly   float64 // the row's centroid less 12 h
		base     weather.TimeBase
	}{
		{"weather_files-S071", satellite, -0.62, weather.Instant},
		{"weather_files-S072", golden, -0.2, weather.HourEnding},
		{"weather_files-S073", burlington, 0, weather.HourEnding},
	} {
		y := read(t, c.file)
		if y.Base != c.base {
			t.Errorf("%s: %s has base %v, want %v", c.id, c.file, y.Base, c.base)
		}
		as := *y
		as.Base = weather.HourEnding
		if got, ok := as.SunLateH(); !ok || math.Abs(got-c.hourly) > 0.03 {
			t.Errorf("%s: taken as hour-ending the sun of %s is %.3f h late, want %.2f ± 0.03", c.id, c.file, got, c.hourly)
		}
		if got, _ := y.SunLateH(); math.Abs(got) > 0.25 {
			t.Errorf("%s: the sun of %s is %.3f h late, want within what clouds do", c.id, c.file, got)
		}
	}
	// The sister file of the same service, counted in universal time, says 0.1761 h.
	if y := read(t, satellite); math.Abs(y.InstantH-0.1761) > 1e-4 {
		t.Errorf("the satellite's offset is %v h, want 0.1761", y.InstantH)
	}
}
