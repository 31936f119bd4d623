package unit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestParseTemperature(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Celsius
	}{
		{"freezing point of water in °F", "32 °F", 0},
		{"a whole multiple of 9 °F is exact", "50 °F", 10},
		{"where the scales meet", "-40 °F", -40},
		{"without a space or a degree sign", "65F", 55.0 / 3},
		{"°C", "18 °C", 18},
		{"C", "18 C", 18},
		{"a true minus sign", "−5 °C", -5},
		{"with a plus", "+5 °C", 5},
		{"a decimal", "3.5 °C", 3.5},
		{"an ordinal sign for the degree", "212 ºF", 100},
		{"spaces around", "  41 °F ", 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ParseTemperature(c.text)
			if err != nil || math.Abs(float64(got-c.want)) > 1e-12 {
				t.Errorf("%q is %v, %v, want %v", c.text, got, err, c.want)
			}
		})
	}
}

func TestParseDifference(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Kelvin
	}{
		{"9 °F is 5 K, without the 32 of a point", "9 °F", 5},
		{"K", "3 K", 3},
		{"°C means the same", "3 °C", 3},
		{"a negative one", "-1.8 °F", -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ParseDifference(c.text)
			if err != nil || math.Abs(float64(got-c.want)) > 1e-12 {
				t.Errorf("%q is %v, %v, want %v", c.text, got, err, c.want)
			}
		})
	}
}

func TestRefusedTemperatures(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"bare", "65", `"65" has no unit; write "65 °F" or "18 °C"`},
		{"a difference", "6 K", `"6 K" is a difference, not a temperature; write a temperature such as "65 °F" or "18 °C"`},
		{"nothing", "  ", `nothing is written; write a temperature such as "65 °F" or "18 °C"`},
		{"a word", "warm", `"warm" does not begin with a number; write a temperature such as "65 °F" or "18 °C"`},
		{"another unit", "65 W", `"65 W": "W" is not a unit of temperature; write a temperature such as "65 °F" or "18 °C"`},
		{"under absolute zero", "-300 °C", `"-300 °C" is not a temperature of any hoop house; write a temperature such as "65 °F" or "18 °C"`},
		{"over 200 °C", "400 °F", `"400 °F" is not a temperature of any hoop house; write a temperature such as "65 °F" or "18 °C"`},
		{"not a number", "NaN °C", `"NaN °C" does not begin with a number; write a temperature such as "65 °F" or "18 °C"`},
		{"infinite", "inf °C", `"inf °C" does not begin with a number; write a temperature such as "65 °F" or "18 °C"`},
		{"two signs", "--5 °C", `"--5 °C" does not begin with a number; write a temperature such as "65 °F" or "18 °C"`},
		{"two points", "1.2.3 °C", `"1.2.3 °C" does not begin with a number; write a temperature such as "65 °F" or "18 °C"`},
		{"a comma", "3,5 °C", `"3,5 °C" has a comma in its number; write a decimal point and no thousands mark, as in a temperature such as "65 °F" or "18 °C"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := ParseTemperature(c.text); err == nil || err.Error() != c.want {
				t.Errorf("%q is %v, error\n%v, want\n%v", c.text, got, err, c.want)
			}
		})
	}
	if got, err := ParseDifference("8"); err == nil || err.Error() != `"8" has no unit; write a difference such as "8 °F" or "4 K"` {
		t.Errorf("a bare difference is %v, %v", got, err)
	}
}

// Every whole multiple of 9 °F is a whole multiple of 5 K and of 5 °C, bit for bit.
func TestMultiplesOfNineAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(-10, 35).Draw(t, "n")
		if got := FromFahrenheit(32 + 9*float64(n)); got != Celsius(5*n) {
			t.Errorf("32 + 9×%d °F is %v °C", n, got)
		}
		if got := Celsius(5 * n).Fahrenheit(); got != 32+9*float64(n) {
			t.Errorf("5×%d °C is %v °F", n, got)
		}
	})
}
