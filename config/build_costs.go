package config

import (
	"loambank/config/unit"
)

// Costs is what building costs, in the settings' currency.
type Costs struct {
	PipePerM, TrenchPerM3, FilmPerM2, ScreenPerM2, InsulationPerM2 float64 // pipe of 10 cm, board of 5 cm
	StonePerM3, FanPerW, WiringPerStore, SolarPerW, BatteryPerKWh  float64
	Purse                                                          float64 // of a house; 0 is no limit
	Rate                                                           float64 // of interest, a year
	Years                                                          float64
}

// per is how many of what a price is for go into its SI unit.
type per func(name string) (float64, error)

func perLength(name string) (float64, error) { return unit.ParseLength("1 " + name) }
func perArea(name string) (float64, error)   { return unit.ParseArea("1 " + name) }
func perPower(name string) (float64, error)  { return unit.ParsePower("1 " + name) }
func perVolume(name string) (float64, error) { return unit.ParseVolume("1 " + name) }

// perWord is for what is counted.
func perWord(word string) per {
	return func(name string) (float64, error) {
		if name != word {
			return 0, &unit.Error{What: "it is not per " + word, Remedy: `write it so, such as "900 $/` + word + `"`}
		}
		return 1, nil
	}
}

// buildCosts reads what building costs.
func (b *builder) buildCosts(s *Settings, t CostsTable) {
	const table = "costs"
	b.group = table
	c := &s.Costs
	for _, p := range []struct {
		key      string
		written  Price
		of       per
		unit     string
		standard float64
		into     *float64
	}{
		{"pipe", t.Pipe, perLength, "m", 2.5, &c.PipePerM},
		{"trench", t.Trench, perVolume, "m3", 12, &c.TrenchPerM3},
		{"film", t.Film, perArea, "m2", 1.6, &c.FilmPerM2},
		{"screen", t.Screen, perArea, "m2", 14, &c.ScreenPerM2},
		{"insulation", t.Insulation, perArea, "m2", 14, &c.InsulationPerM2},
		{"stone", t.Stone, perVolume, "m3", 45, &c.StonePerM3},
		{"fan", t.Fan, perPower, "W", 0.8, &c.FanPerW},
		{"wiring", t.Wiring, perWord("store"), "store", 900, &c.WiringPerStore},
		{"solar", t.Solar, perPower, "W", 1.6, &c.SolarPerW},
		{"battery", t.Battery, perWord("kWh"), "kWh", 350, &c.BatteryPerKWh},
		{"purse", t.Purse, perWord("house"), "house", 0, &c.Purse},
	} {
		*p.into = p.standard
		price, stated := b.money(table, p.key, p.written)
		if stated {
			units, err := p.of(price.Per)
			if err != nil {
				b.wrong(join(table, p.key), err)
				continue
			}
			*p.into = price.Amount / units
		}
		if b.written(table, p.key) {
			b.line(p.key, unit.Price{Amount: *p.into, Currency: unit.Symbol(b.currency), Per: p.unit}.String(), false)
		}
	}
	c.Rate = b.share(table, "rate", t.Rate, 0, 0.2).otherwise(0.05)
	c.Years = b.number(table, "years", t.Years, 1, 40).otherwise(15)
	if b.pos.has(table) {
		b.line("rate", b.display.Share(c.Rate), !t.Rate.Set)
		b.line("years", plainNumber(c.Years), t.Years == nil)
	}
}
