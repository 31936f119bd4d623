package config

// Quantities in File are structs that keep their text. Were they numbers, a bare 65 would slip
// through as 65 °C; were they parsed while the file is decoded, the first fault would hide the
// rest. Build parses each one, knows its line, and goes on.

// quantity is the text of a number with its unit. The zero value was not written.
type quantity struct {
	Text string
	Set  bool // it stands in the file, be it empty
}

// UnmarshalText keeps the text; it never fails.
func (q *quantity) UnmarshalText(text []byte) error {
	q.Text, q.Set = string(text), true
	return nil
}

// The kinds of quantities in File. Each keeps its text; the zero value was not written.
type (
	// Temperature is a point on the scale, "65 °F" or "18 °C".
	Temperature struct{ quantity }
	// Difference is a difference of temperatures, "8 °F" or "4 K".
	Difference struct{ quantity }
	// Duration is a span of time, "10 s" or "2 h 30 min".
	Duration struct{ quantity }
	// Power is electric power, "600 W" or "1.2 kW".
	Power struct{ quantity }
	// HeatRate is a heat output, "60 kBtu/h" or "17 kW".
	HeatRate struct{ quantity }
	// Flow is an air flow, "800 cfm" or "1400 m3/h".
	Flow struct{ quantity }
	// Length is "30 ft" or "9 m".
	Length struct{ quantity }
	// Share is a part of a whole, "80 %".
	Share struct{ quantity }
	// Price is money for one unit of something, "0.17 $/kWh".
	Price struct{ quantity }
	// Conductance is heat lost per degree, "350 W/K" or "660 Btu/h/°F".
	Conductance struct{ quantity }
	// Amount is a value or difference in the unit of a probe's role.
	Amount struct{ quantity }
)
