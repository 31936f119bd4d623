package unit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestDisplay(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{US.Temperature(3.4), "38 °F"},
		{SI.Temperature(3.46), "3.5 °C"},
		{SI.Temperature(18), "18.0 °C"},
		{SI.Temperature(-0.04), "0.0 °C"},
		{US.Temperature(-17.9), "0 °F"},
		{US.Temperature(-20), "−4 °F"},
		{SI.Temperature(-0.06), "−0.1 °C"},
		{SI.Difference(-0.3), "−0.3 K"},
		{SI.Heat(-259.2e6), "−72 kWh"},
		{Number(-18, 2), "−18.00"},
		{Number(-0.004, 2), "0.00"},
		{Change(18, 0), "+18"},
		{Change(-18, 1), "−18.0"},
		{Change(0.4, 0), "0"},
		{Change(0, 1), "0.0"},
		{US.Setting(2.5), "36.5 °F"},
		{SI.Setting(18), "18 °C"},
		{US.Difference(4.5), "8.1 °F"},
		{SI.Difference(4.5), "4.5 K"},
		{SI.Power(600), "600 W"},
		{SI.Power(1200), "1.2 kW"},
		{SI.Power(999.6), "1 kW"},
		{US.Heat(43.2e6), "12 kWh"},
		{US.Heat(1.26e6), "0.35 kWh"},
		{US.Heat(7.2e8), "200 kWh"},
		{US.HeatRate(60000 * 0.2930711), "60 kBtu/h"},
		{SI.HeatRate(17584), "17.6 kW"},
		{US.Flow(2800 * 0.0004719474), "2800 cfm"},
		{SI.Flow(0.4), "1440 m³/h"},
		{US.Length(0.4572), "18 in"},
		{US.Length(9.144), "30 ft"},
		{SI.Length(0.45), "45 cm"},
		{SI.Length(9.144), "9.14 m"},
		{US.Area(270), "2906 ft²"},
		{SI.Area(270), "270 m²"},
		{SI.Conductance(350), "350 W/K"},
		{US.Conductance(348.17), "660 Btu/h/°F"},
		{SI.Share(0.925), "92.5 %"},
		{SI.Duration(45), "45 s"},
		{SI.Duration(600), "10 min"},
		{SI.Duration(630), "10 min 30 s"},
		{SI.Duration(7800), "2 h 10 min"},
		{SI.Duration(59.7), "1 min"},
		{SI.Duration(3599.8), "1 h"},
		{SI.Duration(48 * 3600), "2 days"},
		{SI.Duration(76 * 3600), "3 days 4 h"},
		{SI.Duration(math.NaN()), "0 s"},
		{Price{2.9, "$", "gal"}.String(), "2.90 $/gal"},
		{Price{0.1354, "$", "kWh"}.String(), "0.1354 $/kWh"},
	} {
		if c.got != c.want {
			t.Errorf("%s, want %s", c.got, c.want)
		}
	}
}

// What is shown reads back as the same quantity, to within the rounding of what is shown.
func TestRenderedReadsBack(t *testing.T) {
	type quantity struct {
		name      string
		low, high float64
		show      func(Display, float64) string
		parse     func(string) (float64, error)
		abs, rel  float64
	}
	for _, q := range []quantity{
		{
			"temperature", -60, 120, func(d Display, v float64) string { return d.Temperature(Celsius(v)) },
			func(s string) (float64, error) { c, err := ParseTemperature(s); return float64(c), err }, 0.28, 0,
		},
		{
			"setting", -60, 120, func(d Display, v float64) string { return d.Setting(Celsius(v)) },
			func(s string) (float64, error) { c, err := ParseTemperature(s); return float64(c), err }, 0.051, 0,
		},
		{
			"difference", -60, 60, func(d Display, v float64) string { return d.Difference(Kelvin(v)) },
			func(s string) (float64, error) { c, err := ParseDifference(s); return float64(c), err }, 0.051, 0,
		},
		{"power", 0, 1e5, Display.Power, ParsePower, 0.51, 0.006},
		{"heat rate", 0, 5e6, Display.HeatRate, ParseHeatRate, 51, 0},
		{"flow", 0, 50, Display.Flow, ParseFlow, 0.0003, 0},
		{"length", 0, 300, Display.Length, ParseLength, 0.016, 0},
		{"area", 0, 1e5, Display.Area, ParseArea, 0.51, 0},
		{"conductance", 0, 1e5, Display.Conductance, ParseConductance, 0.51, 0},
		{"share", 0, 1, Display.Share, ParseShare, 0.00051, 0},
		{"duration", 0, 300 * 86400, Display.Duration, ParseDuration, 0.51, 0.011},
	} {
		t.Run(q.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				v := rapid.Float64Range(q.low, q.high).Draw(t, "value")
				d := rapid.SampledFrom([]Display{SI, US}).Draw(t, "display")
				text := q.show(d, v)
				got, err := q.parse(text)
				if err != nil || math.Abs(got-v) > q.abs+q.rel*math.Abs(v) {
					t.Errorf("%v is shown as %q, read as %v, %v", v, text, got, err)
				}
			})
		})
	}
}

// A price that a person can write reads back as it was.
func TestPriceReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Price{
			Amount:   float64(rapid.IntRange(0, 1e8).Draw(t, "amount")) / 1e4,
			Currency: rapid.SampledFrom([]string{"$", "€", "USD", "kr"}).Draw(t, "currency"),
			Per:      rapid.SampledFrom([]string{"kWh", "gal", "1000 ft3"}).Draw(t, "per"),
		}
		if got, err := ParsePrice(p.String()); err != nil || got != p {
			t.Errorf("%q is read as %v, %v", p.String(), got, err)
		}
	})
}
