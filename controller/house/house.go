package house

import (
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// House is one house between its ticks. It belongs to one goroutine.
type House struct {
	s        *Settings
	groups   []group
	verdicts []judge.Verdict
	state    State
	result   Result // of the last tick
}

// State is all that a House remembers: plain data that survives JSON. The zero value is a house
// never seen before.
type State struct {
	Probes []judge.State // in the order of Settings.Probes
	Soil   [decide.MaxStores]judge.Carry
	Root   [decide.MaxStores]Root
	Decide decide.State
	Last   decide.Decision // in force since the last tick
}

// Root is the last that was read of a store's root soil, so that a probe that is lost does not
// lift the cap or the floor it stood for.
type Root struct{ Hottest, Coldest judge.Carry }

// Seen is what one tick is given: everything that a later replay needs.
type Seen struct {
	StepS      float64     // monotonic seconds since the last tick
	Believed   bool        // the wall clock is believed
	Raw        []judge.Raw // in the order of Settings.Probes; missing ones at the end are no reading
	Orders     [decide.MaxStores]decide.Order
	Grant      decide.Grant
	ClearFault bool
	Down       [decide.MaxStores]Down
}

// Down marks the fans of a store whose device does not obey, by their places. The zero value is none.
type Down [decide.MaxFans]bool

// Result is what one tick found and decided. Verdicts is overwritten by the next tick.
type Result struct {
	Inputs   decide.Inputs
	Decision decide.Decision
	Verdicts []judge.Verdict // in the order of Settings.Probes
}

// New returns a house in the given state. s is not changed and must not change.
func New(s *Settings, st State) *House {
	h := &House{s: s, groups: groups(s), state: st}
	h.verdicts = make([]judge.Verdict, len(s.Probes))
	h.state.Probes = make([]judge.State, len(s.Probes))
	copy(h.state.Probes, st.Probes)
	return h
}

// Settings returns what the house was built with.
func (h *House) Settings() *Settings { return h.s }

// State returns a copy of what the house remembers.
func (h *House) State() State {
	st := h.state
	st.Probes = append([]judge.State(nil), st.Probes...)
	return st
}

// Decided returns what the decision core remembers; it is overwritten by the next tick.
func (h *House) Decided() *decide.State { return &h.state.Decide }

// Learn gives decisions what was learned of a store: between two ticks, and only where the journal
// notes at once what the house then remembers.
func (h *House) Learn(store int, l decide.Learned) { h.state.Decide.Stores[store].Learned = l }

// Tick judges the readings and decides what the fans do until the next tick.
func (h *House) Tick(seen Seen, now time.Time) Result { return *h.Advance(&seen, now) }

// Advance is Tick for a caller who is done with the result before the next tick, which overwrites it.
func (h *House) Advance(seen *Seen, now time.Time) *Result {
	r := &h.result
	for i := range h.s.Probes {
		var raw judge.Raw
		if i < len(seen.Raw) {
			raw = seen.Raw[i]
		}
		h.verdicts[i] = judge.Probe(&h.s.Probes[i].Judge, &h.state.Probes[i], raw, seen.StepS)
	}
	r.Verdicts = h.verdicts
	r.Inputs = decide.Inputs{}
	h.inputs(seen, &r.Inputs)
	h.state.Decide.Advance(&h.s.Decide, &r.Inputs, now, &r.Decision)
	h.state.Last = r.Decision
	return r
}
