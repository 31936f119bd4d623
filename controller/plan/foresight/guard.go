package foresight

import (
	"math"
	"slices"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/physics"
	"loambank/controller/tariff"
	"loambank/controller/trial"
)

// guard lets fans do what is wanted as far as a board would let them: decide itself, which keeps to
// least runs and rests, starts, caps, floors and interlocks, under settings that allow what is wanted
// and ask for no gain.
type guard struct {
	settings [ways]house.Settings
	h        *house.House
	want     way
	begun    bool
	in       decide.Inputs // that the last step saw
	doing    way           // of any store since the last step
}

func newGuard(s *house.Settings) *guard {
	g := &guard{}
	for w := range ways {
		g.settings[w] = willing(s, w)
	}
	g.h = house.New(&g.settings[rest], house.State{})
	return g
}

// willing is the settings with all that is a choice set to what is wanted, and all that is a limit as
// it was.
func willing(s *house.Settings, w way) house.Settings {
	const always, never = unit.Celsius(1e3), unit.Celsius(-200)
	out := *s
	d := &out.Decide
	d.Season.Actions, d.Actions = nil, nil
	d.Tariff = tariff.Settings{Site: d.Season.Site}
	for i := range d.Tariff.Shares {
		d.Tariff.Shares[i] = 1
	}
	d.MinRatio, d.WorthBand = math.SmallestNonzeroFloat32, 1
	d.Heater.Present, d.Fallback = false, decide.DutyOff
	d.Policies = slices.Clone(d.Policies)
	for i := range d.Policies {
		p := &d.Policies[i]
		p.Allow = decide.Allow{Charge: w == charge, Discharge: w == discharge}
		p.Crop, p.Frost, p.CropWorth = true, never, 0
		p.Setpoint, p.SetpointBand = always, 0
		p.Stores = slices.Clone(p.Stores)
		for k := range p.Stores {
			q := &p.Stores[k]
			q.Margin, q.MarginBand, q.Gain, q.GainBand = 0, 0, 0, 0
		}
	}
	return out
}

// MoneyAlone is the settings without what they spend on purpose beyond money: frost protection, drying
// and calendar actions.
func MoneyAlone(s *house.Settings) *house.Settings {
	out := *s
	d := &out.Decide
	d.Season.Actions, d.Actions = nil, nil
	d.Policies = slices.Clone(d.Policies)
	for i := range d.Policies {
		d.Policies[i].Crop, d.Policies[i].Allow.Dry = false, false
	}
	return &out
}

// step asks for a way until the next step, at stage or slower.
func (g *guard) step(want way, stage uint8, raw []judge.Raw, now time.Time) (s trial.Stages, a [decide.MaxStores]decide.Activity) {
	if want != g.want {
		g.want, g.h = want, house.New(&g.settings[want], g.h.State())
	}
	seen := house.Seen{Believed: true, Raw: raw}
	if g.begun {
		seen.StepS = trial.StepS
	}
	g.begun = true
	r := g.h.Tick(seen, now)
	g.in, g.doing = r.Inputs, rest
	for i := range r.Decision.Stores {
		d := &r.Decision.Stores[i]
		s[i], a[i] = d.Stages, d.State
		for j := range s[i] {
			if stage > 0 {
				s[i][j] = min(s[i][j], stage)
			}
		}
		if d.Running() {
			g.doing = wayOf(d.State)
		}
	}
	return s, a
}

// wayOf is where heat goes in an activity.
func wayOf(a decide.Activity) way {
	switch a {
	case decide.Charge, decide.Dry:
		return charge
	case decide.Discharge, decide.Frost, decide.Fallback:
		return discharge
	}
	return rest
}

// air is the air that the fans take in, as probes showed it last; vapour is that which is guessed where
// none shows it.
func (g *guard) air(vapour, pressurePa float64) (air physics.Air, ok bool) {
	if !g.in.IntakeAir.Quality.Usable() {
		return air, false
	}
	air = physics.Air{C: g.in.IntakeAir.C, W: vapour}
	if h := g.in.Humidity; h.Quality.Usable() {
		air.W = physics.HumidityRatio(air.C, h.V, pressurePa)
	}
	return air, true
}

// soil is the mean of the stores' soil.
func (g *guard) soil() (mean unit.Celsius, ok bool) {
	stores := len(g.settings[rest].Decide.Stores)
	for i := range stores {
		s := &g.in.Stores[i].Soil
		if !s.Known {
			return 0, false
		}
		mean += s.C / unit.Celsius(stores)
	}
	return mean, stores > 0
}
