package size

import (
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/trial"
)

// A year by hand: three days, of which one touches the frost limit, and two months.
func TestAYearIsAddedUp(t *testing.T) {
	h := &farm(t).Houses[0]
	limit := h.House.Decide.Policies[0].Frost
	r := &trial.Result{}
	for i := range 12 {
		r.Months[i] = trial.Month{Month: time.Month(i + 1), Low: 5}
	}
	jan, feb := &r.Months[0], &r.Months[1]
	jan.StateS[decide.Charge], jan.StateS[decide.Rest], jan.LatentKWh, jan.FanKWh, jan.Fuel, jan.Electricity = 7200, 9000, 31*20*latentKWhL, 3, 40, 1
	feb.StateS[decide.Frost], feb.StateS[decide.Discharge], feb.LatentKWh, feb.FrostS, feb.HeaterKWh, feb.Low = 3600, 1800, 28*25*latentKWhL, 5400, 90, -2
	for i := range 3 * 24 {
		air := limit.Add(1)
		if i == 30 {
			air = limit
		}
		r.Trace = append(r.Trace, trial.Hour{Air: air})
	}
	o := OutcomeOf(h, r)
	if o.FanH != 3.5 || o.FanKWh != 3 || o.FrostH != 1.5 || o.HeaterKWh != 90 || o.Low != unit.Celsius(-2) || o.Running() != 41 || o.SafeDays != 2 {
		t.Errorf("%+v", o)
	}
	// 25 L a day in February, 20 in January: the heat of a litre as in water_and_condensate-S029.
	if math.Abs(o.CondensateLDay-25) > 1e-9 || math.Abs(latentKWhL-2453.55/3600) > 1e-3*latentKWhL {
		t.Errorf("%v L a day of %v kWh each", o.CondensateLDay, latentKWhL)
	}
}

// TestADesignKeepsWhatItMay: the probes of other stores and of fans that are not there go, the settings'
// board and limits of supply do not bind a design that states its own.
func TestADesignKeepsWhatItMay(t *testing.T) {
	const soil = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	s := farm(t, soil, soil+"\n    { role = \"fan-power\", driver = \"file\", path = \"c\" },", `max_power = "2.4 kW"`, `max_power = "700 W"`,
		`cover    = "double film"`, `cover    = "double film"`+"\ninsulation = { thickness = \"2 in\", depth = \"2 ft\" }")
	h := &s.Houses[0]
	steps := Ladder(h, s.Costs)
	for i := range steps {
		step := &steps[i]
		if !step.Store() {
			continue
		}
		own := step.House(h)
		if n := len(own.House.Probes); n != len(h.House.Probes)-1 {
			t.Errorf("%s has %d probes of %d", step.Name, n, len(h.House.Probes))
		}
		if own.House.Decide.MaxPowerW != 0 {
			t.Errorf("%s may draw %v W", step.Name, own.House.Decide.MaxPowerW)
		}
		if !step.Beside && step.Insulation.DepthM < 0.6 {
			t.Errorf("%s has lost the settings' board: %+v", step.Name, step.Insulation)
		}
	}
}
