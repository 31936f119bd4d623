package size

import (
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/trial"
)

// Outcome is what a design came to in a year, from summer to summer.
type Outcome struct {
	Low               unit.Celsius // air in the house
	SafeDays          int          // on which air stayed over the frost limit of the settings
	FrostH            float64      // at or under it
	HeaterKWh         float64
	FanKWh, FanH      float64
	InKWh, OutKWh     float64
	Electricity, Fuel float64 // money
	CondensateLDay    float64 // of the wettest month
}

// latentKWhL is the heat of a litre of water that condenses: 2.45 MJ/kg at 20 °C,
// water_and_condensate-S029.
const latentKWhL = 2.4536 / 3.6

// OutcomeOf adds up a year that was lived through with its trace.
func OutcomeOf(h *config.House, r *trial.Result) Outcome {
	t := r.Total()
	o := Outcome{
		Low: t.Low, FrostH: t.FrostS / 3600, HeaterKWh: t.HeaterKWh, FanKWh: t.FanKWh, InKWh: t.InKWh, OutKWh: t.OutKWh,
		Electricity: t.Electricity, Fuel: t.Fuel,
	}
	for _, a := range [...]decide.Activity{decide.Charge, decide.Discharge, decide.Frost, decide.Dry} {
		o.FanH += t.StateS[a] / 3600
	}
	for i := range r.Months {
		m := &r.Months[i]
		days := float64(time.Date(2001, m.Month+1, 0, 0, 0, 0, 0, time.UTC).Day())
		o.CondensateLDay = max(o.CondensateLDay, m.LatentKWh/latentKWhL/days)
	}
	o.SafeDays = safeDays(h, r.Trace)
	return o
}

// safeDays counts the days of a trace, of 24 hours by the weather's clock, on which the house stayed
// over its frost limit.
func safeDays(h *config.House, trace []trial.Hour) (days int) {
	limit := h.House.Decide.Policies[0].Frost
	for first := 0; first+hoursADay <= len(trace); first += hoursADay {
		lowest := trace[first].Air
		for i := range hoursADay {
			lowest = min(lowest, trace[first+i].Air)
		}
		if lowest > limit {
			days++
		}
	}
	return days
}

// Running is what energy costs in the year.
func (o *Outcome) Running() float64 { return o.Electricity + o.Fuel }
