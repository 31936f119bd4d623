// Package ledger keeps the account of a house: fan hours by activity, starts, electricity, heat
// each way, condensed water and money, and what was saved. Its counters only ever rise.
//
// Electricity is what was metered, else what the fans are stated to draw. Heat is what the air in
// the ducts carried, else what the decision core expected: how much of it was measured is kept.
package ledger

import (
	"math"
	"slices"

	"loambank/controller/decide"
)

// House is the account of one house. Package ledger only adds to it; the zero value of its
// numbers is a house that never ran.
type House struct {
	Name   string
	Stores []Store
	Probes []Probe `json:",omitempty"`
	// Money is gross and in the site's currency: what fans cost, and the price of the fuel that would
	// have given the heat that fans brought up while the heater would have run. Neither takes anything
	// off, so that both only rise; what was saved in the end is Saved.
	ElectricityMoney float64
	FuelMoney        float64
	StateS           [decide.Activities]float64 // time any store was in this activity, summed over stores
	Saved            Savings                    `json:",omitzero"` // no counter: it may fall
}

// Store is the account of one store.
type Store struct {
	Name             string
	Fans             []Fan
	StateS           [decide.Activities]float64 // time in each activity, fans on or off
	In, Out          Heat                       // into the soil, out of it
	CondensateLitres float64
	// The part of In and of Out that duct probes measured at a flow that is not a catalogue figure.
	// The rest is estimated.
	MeasuredIn, MeasuredOut Heat `json:",omitzero"`
}

// Heat is an amount of heat by kind.
type Heat struct{ SensibleKWh, LatentKWh float64 }

// KWh returns sensible and latent heat together.
func (h Heat) KWh() float64 { return h.SensibleKWh + h.LatentKWh }

// Fan is the account of one fan.
type Fan struct {
	Name      string
	RunS      [decide.Activities]float64 // time commanded on in each activity
	Starts    int64
	EnergyKWh float64
}

// RunTotalS returns the run time in all activities.
func (f *Fan) RunTotalS() float64 {
	sum := 0.0
	for _, s := range f.RunS {
		sum += s
	}
	return sum
}

// New returns an empty account for a house.
func New(name string, s *decide.Settings) *House {
	h := &House{Name: name}
	for _, store := range s.Stores {
		a := Store{Name: store.Name}
		for _, fan := range store.Fans {
			a.Fans = append(a.Fans, Fan{Name: fan.Name})
		}
		h.Stores = append(h.Stores, a)
	}
	return h
}

const (
	jPerKWh    = 3.6e6
	kgPerLitre = 0.998 // of water at 20 °C
)

// longestStepS bounds one booking: a longer one is no time that passed.
const longestStepS = 366 * 86400

// mostW is more than a meter of fans can honestly say, W: the most that the settings take.
const mostW = 1e6

// mostHeatW and mostWaterKgS are more than any store moves: what says more is no measurement.
const (
	mostHeatW    = 1e8
	mostWaterKgS = 100
)

// Add books stepS seconds under the decision that was in force during them; in is what was seen as
// they ended, its zero value nothing. A step that is no time, such as a negative one, books nothing.
func (h *House) Add(s *decide.Settings, in *decide.Inputs, d *decide.Decision, stepS float64) {
	if !(stepS > 0) || stepS > longestStepS {
		return
	}
	for i := range s.Stores {
		a, state := &h.Stores[i], d.Stores[i].State
		a.StateS[state] += stepS
		h.StateS[state] += stepS
		h.addPower(&s.Stores[i], a, &in.Stores[i], d, &d.Stores[i], stepS)
		if d.Stores[i].Running() {
			h.addHeat(a, moved(s, in, d, i), d, stepS)
		}
	}
}

func (h *House) addPower(s *decide.Store, a *Store, in *decide.StoreInputs, d *decide.Decision, sd *decide.StoreDecision, stepS float64) {
	for j := range s.Fans {
		stage := sd.Stages[j]
		kWh := drawnW(&s.Fans[j], &in.Fans[j], stage) * stepS / jPerKWh
		a.Fans[j].EnergyKWh += kWh
		h.ElectricityMoney += kWh * d.Prices.ElectricityPerKWh
		if stage > 0 {
			a.Fans[j].RunS[sd.State] += stepS
		}
	}
}

// drawnW is what a fan draws: metered where it is, also by one that does not stop or that a
// person runs by the switch on its panel. What a fan at rest draws is not the fan's doing.
func drawnW(f *decide.Fan, seen *decide.Feedback, stage uint8) float64 {
	metered := seen.PowerKnown && seen.PowerW >= 0 && seen.PowerW <= mostW
	switch {
	case metered && (stage > 0 || seen.Proof == decide.SeenRunning):
		return seen.PowerW
	case stage > 0:
		return f.PowerAt(stage)
	}
	return 0
}

func (h *House) addHeat(a *Store, m flow, d *decide.Decision, stepS float64) {
	if !(math.Abs(m.totalW) <= mostHeatW) || !(math.Abs(m.latentW) <= mostHeatW) || !(m.condensateKgS <= mostWaterKgS) {
		return
	}
	total := m.totalW * stepS / jPerKWh
	// It is a difference, which rounding may push outside: no counter may fall, not by the last bit.
	latent := max(0, min(m.latentW*stepS/jPerKWh, total))
	if total > 0 {
		a.In.add(Heat{total - latent, latent})
		if m.measured {
			a.MeasuredIn.add(Heat{total - latent, latent})
		}
		a.CondensateLitres += max(0, m.condensateKgS) * stepS / kgPerLitre
		return
	}
	a.Out.SensibleKWh -= total
	if m.measured {
		a.MeasuredOut.SensibleKWh -= total
	}
	if d.HeaterWouldRun {
		h.FuelMoney -= total * d.Prices.FuelHeatPerKWh
	}
}

func (h *Heat) add(more Heat) {
	h.SensibleKWh += more.SensibleKWh
	h.LatentKWh += more.LatentKWh
}

// Starts books the starts between two decisions.
func (h *House) Starts(s *decide.Settings, before, after *decide.Decision) {
	for i := range s.Stores {
		for j := range s.Stores[i].Fans {
			if before.Stores[i].Stages[j] == 0 && after.Stores[i].Stages[j] > 0 {
				h.Stores[i].Fans[j].Starts++
			}
		}
	}
}

// Clone returns a copy that shares nothing with h.
func (h *House) Clone() *House {
	c := *h
	c.Stores, c.Probes, c.Saved = slices.Clone(h.Stores), slices.Clone(h.Probes), h.Saved.clone()
	for i := range c.Stores {
		c.Stores[i].Fans = slices.Clone(c.Stores[i].Fans)
	}
	return &c
}
