package unit

import (
	"math"
	"strings"
	"testing"
)

func TestAmounts(t *testing.T) {
	for _, c := range []struct {
		name, text string
		parse      func(string) (float64, error)
		want, tol  float64 // tol relative
	}{
		{"W", "600 W", ParsePower, 600, 0},
		{"kW", "1.2 kW", ParsePower, 1200, 1e-12},
		{"half a horse power, 550 ft lbf/s by definition", "0.5 hp", ParsePower, 372.8499, 1e-6},
		{"1 Btu/h, greenhouse-S020", "1 Btu/h", ParseHeatRate, 0.2930711, 1e-6},
		{"a heater of 60 kBtu/h", "60 kBtu/h", ParseHeatRate, 60000 * 0.2930711, 1e-6},
		{"the same in Btu/h", "60000 BTU/h", ParseHeatRate, 60000 * 0.2930711, 1e-6},
		{"1 cfm, greenhouse-S021", "1 cfm", ParseFlow, 0.4719474e-3, 1e-6},
		{"m3/h", "1500 m3/h", ParseFlow, 1500.0 / 3600, 1e-12},
		{"m³/h", "1500 m³/h", ParseFlow, 1500.0 / 3600, 1e-12},
		{"m3/s", "0.4 m3/s", ParseFlow, 0.4, 0},
		{"L/s", "220 L/s", ParseFlow, 0.22, 1e-12},
		{"ft, exact by definition", "30 ft", ParseLength, 9.144, 1e-12},
		{"in, exact by definition", "18 in", ParseLength, 0.4572, 1e-12},
		{"m", "0.5 m", ParseLength, 0.5, 0},
		{"cm", "45 cm", ParseLength, 0.45, 1e-12},
		{"a farm below the sea", "-2 m", ParseLength, -2, 0},
		{"ft2", "100 ft2", ParseArea, 9.290304, 1e-9},
		{"m²", "270 m²", ParseArea, 270, 0},
		{"W/K", "350 W/K", ParseConductance, 350, 0},
		{"Btu/h/°F: greenhouse-S020 over 5/9 K", "660 Btu/h/°F", ParseConductance, 660 * 0.2930711 * 1.8, 1e-6},
		{"percent", "80 %", ParseShare, 0.8, 1e-12},
		{"percent without a space", "80%", ParseShare, 0.8, 1e-12},
		{"a heat pump", "320 %", ParseShare, 3.2, 1e-12},
		{"minutes", "10m", ParseDuration, 600, 0},
		{"seconds", "45 s", ParseDuration, 45, 0},
		{"hours and minutes", "2h30m", ParseDuration, 9000, 0},
		{"with spaces", "2 h 10 min", ParseDuration, 7800, 0},
		{"many hours", "48h", ParseDuration, 172800, 0},
		{"a day", "1 day", ParseDuration, 86400, 0},
		{"nothing long", "0 s", ParseDuration, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.parse(c.text)
			if err != nil || math.Abs(got-c.want) > c.tol*math.Abs(c.want) {
				t.Errorf("%q is %v, %v, want %v", c.text, got, err, c.want)
			}
		})
	}
}

func TestRefusedAmounts(t *testing.T) {
	for _, c := range []struct {
		name, text string
		parse      func(string) (float64, error)
		want       string
	}{
		{"a bare share may be 80 % or 0.8 %", "0.8", ParseShare, `"0.8" has no unit; write a share such as "80 %"`},
		{"a negative power", "-5 W", ParsePower, `"-5 W" is out of range for an electric power; write something like "600 W", "1.2 kW" or "0.5 hp"`},
		{"a flow as a power", "800 cfm", ParsePower, `"800 cfm": "cfm" is not a unit of an electric power; write "600 W", "1.2 kW" or "0.5 hp"`},
		{"an exponent", "1e3 W", ParsePower, `"1e3 W": "e3 W" is not a unit of an electric power; write "600 W", "1.2 kW" or "0.5 hp"`},
		{"thousands with a comma", "60,000 Btu/h", ParseHeatRate, `"60,000 Btu/h" has a comma in its number; write a decimal point and no thousands mark, as in "60 kBtu/h" or "17 kW"`},
		{"a bare duration", "10", ParseDuration, `"10" has no unit; write a duration such as "10 s", "5 min" or "2 h"`},
		{"no duration", " ", ParseDuration, `nothing is written; write a duration such as "10 s", "5 min" or "2 h"`},
		{"a page of text", strings.Repeat("1 h ", 40), ParseDuration, `"1 h 1 h 1 h 1 h 1 h 1 h "… is not a quantity; write a duration such as "10 s", "5 min" or "2 h"`},
		{"a duration backwards", "30m 2h", ParseDuration, `"30m 2h" is not a duration; write larger units first and no minus, as in "2 h 30 min"`},
		{"a duration that says hours twice", "1 h 1 h", ParseDuration, `"1 h 1 h" is not a duration; write larger units first and no minus, as in "2 h 30 min"`},
		{"a share over all reason", "1001 %", ParseShare, `"1001 %" is out of range for a share; write something like a share such as "80 %"`},
		{"a line of text", "5 W" + strings.Repeat(" ", 70) + "x", ParsePower, `"5 W                     "… is not a quantity; write "600 W", "1.2 kW" or "0.5 hp"`},
		{"a negative duration", "-10 s", ParseDuration, `"-10 s" is not a duration; write larger units first and no minus, as in "2 h 30 min"`},
		{"the second part without unit", "2h 30", ParseDuration, `"2h 30" has no unit; write a duration such as "10 s", "5 min" or "2 h"`},
		{"months, which are not all alike", "2 months", ParseDuration, `"2 months": "months" is not a unit of a duration; write a duration such as "10 s", "5 min" or "2 h"`},
		{"more than a year", "400 days", ParseDuration, `"400 days" is longer than a year; write a duration such as "10 s", "5 min" or "2 h"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := c.parse(c.text); err == nil || err.Error() != c.want {
				t.Errorf("%q is %v, error\n%v, want\n%v", c.text, got, err, c.want)
			}
		})
	}
}

func TestPrices(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Price
	}{
		{"a sign behind", "0.16 $/kWh", Price{0.16, "$", "kWh"}},
		{"a sign before", "$0.16/kWh", Price{0.16, "$", "kWh"}},
		{"a code", "0.16 USD/kWh", Price{0.16, "USD", "kWh"}},
		{"fuel", "2.90 $/gal", Price{2.9, "$", "gal"}},
		{"a unit of two words", "12.5 $/1000 ft3", Price{12.5, "$", "1000 ft3"}},
		{"kroner", "1.8 kr/kWh", Price{1.8, "kr", "kWh"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := ParsePrice(c.text); err != nil || got != c.want {
				t.Errorf("%q is %v, %v, want %v", c.text, got, err, c.want)
			}
		})
	}
	for _, c := range []struct{ name, text, want string }{
		{"bare", "0.16", `"0.16" names no currency; write a price such as "0.17 $/kWh" or "2.90 $/gal"`},
		{"of what", "0.16 $", `"0.16 $" does not say for how much; write a price such as "0.17 $/kWh" or "2.90 $/gal"`},
		{"no currency", "0.16 cheap/kWh", `"0.16 cheap/kWh": "cheap" is not a currency; write a price such as "0.17 $/kWh" or "2.90 $/gal"`},
		{"negative", "-1 $/kWh", `"-1 $/kWh" is out of range for a price; write a price such as "0.17 $/kWh" or "2.90 $/gal"`},
		{"nothing", "", `"" is not a price; write a price such as "0.17 $/kWh" or "2.90 $/gal"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := ParsePrice(c.text); err == nil || err.Error() != c.want {
				t.Errorf("%q is %v, error\n%v, want\n%v", c.text, got, err, c.want)
			}
		})
	}
}

func TestPriceKnowsItsCurrency(t *testing.T) {
	for _, c := range []struct {
		currency, code string
		want           bool
	}{
		{"$", "USD", true},
		{"$", "CAD", true},
		{"USD", "USD", true},
		{"$", "EUR", false},
		{"€", "EUR", true},
		{"CHF", "CHF", true},
		{"USD", "CAD", false},
	} {
		if got := (Price{1, c.currency, "kWh"}).Of(c.code); got != c.want {
			t.Errorf("%s of %s: %v", c.currency, c.code, got)
		}
	}
}
