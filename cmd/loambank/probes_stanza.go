package main

import (
	"fmt"
	"strconv"
	"strings"

	"loambank/config/unit"
	"loambank/drivers/find"
)

// stanza returns an item as a line of the settings, "" for what no role reads. A probe fits into a
// house; one of soil or of a duct must be moved to its store, with another role.
func (i *item) stanza() string {
	if i.Kind == find.Line {
		if i.At == "" || i.Holder != "" {
			return ""
		}
		return i.fan("relay", fmt.Sprintf("pin = %q", i.At))
	}
	keys := i.keys()
	switch i.Stanza.Driver {
	case "":
		return ""
	case "dac":
		return i.fan("dac", keys)
	}
	role := ""
	switch i.Measure {
	case find.Temperature:
		role = `role = "outside"` // the one that does least where it is pasted as it is
		if i.Kind == find.Chip {
			role = `role = "air", place = "crop"`
		}
	case find.Voltage:
		role = `role = "outside"`
	case find.Humidity, find.CO2, find.Light:
		role = fmt.Sprintf("role = %q", i.Measure)
	default:
		return ""
	}
	return fmt.Sprintf("{ name = %q, %s, driver = %q, %s },", i.name(), role, i.Stanza.Driver, keys)
}

// fan is a stanza of a fan, whose power and flow only its owner knows.
func (i *item) fan(driver, keys string) string {
	return fmt.Sprintf("{ name = %q, driver = %q, %s, power = \"600 W\", flow = \"1500 cfm\" },", i.name(), driver, keys)
}

// keys say where the device is.
func (i *item) keys() string {
	s := &i.Stanza
	var keys []string
	add := func(format string, a any) { keys = append(keys, fmt.Sprintf(format, a)) }
	for _, text := range []struct{ key, value string }{{"id", s.ID}, {"bus", s.Bus}, {"path", s.Path}, {"format", s.Format}} {
		if text.value != "" {
			add(text.key+" = %q", text.value)
		}
	}
	if s.Address != 0 {
		add("address = %#02x", s.Address)
	}
	if s.Driver == "ads1115" {
		add("channel = %d", s.Channel)
		keys = append(keys, "ntc = { beta = 3950, ohms = 10000 }")
	}
	if s.Scale != 0 {
		add("scale = %s", decimal(s.Scale))
	}
	if s.Offset != 0 {
		add("offset = %q", i.offset())
	}
	return strings.Join(keys, ", ")
}

// offset is written in the unit of what is read.
func (i *item) offset() string {
	v, of := i.Stanza.Offset, " lux"
	switch i.Measure {
	case find.Temperature:
		of = " K"
	case find.Humidity:
		v, of = v*100, " %"
	case find.CO2:
		of = " ppm"
	}
	return strconv.FormatFloat(v, 'f', 6, 64) + of
}

// decimal is a number of the settings: of a whole one TOML wants a decimal point to be a float.
func decimal(v float64) string {
	text := strconv.FormatFloat(v, 'g', 9, 64)
	if !strings.ContainsAny(text, ".e") {
		text += ".0"
	}
	return text
}

// name is one that no other item has, of the letters a name may have.
func (i *item) name() string {
	name := i.where()
	switch i.Kind {
	case find.File:
		parts := strings.Split(i.At, "/")
		name = strings.Join(parts[max(0, len(parts)-2):], "-")
	case find.Chip:
		name = strings.ToLower(name)
		if i.Stanza.Driver != "ads1115" && i.Measure != find.Nothing {
			name += " " + i.Measure.String()
		}
	}
	name = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.", r) {
			return r
		}
		return '-'
	}, name)
	return name[max(0, len(name)-40):]
}

// reading is a value for people, in their units.
func reading(d unit.Display, m find.Measure, v float64) string {
	switch m {
	case find.Temperature:
		return d.Setting(unit.Celsius(v))
	case find.Humidity:
		return d.Share(v)
	case find.Pressure:
		return fmt.Sprintf("%.1f hPa", v/100)
	case find.CO2:
		return fmt.Sprintf("%.0f ppm", v)
	case find.Voltage:
		return fmt.Sprintf("%.3f V", v)
	case find.Light:
		return fmt.Sprintf("%.0f lux", v)
	}
	return fmt.Sprintf("%.6g", v)
}

// change is the difference of two readings, with its sign.
func change(d unit.Display, m find.Measure, by float64) string {
	text := reading(d, m, by)
	if m == find.Temperature {
		text = d.Difference(unit.Kelvin(by))
	}
	if by >= 0 {
		text = "+" + text
	}
	return text
}
