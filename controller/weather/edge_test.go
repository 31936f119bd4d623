package weather_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"loambank/controller/weather"
)

func TestEveryValueBeyondACodeIsMissing(t *testing.T) {
	y, err := parse(cell(cell(plain(t, golden), 20, 14, "99999"), 20, 22, "9999"))
	if err != nil {
		t.Fatal(err)
	}
	if n := y.FilledCount(weather.Wind); n != 1 {
		t.Errorf("%d hours of wind are filled, want 1", n)
	}
	if r := y.Rows[11]; r.GlobalWm2 > 1000 {
		t.Errorf("row 11 has %v W/m²", r.GlobalWm2)
	}
}

func TestHumidityOver100PercentIsSaturated(t *testing.T) {
	y, err := parse(cell(plain(t, golden), 20, 9, "104"))
	if err != nil {
		t.Fatal(err)
	}
	if got := y.Rows[11].Humidity; got != 1 {
		t.Errorf("humidity is %v, want 1", got)
	}
}

// A gap over sunset does not light the night.
func TestFilledRadiationEndsAtSunset(t *testing.T) {
	want := read(t, golden)
	const day = 24 * 180
	last := day + 23
	for want.Rows[last].GlobalWm2 == 0 {
		last--
	}
	text := plain(t, golden)
	for _, at := range []int{14, 15, 16} {
		text = each(text, 8, at, gap(last, 3, "9999"))
	}
	y, err := parse(text)
	if err != nil {
		t.Fatal(err)
	}
	for i := last + 1; i < last+3; i++ {
		if r := y.Rows[i]; r.GlobalWm2 != 0 || r.DirectWm2 != 0 || r.DiffuseWm2 != 0 || !r.Filled.Has(weather.Global) {
			t.Errorf("the hour after sunset is filled with %v W/m²", r.GlobalWm2)
		}
	}
}

// Whatever a low sun does to the division, no direct light is stronger than the sun, 1361 W/m².
func TestDirectLightFromTheOthersStaysUnderTheSun(t *testing.T) {
	for _, name := range []string{golden, burlington} {
		y, err := parse(each(plain(t, name), 8, 15, func(float64) string { return "9999" }))
		if err != nil {
			t.Fatal(err)
		}
		for i := range y.Rows {
			if r := &y.Rows[i]; r.DirectWm2 > 1361 {
				t.Errorf("%s row %d: %v W/m² direct", name, i, r.DirectWm2)
			}
		}
	}
}

// Beyond the date line clocks are a day ahead of the sun, not wrong: Kiritimati, 157.4° W, UTC+14.
func TestClocksAcrossTheDateLineAreRight(t *testing.T) {
	text := strings.Replace(plain(t, golden), "39.74,-105.18,-7.0,1829.0", "1.87,-157.43,14.0,1829.0", 1)
	if _, err := parse(text); err != nil && strings.Contains(err.Error(), "does not suit") {
		t.Error(err)
	}
}

func TestDirectLightBeginsAtSunrise(t *testing.T) {
	const sunrise = -0.833 - 0.7 // ° in the middle of a step that ends at sunrise, at most
	for i, s := range resample(t, read(t, golden), 5*time.Minute) {
		if s.SunElevationDeg < sunrise && s.DirectWm2 > 0 {
			t.Fatalf("step %d: %v W/m² direct with the sun at %.2f°", i, s.DirectWm2, s.SunElevationDeg)
		}
	}
}

func TestDateAndClockOfTMY3AreTakenStrictly(t *testing.T) {
	text := plain(t, greensboro)
	for _, c := range []struct{ date, clock string }{
		{"01/01/1988/2", "01:00"},
		{"01/01", "01:00"},
		{"01/1.5/1988", "01:00"},
		{"-1/01/1988", "01:00"},
		{"01/01/1988", "1.5:00"},
		{"01/01/1988", "01"},
		{"01/01/1988", "x:00"},
	} {
		_, err := parse(cell(cell(text, 3, 1, c.date), 3, 2, c.clock))
		says(t, err, 3, fmt.Sprintf("%q", c.date))
	}
}
