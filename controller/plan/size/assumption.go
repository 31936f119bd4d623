package size

import (
	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/physics"
)

// Assumption is something that a design stands on, and how far it may be off.
type Assumption struct {
	Name      string
	Low, High string // what it is changed to
	change    func(h *config.House, high bool)
}

// Changed returns the house with the assumption at its low or high end; h is left as it is.
func (a *Assumption) Changed(h *config.House, high bool) *config.House {
	own := *h
	d := &own.House.Decide
	own.Pipes = append([]config.Pipes{}, h.Pipes...)
	d.Stores = append(d.Stores[:0:0], d.Stores...)
	for i := range d.Stores {
		d.Stores[i].Fans = append(d.Stores[i].Fans[:0:0], d.Stores[i].Fans...)
	}
	d.Tariff.Periods = append(d.Tariff.Periods[:0:0], d.Tariff.Periods...)
	a.change(&own, high)
	d.HouseLossWK = own.LossWK()
	return &own
}

// Assumptions returns what weighs on the money of a store, each with a low and a high end: wide but
// usual, common practice, no source where METHODS.md names none.
func Assumptions() []Assumption {
	pick := func(high bool, low, hi float64) float64 {
		if high {
			return hi
		}
		return low
	}
	fan := func(of func(power, flow *float64, high bool)) func(*config.House, bool) {
		return func(h *config.House, high bool) {
			f := &h.House.Decide.Stores[0].Fans[0]
			of(&f.PowerW, &f.FlowM3s, high)
		}
	}
	return []Assumption{
		{"water in the soil", "15 %", "35 %", func(h *config.House, high bool) { h.Soil.Water = pick(high, 0.15, 0.35) }},
		{"texture of the soil", "sand", "clay", func(h *config.House, high bool) {
			h.Soil.Texture = physics.Sand
			if high {
				h.Soil.Texture = physics.Clay
			}
		}},
		{"air changes through gaps", "x 0.6", "x 2", func(h *config.House, high bool) { h.AirChanges *= pick(high, 0.6, 2) }},
		{"vents open", "4 K sooner", "4 K later", func(h *config.House, high bool) {
			h.Vents.OpensAt = h.Vents.OpensAt.Add(unit.Kelvin(pick(high, -4, 4)))
		}},
		{"air that the fan moves", "x 0.7", "x 1.3", fan(func(_, flow *float64, high bool) { *flow *= pick(high, 0.7, 1.3) })},
		{"electricity that the fan draws", "x 0.7", "x 1.5", fan(func(power, _ *float64, high bool) { *power *= pick(high, 0.7, 1.5) })},
		{"water that drains from the pipes", "all stays", "90 %", func(h *config.House, high bool) {
			h.Pipes[0].Sealed = !high && h.Pipes[0].Count > 0 // where none are stated they stay so
		}},
		{"price of electricity", "x 0.75", "x 1.5", func(h *config.House, high bool) {
			t := &h.House.Decide.Tariff
			by := pick(high, 0.75, 1.5)
			t.ElectricityPerKWh *= by
			for i := range t.Periods {
				t.Periods[i].ElectricityPerKWh *= by
			}
		}},
		{"price of fuel", "x 0.75", "x 1.5", func(h *config.House, high bool) {
			t := &h.House.Decide.Tariff
			by := pick(high, 0.75, 1.5)
			t.FuelHeatPerKWh *= by
			for i := range t.StoredPerKWh {
				t.StoredPerKWh[i] *= by
			}
		}},
	}
}
