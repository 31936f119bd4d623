// Package ledger keeps the account of a house: fan hours by activity, starts, electricity, heat
// each way, condensed water and money. Its counters only ever rise.
//
// Heat is that which the decision core expected, an estimate until duct probes measure it.
package ledger

import (
	"slices"

	"loambank/controller/decide"
)

// House is the account of one house. Package ledger only adds to it; the zero value of its
// numbers is a house that never ran.
type House struct {
	Name   string
	Stores []Store
	// Money is gross and in the site's currency: what fans cost and what fuel was not burnt.
	ElectricityMoney float64
	FuelMoney        float64
	StateS           [decide.Activities]float64 // time any store was in this activity, summed over stores
}

// Store is the account of one store.
type Store struct {
	Name             string
	Fans             []Fan
	StateS           [decide.Activities]float64 // time in each activity, fans on or off
	In, Out          Heat                       // into the soil, out of it
	CondensateLitres float64
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

// Add books stepS seconds under the decision that was in force during them. A step that is no
// time, such as a negative one, books nothing.
func (h *House) Add(s *decide.Settings, d *decide.Decision, stepS float64) {
	if !(stepS > 0) || stepS > longestStepS {
		return
	}
	for i := range s.Stores {
		h.addStore(&s.Stores[i], &h.Stores[i], d, &d.Stores[i], stepS)
		h.StateS[d.Stores[i].State] += stepS
	}
}

func (h *House) addStore(s *decide.Store, a *Store, d *decide.Decision, sd *decide.StoreDecision, stepS float64) {
	a.StateS[sd.State] += stepS
	if !sd.Running() {
		return
	}
	for j := range s.Fans {
		stage := sd.Stages[j]
		if stage == 0 {
			continue
		}
		kWh := s.Fans[j].PowerAt(stage) * stepS / jPerKWh
		a.Fans[j].RunS[sd.State] += stepS
		a.Fans[j].EnergyKWh += kWh
		h.ElectricityMoney += kWh * d.Prices.ElectricityPerKWh
	}
	latent, total := sd.LatentW*stepS/jPerKWh, sd.HeatW*stepS/jPerKWh
	if total > 0 {
		a.In.LatentKWh += latent
		a.In.SensibleKWh += total - latent
		a.CondensateLitres += sd.CondensateKgS * stepS / kgPerLitre
		return
	}
	a.Out.SensibleKWh -= total
	if d.HeaterWouldRun {
		h.FuelMoney -= total * d.Prices.FuelHeatPerKWh
	}
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
	c.Stores = slices.Clone(h.Stores)
	for i := range c.Stores {
		c.Stores[i].Fans = slices.Clone(c.Stores[i].Fans)
	}
	return &c
}
