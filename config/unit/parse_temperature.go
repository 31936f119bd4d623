package unit

import (
	"fmt"
	"strings"
)

// A temperature and a difference are written alike and mean different things: 8 °F more is 4.4 K
// more, while 8 °F on the wall is -13 °C. Each has its own function, and only the caller's key
// tells which is meant.
const (
	temperatureExamples = `a temperature such as "65 °F" or "18 °C"`
	differenceExamples  = `a difference such as "8 °F" or "4 K"`
)

// Written temperatures outside these are refused: nothing in a hoop house is colder or hotter.
const (
	coldest Celsius = -100
	hottest Celsius = 200
)

// largest is the largest difference accepted, K.
const largest Kelvin = 200

// ParseTemperature reads a point on the scale: "65 °F", "65F", "18 °C", "18 C". A bare number and
// kelvins are refused, kelvins because they are how a difference is written.
func ParseTemperature(text string) (Celsius, error) {
	t, err := split(text, temperatureExamples)
	if err != nil {
		return 0, err
	}
	var c Celsius
	switch t.unit {
	case "":
		return 0, &Error{fmt.Sprintf("%q has no unit", strings.TrimSpace(text)), bareTemperature(strings.TrimSpace(text))}
	case "°F", "F", "degF", "ºF":
		c = FromFahrenheit(t.value)
	case "°C", "C", "degC", "ºC":
		c = Celsius(t.value)
	case "K":
		return 0, &Error{fmt.Sprintf("%q is a difference, not a temperature", strings.TrimSpace(text)), "write " + temperatureExamples}
	default:
		return 0, &Error{fmt.Sprintf("%q: %q is not a unit of temperature", strings.TrimSpace(text), t.unit), "write " + temperatureExamples}
	}
	if c < coldest || c > hottest {
		return 0, &Error{fmt.Sprintf("%q is not a temperature of any hoop house", strings.TrimSpace(text)), "write " + temperatureExamples}
	}
	return c, nil
}

// ParseDifference reads a difference between two temperatures: "6 °F", "3 °C", "3 K". It may be
// negative; a bare number is refused.
func ParseDifference(text string) (Kelvin, error) {
	t, err := split(text, differenceExamples)
	if err != nil {
		return 0, err
	}
	var d Kelvin
	switch t.unit {
	case "":
		return 0, noUnit(text, differenceExamples)
	case "°F", "F", "degF", "ºF":
		d = Kelvin(t.value * 5 / 9)
	case "K", "°C", "C", "degC", "ºC":
		d = Kelvin(t.value)
	default:
		return 0, &Error{fmt.Sprintf("%q: %q is not a unit of a difference", strings.TrimSpace(text), t.unit), "write " + differenceExamples}
	}
	if d < -largest || d > largest {
		return 0, &Error{fmt.Sprintf("%q is out of range for a difference", strings.TrimSpace(text)), "write " + differenceExamples}
	}
	return d, nil
}

// FromFahrenheit turns a point in °F into °C. The division comes last, so that every whole
// multiple of 9 °F away from 32 °F is a whole multiple of 5 °C, exactly.
func FromFahrenheit(f float64) Celsius { return Celsius((f - 32) * 5 / 9) }

// Fahrenheit returns c in °F.
func (c Celsius) Fahrenheit() float64 { return float64(c)*9/5 + 32 }

// Fahrenheit returns d as a difference in °F.
func (d Kelvin) Fahrenheit() float64 { return float64(d) * 9 / 5 }

// bareTemperature repeats the bare number with both units, so that the remedy can be copied.
func bareTemperature(number string) string {
	t, err := split(number, temperatureExamples)
	if err != nil || t.value < -100 || t.value > 200 {
		return "write " + temperatureExamples
	}
	return fmt.Sprintf("write %q or %q", trim(t.value, 1)+" °F", trim(float64(FromFahrenheit(t.value)), 0)+" °C")
}
