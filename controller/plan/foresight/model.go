package foresight

import (
	"math"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/tariff"
	"loambank/controller/trial"
)

// Model is a house with its stores as one body of soil: make one with NewModel. It goes round: the
// hour after its last is its first.
type Model struct {
	hours  []hour
	speeds []speed // of all fans together, rising; none where there are no fans
	heater decide.Heater

	pressurePa float64
	lossWK     float64 // with heat given to its air, how much more the house loses for each K
	full       float64 // effectiveness of the pipes at full flow, as settings assume it
	capacityJK float64 // heat that warms all stores by 1 K
	fadesPerH  float64 // share of the stores' excess heat that leaves by itself in an hour
	rises      float64 // share of that which the house has
	into, out  float64 // heat moved when charging and discharging, of what physics.Exchange says
	lowK       float64 // the stores against the year in which fans never ran, coldest
	highK      float64 // and warmest
}

// hour is an hour of the year in which fans never ran.
type hour struct {
	month       time.Month
	air, soil   unit.Celsius
	vapour      float64 // kg/kg
	sparesW     float64 // heat of the heater that other heat would spare, mean; 0 where it gives all it has
	open        bool    // vents throw heat away
	fuel        float64 // a joule of the heater's heat, currency
	electricity float64 // a joule for the fans
	chargeFloor unit.Celsius
	cap, floor  unit.Celsius // of soil, for all stores
	later       float64      // what a joule given to air that needs none is worth in the end, currency
}

// speed is one speed of all fans.
type speed struct {
	stage           uint8
	flowM3s, powerW float64
}

// way is where heat is wanted to go. The zero value is nowhere.
type way uint8

const (
	rest way = iota
	charge
	discharge
	ways
)

const (
	jPerKWh = 3.6e6
	hourS   = 3600
	// mostSpeeds is how many of the fans' speeds are planned with.
	mostSpeeds = 5
	// A heater that gives this share of its output cannot keep its setpoint: more heat only warms
	// the air.
	spent = 0.97
	// kept is the share of heat given to air that needs none that goes into floor and crop instead
	// of out through the cover, and fadeH how long it stays there. Common practice, no source: floor
	// and crop take heat from the air about as well as a double film lets it out; Search turns it.
	kept  = 0.4
	fadeH = 8.0
)

// NewModel finds the model of a house from the traced hours of two of its years: never, in which its
// fans did not run, and moved, in which they ran as under Mover.
func NewModel(h *config.House, never, moved *trial.Result) *Model {
	d := &h.House.Decide
	m := &Model{heater: d.Heater, pressurePa: d.PressurePa, lossWK: d.HouseLossWK / (1 - kept), full: d.Stores[0].Effectiveness}
	m.speeds = speeds(d.Stores)
	for i := range never.Trace {
		m.hours = append(m.hours, hourOf(d, &never.Trace[i]))
	}
	m.spent(h.HeaterOutputW)
	m.later()
	m.fit(never.Trace, moved.Trace)
	return m
}

func speeds(stores []decide.Store) (all []speed) {
	n := 0
	for i := range stores {
		for j := range stores[i].Fans {
			n = max(n, len(stores[i].Fans[j].Levels))
		}
	}
	count := min(n, mostSpeeds)
	for k := 1; k <= count; k++ {
		s := speed{stage: uint8(k * n / count)}
		for i := range stores {
			for j := range stores[i].Fans {
				f := &stores[i].Fans[j]
				own := min(s.stage, uint8(len(f.Levels)))
				s.flowM3s += f.FlowAt(own)
				s.powerW += f.PowerAt(own)
			}
		}
		all = append(all, s)
	}
	return all
}

func hourOf(d *decide.Settings, of *trial.Hour) hour {
	begins := of.Time.Add(-time.Hour)
	window, _ := season.First(d.Season.Site, d.Season.Windows, begins)
	prices, _ := tariff.At(d.Tariff, begins)
	policy := &d.Policies[window+1]
	h := hour{
		month: begins.Month(),
		air:   of.Air, soil: of.Soil, vapour: of.Vapour, sparesW: of.HeaterKWh * 1000, open: of.VentPerH > 0,
		fuel: prices.FuelHeatPerKWh / jPerKWh, electricity: prices.ElectricityPerKWh / jPerKWh,
		chargeFloor: policy.ChargeFloor, cap: unit.Celsius(math.Inf(1)), floor: unit.Celsius(math.Inf(-1)),
	}
	for i := range policy.Stores {
		h.cap, h.floor = min(h.cap, policy.Stores[i].SoilCap), max(h.floor, policy.Stores[i].SoilFloor)
	}
	return h
}

// spent takes the heater's heat out of hours in which it gave all it has: outputW, or where that is not
// stated the most that it ever gave.
func (m *Model) spent(outputW float64) {
	if outputW == 0 {
		for i := range m.hours {
			outputW = max(outputW, m.hours[i].sparesW)
		}
	}
	for i := range m.hours {
		if h := &m.hours[i]; h.sparesW >= spent*outputW {
			h.sparesW = 0
		}
	}
}

// later reckons backwards, twice round the year so that its end knows its beginning, what heat in
// floor and crop is worth.
func (m *Model) later() {
	n, floor := len(m.hours), 0.0
	for t := 2*n - 1; t >= 0; t-- {
		h := &m.hours[t%n]
		if h.later = kept * floor; h.open {
			h.later = 0
		}
		floor += (h.atMargin() - floor) / fadeH
	}
}

// atMargin is what a little heat given to the house is worth, currency per joule.
func (h *hour) atMargin() float64 {
	if h.sparesW > 0 {
		return h.fuel
	}
	return h.later
}

// given is what so much power into the house's air is worth in an hour's time, currency; taken where
// it is negative. A heater that runs gives that much less.
func (h *hour) given(powerW, later float64) float64 {
	spared := min(powerW, h.sparesW)
	if h.sparesW == 0 {
		spared = 0
	}
	return hourS * (spared*h.fuel + (powerW-spared)*h.later*later)
}

// heatW is what fans at a speed put into soil at a temperature, negative where they bring it up: 0
// where heat does not flow that way. settled says that the air shows already what they do to it.
func (m *Model) heatW(h *hour, w way, s *speed, air physics.Air, soil unit.Celsius, settled bool) float64 {
	over := float64(air.C.Sub(soil))
	share, pinned := m.into, h.open
	if w == discharge {
		share, pinned, over = m.out, h.sparesW > 0, -over
	}
	if over <= 0 {
		return 0
	}
	effectiveness := physics.Effectiveness(-math.Log1p(-m.full) * m.speeds[len(m.speeds)-1].flowM3s / s.flowM3s)
	heat := physics.Exchange(air, s.flowM3s, effectiveness, soil, m.pressurePa)
	heatW := share * heat.TotalW()
	if !settled && !pinned {
		heatW /= 1 + math.Abs(heatW)/over/m.lossWK
	}
	return heatW
}

// airOf is the air of a house at the end of an hour.
func airOf(h *trial.Hour) physics.Air { return physics.Air{C: h.Air, W: h.Vapour} }

// inside is the air of the house with fans that never ran.
func (h *hour) inside() physics.Air { return physics.Air{C: h.air, W: h.vapour} }
