package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// What a person reads is rounded to what a person can use. Each method's text can be read back by
// the parser of the same quantity, to within that rounding.

// Temperature renders a reading: whole °F, tenths of °C.
func (d Display) Temperature(c Celsius) string {
	if d == US {
		return whole(c.Fahrenheit()) + " °F"
	}
	return Number(float64(c), 1) + " °C"
}

// Degree is the unit of temperatures, "°F" or "°C".
func (d Display) Degree() string {
	if d == US {
		return "°F"
	}
	return "°C"
}

// Setting renders a temperature that a person wrote: tenths, without a needless ".0".
func (d Display) Setting(c Celsius) string {
	if d == US {
		return trim(c.Fahrenheit(), 1) + " °F"
	}
	return trim(float64(c), 1) + " °C"
}

// Difference renders a difference in tenths of °F or K.
func (d Display) Difference(k Kelvin) string {
	if d == US {
		return trim(k.Fahrenheit(), 1) + " °F"
	}
	return trim(float64(k), 1) + " K"
}

// Power renders an electric power: "600 W", "1.2 kW".
func (d Display) Power(powerW float64) string {
	if math.Abs(powerW) < 999.5 {
		return whole(powerW) + " W"
	}
	return trim(powerW/1000, 2) + " kW"
}

// Heat renders an amount of heat in kWh, as bills do, in both sets of units.
func (d Display) Heat(heatJ float64) string { return significant(heatJ/3.6e6) + " kWh" }

// HeatRate renders a heat rate: "60 kBtu/h", "17.6 kW".
func (d Display) HeatRate(heatW float64) string {
	if d == US {
		return trim(heatW/btuW/1000, 1) + " kBtu/h"
	}
	return trim(heatW/1000, 1) + " kW"
}

// Flow renders an air flow: "800 cfm", "1360 m³/h".
func (d Display) Flow(flowM3s float64) string {
	if d == US {
		return whole(flowM3s/cfmM3s) + " cfm"
	}
	return whole(flowM3s*3600) + " m³/h"
}

// Length renders a length: "18 in" and "30 ft", "45 cm" and "9.1 m".
func (d Display) Length(lengthM float64) string {
	small := math.Abs(lengthM) < 0.995
	switch {
	case d == US && small:
		return trim(lengthM/inchM, 1) + " in"
	case d == US:
		return trim(lengthM/footM, 1) + " ft"
	case small:
		return trim(lengthM*100, 1) + " cm"
	}
	return trim(lengthM, 2) + " m"
}

// Area renders an area: "2900 ft²", "270 m²".
func (d Display) Area(areaM2 float64) string {
	if d == US {
		return whole(areaM2/squareF) + " ft²"
	}
	return whole(areaM2) + " m²"
}

// Conductance renders a heat loss per degree: "660 Btu/h/°F", "350 W/K".
func (d Display) Conductance(lossWK float64) string {
	if d == US {
		return whole(lossWK/btuFWK) + " Btu/h/°F"
	}
	return whole(lossWK) + " W/K"
}

// Share renders a share of 0 to 1 in percent.
func (d Display) Share(share float64) string { return trim(share*100, 1) + " %" }

// Duration renders a duration by its two largest units: "2 h 10 min", "45 s", "3 days 4 h".
func (d Display) Duration(durationS float64) string {
	if !(durationS >= 0) {
		durationS = 0
	}
	switch {
	case durationS < 59.5:
		return pair(whole(durationS), "s", 0, "")
	case durationS < 3599.5:
		s := int64(durationS + 0.5)
		return pair(strconv.FormatInt(s/60, 10), "min", s%60, "s")
	case durationS < 2*86400:
		min := int64(durationS/60 + 0.5)
		return pair(strconv.FormatInt(min/60, 10), "h", min%60, "min")
	}
	h := int64(math.Min(durationS, math.MaxInt32*3600)/3600 + 0.5)
	return pair(strconv.FormatInt(h/24, 10), "days", h%24, "h")
}

func pair(big, bigUnit string, small int64, smallUnit string) string {
	if small == 0 {
		return big + " " + bigUnit
	}
	return fmt.Sprintf("%s %s %d %s", big, bigUnit, small, smallUnit)
}

func whole(v float64) string { return Number(v, 0) }

// trim renders v with at most so many decimals and no trailing zeros.
func trim(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return signed(s)
}

// significant keeps two digits of small amounts and whole numbers of large ones.
func significant(v float64) string {
	switch a := math.Abs(v); {
	case a < 0.995:
		return trim(v, 2)
	case a < 99.5:
		return trim(v, 1)
	}
	return whole(v)
}

// Number renders a number for people, with so many decimals and the true minus sign "−". A rounded
// nothing has no sign.
func Number(v float64, decimals int) string {
	return signed(strconv.FormatFloat(v, 'f', decimals, 64))
}

// Change renders how much a number moved: Number, with a plus sign where it grew.
func Change(v float64, decimals int) string {
	s := Number(v, decimals)
	if v > 0 && s != Number(0, decimals) {
		return "+" + s
	}
	return s
}

// signed gives printed digits the sign that people read.
func signed(s string) string {
	digits, negative := strings.CutPrefix(s, "-")
	if !negative || strings.Trim(digits, "0.") == "" {
		return digits
	}
	return "−" + digits
}
