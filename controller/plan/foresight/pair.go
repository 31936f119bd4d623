package foresight

import (
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/plan/tune"
	"loambank/controller/season"
	"loambank/controller/trial"
)

// Pair is a pair of thermostats that knows the soil too, the best that can be set by hand: fans run
// while the house is Margin warmer than the soil, and while it is under Setpoint and the soil Gain
// warmer, each with a band of half a kelvin. It knows no price and no month but the season that the
// usual pair keeps, and is bound by the limits of the settings.
type Pair struct {
	Margin   unit.Kelvin
	Gain     unit.Kelvin
	Setpoint unit.Celsius
}

// pairBand is how far under its difference, or over its setpoint, a thermostat goes on.
const pairBand unit.Kelvin = 0.5

// PairOf is the pair with the differences and the setpoint of the settings.
func PairOf(h *config.House) Pair {
	p := &h.House.Decide.Policies[0]
	if len(p.Stores) == 0 {
		return Pair{Setpoint: p.Setpoint}
	}
	return Pair{Margin: p.Stores[0].Margin, Gain: p.Stores[0].Gain, Setpoint: p.Setpoint}
}

// Rule is the pair at work in a house, between two dates of the year.
func (p Pair) Rule(h *config.House, between season.Dates) trial.Rule {
	return &hands{Pair: p, g: newGuard(&h.House), season: between}
}

type hands struct {
	Pair
	g      *guard
	season season.Dates
}

// Decide looks at air and soil.
func (p *hands) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	air, known := p.g.air(0, 0)
	soil, also := p.g.soil()
	want, band := rest, unit.Kelvin(0)
	if p.g.doing != rest {
		band = pairBand
	}
	switch over := air.C.Sub(soil); {
	case !known || !also || !p.season.Contains(now.Year(), now.Month(), now.Day()):
	case over > p.Margin-band && p.g.doing != discharge:
		want = charge
	case -over > p.Gain-band && air.C < p.Setpoint.Add(band) && p.g.doing != charge:
		want = discharge
	}
	return p.g.step(want, 0, raw, now)
}

// BestPair searches the pair that earns most, from one on, with at most so many trials. live lives
// through the year with each and returns what it earns, currency; its error ends the search with the
// best so far.
func BestPair(from Pair, most int, live func([]Pair) ([]float64, error)) (Pair, float64, error) {
	const stepK = 0.5
	at := func(p tune.Point) Pair {
		return Pair{
			from.Margin + stepK*unit.Kelvin(p[0]), from.Gain + stepK*unit.Kelvin(p[1]), from.Setpoint.Add(stepK * unit.Kelvin(p[2])),
		}
	}
	least := func(v unit.Kelvin) int { return int((stepK - v) / stepK) }
	s := newSearch(at, live)
	box := tune.Box{Lo: tune.Point{least(from.Margin), least(from.Gain), -20}, Hi: tune.Point{40, 40, 30}}
	err := s.walk(tune.Point{0, 0, 0}, tune.Point{6, 6, 4}, box, most)
	return s.best, s.most, err
}
