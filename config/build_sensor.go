package config

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"loambank/controller/judge"
	"loambank/drivers"
	quantities "loambank/drivers/device"
)

// sensor reads what some kinds of probes are told beside where they are.
func (b *builder) sensor(table string, t ProbeTable, role judge.Role, s *drivers.Stanza) {
	s.Quantity = quantityOf(role)
	i := slices.IndexFunc(devices[:], func(d device) bool { return d.kind == t.Driver })
	if i < 0 || !devices[i].probe {
		return // the fault is noted
	}
	d := devices[i]
	if d.measures != nil && !slices.Contains(d.measures, s.Quantity) {
		var words []string
		for _, q := range d.measures {
			words = append(words, q.String())
		}
		b.fault(join(table, "role"), "driver "+d.kind+" cannot serve for "+quote(role.String()), "it measures "+strings.Join(words, ", "))
	}
	s.NormallyClosed = b.choice(table, "normally", t.Normally, "open", "closed") == "closed"
	if b.written(table, "channel") {
		if t.Channel < 0 || t.Channel > 3 {
			b.fault(join(table, "channel"), fmt.Sprintf("%d is no input", t.Channel), "write 0 to 3")
		} else {
			s.Channel = int(t.Channel)
		}
	}
	s.PerKWh = b.number(table, "pulses_per_kwh", t.PulsesPerKWh, 0.1, 1e6).value
	s.NTC = b.thermistor(join(table, "ntc"), t.NTC)
	if s.NTC != nil && s.Quantity != quantities.Temperature {
		b.fault(join(table, "ntc"), "a thermistor cannot serve for "+quote(role.String()), "it measures temperature")
	}
	burst := b.seconds(table, "heater_burst", t.HeaterBurst, 600, 2*86400)
	s.HeaterBurst = time.Duration(burst.value * float64(time.Second))
	if burst.stated && role != judge.Humidity {
		b.fault(join(table, "heater_burst"), "a chip that heats itself cannot serve for "+quote(role.String()), "remove it, or give humidity its own chip")
	}
}

// written reports whether a key is written, with a value of its type.
func (b *builder) written(table, key string) bool {
	at := join(table, key)
	return b.pos.has(at) && !b.removed[at]
}

// quantityOf is what a role asks of a chip that measures several things.
func quantityOf(role judge.Role) quantities.Quantity {
	switch {
	case role.Temperature():
		return quantities.Temperature
	case role == judge.Humidity:
		return quantities.Humidity
	case role == judge.CO2:
		return quantities.CO2
	case role == judge.FanPower:
		return quantities.Power
	}
	return quantities.NoQuantity
}

// thermistor reads a thermistor, 10 kΩ of B 3950 K in series with 10 kΩ at 3.3 V where nothing is
// stated: the usual parts.
func (b *builder) thermistor(table string, t *NTCTable) *drivers.NTC {
	if t == nil {
		return nil
	}
	n := drivers.NTC{
		Beta:     b.number(table, "beta", t.Beta, 1000, 10_000).or(option[float64]{value: 3950}).value,
		Ohm:      b.number(table, "ohms", t.Ohms, 100, 1e6).or(option[float64]{value: 10_000}).value,
		FixedOhm: b.number(table, "fixed_ohms", t.FixedOhms, 100, 1e6).or(option[float64]{value: 10_000}).value,
		SupplyV:  b.number(table, "volts", t.Volts, 1, 5.5).or(option[float64]{value: 3.3}).value,
		ToSupply: b.choice(table, "wired", t.Wired, "ground", "supply") == "supply",
	}
	if !b.written(table, "steinhart") {
		return &n
	}
	at := join(table, "steinhart")
	switch {
	case t.Beta != nil || t.Ohms != nil:
		b.fault(at, "a thermistor has coefficients or a B value, not both", "remove steinhart, or beta and ohms")
	case len(t.Steinhart) != 3:
		b.fault(at, fmt.Sprintf("%d coefficients are not three", len(t.Steinhart)), "write A, B and C, as in steinhart = [2.1e-3, 0.8e-4, 6.5e-7]")
	default:
		n.Beta, n.Ohm = 0, 0
		copy(n.Steinhart[:], t.Steinhart)
		if err := n.Check(); err != nil {
			b.fault(at, fmt.Sprintf("%v are no coefficients of a thermistor", t.Steinhart), "look at their powers of ten, as in steinhart = [2.1e-3, 0.8e-4, 6.5e-7]")
		}
	}
	return &n
}

// words renders the keys for people, each after a comma.
func (k SensorKeys) words() string {
	text := ""
	if k.Normally != "" {
		text += ", normally " + k.Normally
	}
	if n := k.NTC; n != nil {
		text += fmt.Sprintf(", input %d, thermistor", k.Channel)
		for _, part := range []struct {
			value *float64
			after string
		}{{n.Ohms, " Ω"}, {n.Beta, " K"}} {
			if part.value != nil {
				text += " " + plainNumber(*part.value) + part.after
			}
		}
		if len(n.Steinhart) > 0 {
			text += fmt.Sprint(" ", n.Steinhart)
		}
		if n.FixedOhms != nil {
			text += " with " + plainNumber(*n.FixedOhms) + " Ω"
		}
		if n.Volts != nil {
			text += " at " + plainNumber(*n.Volts) + " V"
		}
		if n.Wired != "" {
			text += " to " + n.Wired
		}
	} else if k.Channel != 0 {
		text += fmt.Sprintf(", input %d", k.Channel)
	}
	if k.PulsesPerKWh != nil {
		text += ", " + plainNumber(*k.PulsesPerKWh) + " pulses for one kWh"
	}
	if k.HeaterBurst.Set {
		text += ", heated dry once in " + k.HeaterBurst.Text
	}
	return text
}
