package foresight

import (
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/trial"
)

// moverK is how far air and soil must be apart for Mover to run.
const moverK unit.Kelvin = 2

// Mover runs the fans whenever heat flows the right way, whatever it costs: down into soil that is
// cooler than the house, up where the heater would run. From a year under it a Model is found.
type Mover struct {
	g      *guard
	heater decide.Heater
}

// NewMover returns the rule for a house.
func NewMover(s *house.Settings) *Mover { return &Mover{newGuard(s), s.Decide.Heater} }

// Decide looks at air and soil alone.
func (m *Mover) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	want := rest
	air, known := m.g.air(0, 0)
	soil, also := m.g.soil()
	switch {
	case !known || !also:
	case air.C.Sub(soil) > moverK:
		want = charge
	case soil.Sub(air.C) > moverK && air.C <= m.heater.Setpoint.Add(m.heater.Band):
		want = discharge
	}
	return m.g.step(want, 0, raw, now)
}

// Turn is what Search turns of a plan. The zero value makes a plan that never runs; see Straight.
type Turn struct {
	Stored [12]float64 // scale of the worth of stored heat in each month, January first
	Later  float64     // scale of what heat is worth in a house that needs none now
	Start  float64     // by what share of their cost fans must earn more to start
}

// Straight is the plan as the Model has it, with the band of 1.2 that decide starts with.
func Straight() (t Turn) {
	for i := range t.Stored {
		t.Stored[i] = 1
	}
	t.Later, t.Start = 1, 0.2
	return t
}

// Plan runs the fans by a model's worths. It is a rule for one trial, which begins as the model's
// years did.
type Plan struct {
	w      *Worths
	turn   Turn
	g      *guard
	step   int
	follow *Record
	months Months
}

// Months is a choice of months, January first.
type Months [12]bool

// Plan returns the rule for a house that has such worths.
func (w *Worths) Plan(s *house.Settings, turn Turn) *Plan {
	return &Plan{w: w, turn: turn, g: newGuard(s)}
}

// Follow has the plan do in some months what was recorded, as far as limits let it, instead of what it
// would.
func (p *Plan) Follow(r *Record, in Months) *Plan {
	p.follow, p.months = r, in
	return p
}

// Decide runs the fans the way and at the speed that earn most now, counting what stored heat is worth.
func (p *Plan) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	const stepsPerH = hourS / trial.StepS
	t := p.step / stepsPerH % len(p.w.m.hours)
	want, stage := p.best(t)
	if p.follow != nil && p.months[p.w.m.hours[t].month-1] {
		want, stage = p.follow.at(p.step)
	}
	p.step++
	return p.g.step(want, stage, raw, now)
}

// best is what earns most in hour t.
func (p *Plan) best(t int) (want way, stage uint8) {
	m, h := p.w.m, p.w.m.hours[t]
	air, known := p.g.air(h.vapour, m.pressurePa)
	soil, also := p.g.soil()
	if !known || !also {
		return rest, 0
	}
	if air.C > m.heater.Setpoint.Add(m.heater.Band+warmEnough) {
		h.sparesW = 0
	}
	perJ := p.w.perJ(t, float64(soil.Sub(h.soil))) * p.turn.Stored[h.month-1]
	most := 0.0
	for w := charge; w < ways; w++ {
		on := p.g.doing == w
		for k := range m.speeds {
			s := &m.speeds[k]
			heatW := m.heatW(&h, w, s, air, soil, on)
			cost := s.powerW * hourS * h.electricity
			gain := h.given(s.powerW-heatW, p.turn.Later) + heatW*hourS*perJ - cost
			if !on {
				gain -= cost * p.turn.Start
			}
			if heatW != 0 && gain > most {
				want, stage, most = w, s.stage, gain
			}
		}
	}
	return want, stage
}

// warmEnough is how far over its band a house is not where its heater keeps it.
const warmEnough unit.Kelvin = 0.5
