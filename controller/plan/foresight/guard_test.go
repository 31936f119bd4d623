package foresight

import (
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/trial"
)

// shown is what the example farm's probes show: air, humidity, outside, soil between the pipes and at
// the roots.
func shown(air, soil unit.Celsius) []judge.Raw {
	var raw []judge.Raw
	for _, v := range []float64{float64(air), 0.6, 10, float64(soil), float64(soil)} {
		raw = append(raw, judge.Raw{Value: v, OK: true})
	}
	return raw
}

// clock ticks in a January night.
func clock(steps int) time.Time {
	return time.Date(2002, 1, 15, 1, 0, 0, 0, time.UTC).Add(time.Duration(steps) * trial.StepS * time.Second)
}

// TestGuardKeepsToLeastRunsAndRests asks for charging for one step, and at once again.
func TestGuardKeepsToLeastRunsAndRests(t *testing.T) {
	h := &settings(t).Houses[0].House
	store := &h.Decide.Stores[0]
	store.MinRunS, store.MinRestS, store.StartsPerHour = 3*trial.StepS, 2*trial.StepS, 0
	g := newGuard(h)
	wants := []way{rest, charge, charge, rest, rest, rest, charge, charge, charge, rest}
	runs := []bool{false, false, true, true, true, false, false, true, true, true} // it begins with a rest
	for i, want := range wants {
		stages, doing := g.step(want, 0, shown(25, 12), clock(i))
		if on := stages[0][0] > 0; on != runs[i] || on != (g.doing == charge) || on != (doing[0] == decide.Charge) {
			t.Errorf("step %d: runs %v in %v, want %v", i, on, doing[0], runs[i])
		}
	}
}

func TestGuardKeepsToLimits(t *testing.T) {
	h := &settings(t).Houses[0].House
	p := &h.Decide.Policies[0]
	for _, c := range []struct {
		name      string
		want      way
		air, soil unit.Celsius
		runs      bool
	}{
		{"a kelvin is enough to charge", charge, 17, 16, true},
		{"soil as warm as the air takes nothing", charge, 16, 16, false},
		{"nor does a house at its charge floor give", charge, p.ChargeFloor, 2, false},
		{"nor is soil over its cap charged", charge, 40, p.Stores[0].SoilCap + 1, false},
		{"half a kelvin is enough to discharge, setpoint or not", discharge, 20, 20.5, true},
		{"air as warm as the soil needs none", discharge, 16, 16, false},
		{"frost alone runs no fan", rest, -5, 14, false},
		{"nor does damp air", rest, 30, 12, false},
	} {
		g := newGuard(h)
		for i := range 3 {
			if stages, doing := g.step(c.want, 0, shown(c.air, c.soil), clock(i)); i > 1 && (stages[0][0] > 0) != c.runs {
				t.Errorf("%s: stages %v in %v", c.name, stages[0], doing[0])
			}
		}
	}
}

func TestGuardTellsAirAndSoil(t *testing.T) {
	g := newGuard(&settings(t).Houses[0].House)
	if _, ok := g.air(0.004, 101325); ok {
		t.Error("there is air before any was read")
	}
	if _, ok := g.soil(); ok {
		t.Error("there is soil before any was read")
	}
	g.step(rest, 0, shown(20, 12), clock(0))
	air, ok := g.air(0.001, 101325)
	if want := physics.HumidityRatio(20, 0.6, 101325); !ok || air.C != 20 || math.Abs(air.W-want) > 1e-12 {
		t.Errorf("%+v, want a ratio of %v", air, want)
	}
	if soil, ok := g.soil(); !ok || soil != 12 {
		t.Errorf("soil is %v", soil)
	}
	g.in.Stores[1].Soil = g.in.Stores[0].Soil
	g.in.Stores[1].Soil.C = 18
	g.settings[rest].Decide.Stores = append(g.settings[rest].Decide.Stores, decide.Store{})
	if soil, ok := g.soil(); !ok || soil != 15 {
		t.Errorf("the mean of stores of 12 and 18 °C is %v", soil)
	}
	dry := shown(20, 12)
	dry[1].OK = false
	g = newGuard(&settings(t).Houses[0].House)
	g.step(rest, 0, dry, clock(0))
	if air, ok := g.air(0.001, 101325); !ok || air.W != 0.001 {
		t.Errorf("without a reading of humidity %+v", air)
	}
}

// TestWhereHeatGoes in what a board may be doing.
func TestWhereHeatGoes(t *testing.T) {
	for a, want := range map[decide.Activity]way{
		decide.Charge: charge, decide.Dry: charge, decide.Discharge: discharge, decide.Frost: discharge, decide.Fallback: discharge,
		decide.Rest: rest, decide.Hold: rest, decide.Hand: rest, decide.Action: rest,
	} {
		if got := wayOf(a); got != want {
			t.Errorf("%v goes way %d, want %d", a, got, want)
		}
	}
}

// TestASlowerStageIsKeptTo where the fan has it, and no stage runs a fan that may not.
func TestASlowerStageIsKeptTo(t *testing.T) {
	h := &settings(t).Houses[0].House
	h.Decide.Stores[0].Fans[0].Levels = []float64{0.4, 0.7, 1}
	for _, c := range []struct {
		want  way
		asked uint8
		stage uint8
	}{{charge, 1, 1}, {charge, 2, 2}, {charge, 0, 3}, {charge, 200, 3}, {rest, 2, 0}} {
		g := newGuard(h)
		var got trial.Stages
		for i := range 3 {
			got, _ = g.step(c.want, c.asked, shown(25, 12), clock(i))
		}
		if got[0][0] != c.stage {
			t.Errorf("way %d at stage %d runs at %d, want %d", c.want, c.asked, got[0][0], c.stage)
		}
	}
}

// TestTheFastestFanIsRecorded of all stores, with where its heat goes.
func TestTheFastestFanIsRecorded(t *testing.T) {
	r := NewRecord(ruleOf(func() (s trial.Stages, a [decide.MaxStores]decide.Activity) {
		s[0][0], s[0][1], s[1][0], s[2][0] = 1, 3, 2, 1
		a[0], a[1], a[2] = decide.Discharge, decide.Charge, decide.Charge
		return s, a
	}))
	r.Decide(nil, clock(0))
	if way, stage := r.at(0); way != discharge || stage != 3 {
		t.Errorf("way %d at stage %d", way, stage)
	}
	if way, stage := r.at(1); way != rest || stage != 0 {
		t.Errorf("beyond the record it goes way %d at stage %d", way, stage)
	}
}

type ruleOf func() (trial.Stages, [decide.MaxStores]decide.Activity)

func (r ruleOf) Decide([]judge.Raw, time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	return r()
}

// TestRulesLookAtAirAndSoil: Mover and Pair, each a step after what they saw.
func TestRulesLookAtAirAndSoil(t *testing.T) {
	s := settings(t)
	h := &s.Houses[0]
	store := &h.House.Decide.Stores[0]
	store.MinRunS, store.MinRestS, store.StartsPerHour = 0, 0, 0
	cold := season.DatesBetween(s.Turn.ToppingUp, s.Turn.LastFrost)
	rules := []struct {
		name string
		rule trial.Rule
		want func(pair, mover decide.Activity) decide.Activity
	}{
		{"the pair", Pair{Margin: 5, Gain: 7, Setpoint: 6}.Rule(h, cold), func(pair, _ decide.Activity) decide.Activity { return pair }},
		{"the mover", NewMover(&h.House), func(_, mover decide.Activity) decide.Activity { return mover }},
		{
			"a pair that asks for more of the soil", Pair{Margin: 5, Gain: 12, Setpoint: 6}.Rule(h, cold),
			func(pair, _ decide.Activity) decide.Activity {
				if pair == decide.Discharge {
					return decide.Rest
				}
				return pair
			},
		},
		{
			"a pair out of season", Pair{Margin: 5, Gain: 7, Setpoint: 6}.Rule(h, season.DatesBetween(s.Turn.LastFrost, s.Turn.ToppingUp)),
			func(_, _ decide.Activity) decide.Activity { return decide.Rest },
		},
	}
	at := 0
	for _, c := range []struct {
		name        string
		air         unit.Celsius
		pair, mover decide.Activity
	}{
		{"between all differences", 13.5, decide.Rest, decide.Rest},
		{"warmer than the mover asks", 16.5, decide.Rest, decide.Charge},
		{"warmer than the pair asks", 19, decide.Charge, decide.Charge},
		{"within the pair's band it goes on", 18.25, decide.Charge, decide.Charge},
		{"under it no more", 17.5, decide.Rest, decide.Charge},
		{"nor within it again", 18.25, decide.Rest, decide.Charge},
		{"cold, and the heater would run", 3, decide.Discharge, decide.Discharge},
		{"over the setpoint within its band", 6.25, decide.Discharge, decide.Rest},
		{"over that too", 7, decide.Rest, decide.Rest},
	} {
		const soil, steps = 13.5, 4 // a jump is believed once it stays
		for _, r := range rules {
			var doing [decide.MaxStores]decide.Activity
			for i := range steps {
				_, doing = r.rule.Decide(shown(c.air, soil), clock(at+i))
			}
			if want := r.want(c.pair, c.mover); doing[0] != want {
				t.Errorf("%s: %s is in %v, want %v", c.name, r.name, doing[0], want)
			}
		}
		at += steps
	}
}

// TestPlanWeighsWhatItCosts puts a plan before one decision at a time: hour 12 is sunny with vents open,
// hour 1 is heated, both with stored heat worth a third of the fuel.
func TestPlanWeighsWhatItCosts(t *testing.T) {
	s := settings(t)
	h := &s.Houses[0].House
	m := days(2)
	m.heater = h.Decide.Heater
	w := &Worths{m: m, lowK: -5, stepK: 0.5, ahead: make([][levels]float64, len(m.hours)+1)}
	const worth = 0.05 // currency per kWh
	for t := range w.ahead {
		for i := range levels {
			w.ahead[t][i] = float64(i) * w.stepK * m.capacityJK * worth / jPerKWh
		}
	}
	none := Straight()
	none.Stored[0] = 0 // in January
	greedy := Straight()
	greedy.Start = 1e6
	never := Straight()
	for i := range never.Stored {
		never.Stored[i] = 10
	}
	for _, c := range []struct {
		name      string
		hour      int
		turn      Turn
		air, soil unit.Celsius
		doing     way
		want      way
	}{
		{"sun that would go out through the vents is stored", 12, Straight(), 26, 12, rest, charge},
		{"unless stored heat is worth nothing", 12, none, 26, 12, rest, rest},
		{"or starting must earn a million times its cost", 12, greedy, 26, 12, rest, rest},
		{"which what runs need not", 12, greedy, 26, 12, charge, charge},
		{"a quarter of a kelvin does not pay", 12, Straight(), 12.25, 12, rest, rest},
		{"fuel is spared by night", 1, Straight(), 4, 14, rest, discharge},
		{"unless stored heat is worth more", 1, never, 4, 14, rest, rest},
		{"or the house is warm enough already", 1, Straight(), m.heater.Setpoint.Add(m.heater.Band + 1), 16, rest, rest},
	} {
		p := w.Plan(h, c.turn)
		p.g.step(rest, 0, shown(c.air, c.soil), clock(0))
		p.g.doing = c.doing
		if got, stage := p.best(c.hour); got != c.want || (stage > 0) != (got != rest) {
			t.Errorf("%s: %v at stage %d, want %v", c.name, got, stage, c.want)
		}
	}
}
