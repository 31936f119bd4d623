package commission

import (
	"time"

	"loambank/controller/judge"
)

// Look is a house as its last tick saw it. What is not known is left out.
type Look struct {
	House string    `json:"house"`
	At    time.Time `json:"at"`     // of the tick, by the machine's clock
	TickS float64   `json:"tick_s"` // to the next at most, by the house's clock
	// Speed is how fast the house's clock runs; 0 is as fast as any other.
	Speed float64 `json:"speed,omitempty"`
	Smoke bool    `json:"smoke"` // latched until a person clears it
	// Frost says that fans run to save the crop, or that nothing can.
	Frost  bool        `json:"frost"`
	Stores []StoreLook `json:"stores"`
	Probes []ProbeLook `json:"probes"`
}

// StoreLook is one store.
type StoreLook struct {
	Name     string    `json:"name"`
	State    string    `json:"state"` // such as "charge"
	Why      string    `json:"why"`   // in words; while a start waits, for what
	DuctInC  *float64  `json:"duct_in_celsius,omitempty"`
	DuctOutC *float64  `json:"duct_out_celsius,omitempty"`
	Learned  *Flow     `json:"learned,omitempty"` // nil while it is not well enough known
	Fans     []FanLook `json:"fans"`
}

// Flow is what all fans of a store move at full speed, as learned, with its standard error, m³/s.
type Flow struct {
	M3s float64 `json:"m3s"`
	SE  float64 `json:"se_m3s"`
}

// known reports whether the flow is learned well enough to hold another against it: to a quarter, as
// decisions ask.
func (f Flow) known() bool { return f.M3s > 0 && f.SE >= 0 && f.SE <= f.M3s/4 }

// FanLook is one fan.
type FanLook struct {
	Name          string   `json:"name"`
	Stage         uint8    `json:"stage"`  // commanded; 0 is off
	Stages        uint8    `json:"stages"` // how many speeds it has
	Obeys         bool     `json:"obeys"`  // its device takes orders
	PowerW        *float64 `json:"power_w,omitempty"`
	StatedW       float64  `json:"stated_w"`        // at full speed
	StatedFlowM3s float64  `json:"stated_flow_m3s"` // at full speed
}

// ProbeLook is one probe.
type ProbeLook struct {
	Name   string      `json:"name"`
	Role   judge.Role  `json:"role"`
	Place  judge.Place `json:"place"`
	Store  string      `json:"store,omitempty"` // empty for one of the house
	Usable bool        `json:"usable"`
	Value  float64     `json:"value"` // in the unit of its role; of no meaning unless Usable
	// AgeS is the time since its last accepted reading, by the house's clock.
	AgeS float64 `json:"age_s"`
}

// on reports whether a contact reads on.
func (p *ProbeLook) on() bool { return p.Usable && p.Value >= 0.5 }

// lost reports whether the probe is silent or unusable; tickS is the time between two ticks.
func (p *ProbeLook) lost(tickS float64) bool { return !p.Usable || p.AgeS > 1.5*tickS }

// store returns the store of that name, or nil.
func (l *Look) store(name string) *StoreLook {
	for i := range l.Stores {
		if l.Stores[i].Name == name {
			return &l.Stores[i]
		}
	}
	return nil
}

// fan returns a fan by its store's name and its own, or nil.
func (l *Look) fan(store, name string) *FanLook {
	s := l.store(store)
	if s == nil {
		return nil
	}
	for i := range s.Fans {
		if s.Fans[i].Name == name {
			return &s.Fans[i]
		}
	}
	return nil
}

// probe returns the probe of that name, or nil.
func (l *Look) probe(name string) *ProbeLook {
	for i := range l.Probes {
		if l.Probes[i].Name == name {
			return &l.Probes[i]
		}
	}
	return nil
}

// runningOf names the fans of a store that run or may run, each as "store/fan"; of all stores where
// store is empty.
func (l *Look) runningOf(store string) (names []string) {
	for i := range l.Stores {
		s := &l.Stores[i]
		for j := range s.Fans {
			if f := &s.Fans[j]; (store == "" || s.Name == store) && (f.Stage > 0 || !f.Obeys) {
				names = append(names, s.Name+"/"+f.Name)
			}
		}
	}
	return names
}

// why is what the house says of a store, or of its first where store is empty.
func (l *Look) why(store string) string {
	for i := range l.Stores {
		if store == "" || l.Stores[i].Name == store {
			return l.Stores[i].Why
		}
	}
	return "nothing"
}
