package config

import (
	"strings"

	"loambank/config/unit"
	"loambank/controller/judge"
)

// amounts is how the values of a role are written.
type amounts struct {
	role  judge.Role
	agree float64 // how far probes of one place may differ, in the role's unit; common practice, no source
}

// scale is one way of writing a value: as a point or as a difference.
type scale struct {
	parse func(string) (float64, error) // nil where there is nothing to write
	show  func(unit.Display, float64) string
}

func amountOf(role judge.Role) amounts {
	switch {
	case role == judge.Soil:
		return amounts{role, 3}
	case role.Temperature():
		return amounts{role, 2.5}
	case role == judge.Humidity:
		return amounts{role, 0.1}
	}
	return amounts{role, 0}
}

// point is how a value itself is written.
func (a amounts) point() scale {
	if a.role.Temperature() {
		return scale{
			func(s string) (float64, error) { c, err := unit.ParseTemperature(s); return float64(c), err },
			func(d unit.Display, v float64) string { return d.Setting(unit.Celsius(v)) },
		}
	}
	return a.difference()
}

// difference is how a correction of a value is written.
func (a amounts) difference() scale {
	switch {
	case a.role.Temperature():
		return scale{
			func(s string) (float64, error) { k, err := unit.ParseDifference(s); return float64(k), err },
			func(d unit.Display, v float64) string { return d.Difference(unit.Kelvin(v)) },
		}
	case a.role == judge.Humidity:
		return scale{signed(unit.ParseShare), unit.Display.Share}
	case a.role == judge.FanPower:
		return scale{signed(unit.ParsePower), unit.Display.Power}
	case a.role == judge.Radon:
		return in("Bq/m3")
	case a.role == judge.CO2:
		return in("ppm")
	case a.role == judge.Light:
		return in("lux")
	}
	return scale{}
}

func in(name string) scale {
	return scale{
		func(s string) (float64, error) { return unit.ParseIn(s, name) },
		func(_ unit.Display, v float64) string { return plainNumber(v) + " " + name },
	}
}

// signed lets a correction be negative, where the quantity itself cannot.
func signed(parse func(string) (float64, error)) func(string) (float64, error) {
	return func(s string) (float64, error) {
		after, negative := strings.CutPrefix(strings.TrimSpace(s), "-")
		if !negative {
			return parse(s)
		}
		v, err := parse(after)
		return -v, err
	}
}
