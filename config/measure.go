package config

import (
	"fmt"
	"math"
	"strings"

	"loambank/config/unit"
)

// measure reads the text of one quantity within a range. show renders a value for the remedy.
func (b *builder) measure(table, key string, q quantity, low, high float64,
	parse func(string) (float64, error), show func(float64) string,
) option[float64] {
	if !q.Set {
		return option[float64]{}
	}
	v, err := parse(q.Text)
	if err != nil {
		b.wrong(join(table, key), err)
		return option[float64]{}
	}
	// A limit may be written in other units and rounded on the way.
	slack := 1e-9 * (1 + math.Abs(low) + math.Abs(high))
	if !(v >= low-slack && v <= high+slack) {
		b.fault(join(table, key), quote(strings.TrimSpace(q.Text))+" is out of range", "write "+show(low)+" to "+show(high))
		return option[float64]{}
	}
	return option[float64]{v, true}
}

func (b *builder) celsius(table, key string, t Temperature, low, high unit.Celsius) option[unit.Celsius] {
	o := b.measure(table, key, t.quantity, float64(low), float64(high),
		func(s string) (float64, error) { c, err := unit.ParseTemperature(s); return float64(c), err },
		func(v float64) string { return b.display.Setting(unit.Celsius(v)) })
	return option[unit.Celsius]{unit.Celsius(o.value), o.stated}
}

// looksLikeTemperature is a difference that nobody asks for, so that a temperature was meant, K.
const looksLikeTemperature unit.Kelvin = 30

func (b *builder) kelvin(table, key string, d Difference, low, high unit.Kelvin) option[unit.Kelvin] {
	parse := func(s string) (float64, error) {
		k, err := unit.ParseDifference(s)
		if err == nil && k > looksLikeTemperature {
			err = &unit.Error{
				What: quote(strings.TrimSpace(s)) + " looks like a temperature",
				Remedy: fmt.Sprintf("%s is a difference between two temperatures, write %s to %s", key,
					b.display.Difference(low), b.display.Difference(high)),
			}
		}
		return float64(k), err
	}
	o := b.measure(table, key, d.quantity, float64(low), float64(high), parse,
		func(v float64) string { return b.display.Difference(unit.Kelvin(v)) })
	return option[unit.Kelvin]{unit.Kelvin(o.value), o.stated}
}

func (b *builder) seconds(table, key string, d Duration, low, high float64) option[float64] {
	return b.measure(table, key, d.quantity, low, high, unit.ParseDuration, b.display.Duration)
}

func (b *builder) watts(table, key string, p Power, low, high float64) option[float64] {
	return b.measure(table, key, p.quantity, low, high, unit.ParsePower, b.display.Power)
}

func (b *builder) heatWatts(table, key string, h HeatRate, low, high float64) option[float64] {
	return b.measure(table, key, h.quantity, low, high, unit.ParseHeatRate, b.display.HeatRate)
}

func (b *builder) flow(table, key string, f Flow, low, high float64) option[float64] {
	return b.measure(table, key, f.quantity, low, high, unit.ParseFlow, b.display.Flow)
}

func (b *builder) length(table, key string, l Length, low, high float64) option[float64] {
	return b.measure(table, key, l.quantity, low, high, unit.ParseLength, b.display.Length)
}

func (b *builder) share(table, key string, s Share, low, high float64) option[float64] {
	return b.measure(table, key, s.quantity, low, high, unit.ParseShare, b.display.Share)
}

func (b *builder) conductance(table, key string, c Conductance, low, high float64) option[float64] {
	return b.measure(table, key, c.quantity, low, high, unit.ParseConductance, b.display.Conductance)
}

// price reads a price per kWh in the farm's currency.
func (b *builder) price(table, key string, p Price) option[float64] {
	price, ok := b.money(table, key, p)
	if ok && price.Per != "kWh" {
		b.fault(join(table, key), quote(p.Text)+" is not a price per kWh", "write a price such as "+
			quote("0.17 "+unit.Symbol(b.currency)+"/kWh"))
		return option[float64]{}
	}
	return option[float64]{price.Amount, ok}
}

// money reads a price per anything in the farm's currency.
func (b *builder) money(table, key string, p Price) (unit.Price, bool) {
	if !p.Set {
		return unit.Price{}, false
	}
	price, err := unit.ParsePrice(p.Text)
	switch {
	case err != nil:
		b.wrong(join(table, key), err)
		return unit.Price{}, false
	case b.currency == "":
		b.missing("prices", "currency", `it by its three letters, such as currency = "USD"`)
		return unit.Price{}, false
	case !price.Of(b.currency):
		b.fault(join(table, key), quote(p.Text)+" is not in "+b.currency,
			"write every price in the farm's currency, as "+quote("0.17 "+unit.Symbol(b.currency)+"/"+price.Per))
		return unit.Price{}, false
	}
	return price, true
}

// perKWh renders a price per kWh.
func (b *builder) perKWh(amount float64) string {
	return unit.Price{Amount: amount, Currency: unit.Symbol(b.currency), Per: "kWh"}.String()
}
