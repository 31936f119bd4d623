package trial

import (
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/season"
)

// Stages are the speeds of all fans of a house, 0 is off.
type Stages = [decide.MaxStores][decide.MaxFans]uint8

// Rule decides what fans do until the next step, from what the probes show. It belongs to one trial.
type Rule interface {
	Decide(raw []judge.Raw, now time.Time) (Stages, [decide.MaxStores]decide.Activity)
}

// Narrow is a Rule that looks at some of the probes only. What the others show may be old then.
type Narrow interface {
	Rule
	// Looks gives the places of these probes among the house's.
	Looks() []int
}

// Never keeps the fans off.
type Never struct{}

// Looks is at nothing.
func (Never) Looks() []int { return nil }

// Decide keeps the fans off.
func (Never) Decide([]judge.Raw, time.Time) (s Stages, a [decide.MaxStores]decide.Activity) {
	return s, a
}

// Configured is the policy of the settings: judge and decide as the board runs them.
type Configured struct {
	h     *house.House
	seen  house.Seen
	begun bool
}

// NewConfigured returns the policy of a house.
func NewConfigured(s *house.Settings) *Configured {
	return &Configured{h: house.New(s, house.State{}), seen: house.Seen{Believed: true}}
}

// Decide ticks the house.
func (c *Configured) Decide(raw []judge.Raw, now time.Time) (s Stages, a [decide.MaxStores]decide.Activity) {
	c.seen.Raw = raw
	if c.begun {
		c.seen.StepS = StepS
	}
	c.begun = true
	r := c.h.Advance(&c.seen, now)
	for i := range c.h.Settings().Decide.Stores {
		s[i], a[i] = r.Decision.Stores[i].Stages, r.Decision.Stores[i].State
	}
	return s, a
}

// Thermostats is the usual pair of thermostats, common practice, no source: fans run while the house
// is over ChargeOver, and while it is under DischargeUnder, each with a band of Band. They know
// neither the soil nor a price, and are switched off out of season.
type Thermostats struct {
	ChargeOver     unit.Celsius
	DischargeUnder unit.Celsius
	Band           unit.Kelvin
	Season         season.Dates // from topping up to the last frost

	fans  [decide.MaxStores]int
	air   int // the probe they look at
	doing decide.Activity

	// What the season says in this quarter of an hour since 1970.
	off     bool
	asked   bool
	quarter int64
}

// UsualThermostats returns the pair for a house: 24 °C (75 °F) and the house's own setpoint.
func UsualThermostats(h *config.House, turn config.Turn) *Thermostats {
	t := &Thermostats{
		ChargeOver: 24, DischargeUnder: h.House.Decide.Policies[0].Setpoint, Band: 2, air: -1,
		Season: season.DatesBetween(turn.ToppingUp, turn.LastFrost),
	}
	for i := range h.House.Decide.Stores {
		t.fans[i] = len(h.House.Decide.Stores[i].Fans)
	}
	for i, p := range h.House.Probes {
		if p.Judge.Role == judge.Air && (t.air < 0 || p.Judge.Place == judge.Crop) {
			t.air = i
		}
	}
	return t
}

// Looks is at the thermometer alone.
func (t *Thermostats) Looks() []int {
	if t.air < 0 {
		return nil
	}
	return []int{t.air}
}

// Decide knows the thermometer and the date.
func (t *Thermostats) Decide(raw []judge.Raw, now time.Time) (s Stages, a [decide.MaxStores]decide.Activity) {
	air, known := unit.Celsius(0), false
	if t.air >= 0 {
		air, known = unit.Celsius(raw[t.air].Value), raw[t.air].OK
	}
	const quarterS = 900 // days begin with one in every zone of today
	if quarter := now.Unix() / quarterS; !t.asked || quarter != t.quarter {
		year, month, day := now.Date()
		t.off, t.asked, t.quarter = !t.Season.Contains(year, month, day), true, quarter
	}
	switch {
	case !known || t.off:
		t.doing = decide.Rest
	case air > t.ChargeOver:
		t.doing = decide.Charge
	case air < t.DischargeUnder:
		t.doing = decide.Discharge
	case t.doing == decide.Charge && air < t.ChargeOver.Add(-t.Band),
		t.doing == decide.Discharge && air > t.DischargeUnder.Add(t.Band):
		t.doing = decide.Rest
	}
	if t.doing == decide.Rest {
		return s, a
	}
	for i, n := range t.fans {
		for j := range n {
			s[i][j], a[i] = full, t.doing
		}
	}
	return s, a
}

// full asks for a fan's highest speed.
const full = 255
