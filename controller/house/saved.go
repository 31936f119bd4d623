package house

import (
	"slices"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// Saved is all that a House remembers, under the names of its probes, stores, fans and actions
// instead of their places, so that it finds them again in changed settings: plain data that
// survives JSON. What the calendar answered is not in it, it is asked again. The zero value is a
// house never seen before. No method changes the Saved it is called on.
type Saved struct {
	LastUnix    int64   // wall time of the last tick, s
	AirLostS    float64 // as in decide.State, as are the next three
	HeaterWaitS float64
	StaggerS    float64
	Smoke       bool
	Low         decide.Low
	Fired       []SavedFiring
	Probes      []SavedProbe
	Stores      []SavedStore
}

// SavedFiring is when a calendar action last fired, wall time in s.
type SavedFiring struct {
	Action string
	Unix   int64
}

// SavedProbe is what is remembered of one probe. It is the same probe while its name, store, role
// and place are.
type SavedProbe struct {
	Name  string
	Store string // empty for one of the whole house
	Role  judge.Role
	Place judge.Place
	judge.State
}

// SavedStore is what is remembered of one store. Fans, Action and OrderFan stand for the fields of the
// same name in StoreState, which know theirs by place and are empty.
type SavedStore struct {
	Name  string
	Soil  judge.Carry
	Root  Root
	HeatW float64 // expected into the soil since the last tick, W; negative is out of it
	decide.StoreState
	Action   string // the one that is due; empty is none
	OrderFan string `json:",omitempty"` // the one that an order runs; empty is all
	Fans     []SavedFan
}

// SavedFan is what is remembered of one fan, by its name in the store.
type SavedFan struct {
	Name string
	decide.FanState
}

// Save returns what the house remembers. It shares nothing with the house.
func (h *House) Save() Saved {
	st := &h.state.Decide
	saved := Saved{
		LastUnix: st.LastUnix, AirLostS: st.AirLostS, HeaterWaitS: st.HeaterWaitS,
		StaggerS: st.StaggerS, Smoke: st.Smoke, Low: st.Low,
	}
	for i, a := range h.s.Decide.Actions {
		if st.Fired[i] != 0 {
			saved.Fired = append(saved.Fired, SavedFiring{Action: a.Name, Unix: st.Fired[i]})
		}
	}
	for i := range h.s.Probes {
		p := h.s.blank(i)
		p.State = h.state.Probes[i]
		saved.Probes = append(saved.Probes, p)
	}
	for i := range h.s.Decide.Stores {
		saved.Stores = append(saved.Stores, h.saveStore(i))
	}
	return saved
}

func (h *House) saveStore(i int) SavedStore {
	store := &h.s.Decide.Stores[i]
	saved := SavedStore{
		Name: store.Name, Soil: h.state.Soil[i], Root: h.state.Root[i], HeatW: h.state.Last.Stores[i].HeatW,
		StoreState: h.state.Decide.Stores[i],
	}
	if n := saved.StoreState.Action; n > 0 {
		saved.Action = h.s.Decide.Actions[n-1].Name
	}
	if n := int(saved.StoreState.OrderFan); n > 0 && n <= len(store.Fans) {
		saved.OrderFan = store.Fans[n-1].Name
	}
	for j := range store.Fans {
		saved.Fans = append(saved.Fans, SavedFan{Name: store.Fans[j].Name, FanState: saved.StoreState.Fans[j]})
	}
	saved.StoreState.Action, saved.StoreState.OrderFan, saved.StoreState.Fans = 0, 0, [decide.MaxFans]decide.FanState{}
	return saved
}

// blank is probe i as one that was never read.
func (s *Settings) blank(i int) SavedProbe {
	p := &s.Probes[i]
	b := SavedProbe{Name: p.Name, Role: p.Judge.Role, Place: p.Judge.Place}
	if p.Store != WholeHouse {
		b.Store = s.Decide.Stores[p.Store].Name
	}
	return b
}

// Restore returns a house of these settings that remembers what it finds of its own in saved.
// What has another name now, or none, begins anew; saved things without a place are forgotten. A
// store whose running fans are all gone has come to rest. s is not changed and must not change.
func Restore(s *Settings, saved Saved) *House {
	saved = saved.clone()
	st := State{Probes: make([]judge.State, len(s.Probes))}
	st.Decide = decide.State{
		LastUnix: saved.LastUnix, AirLostS: saved.AirLostS, HeaterWaitS: saved.HeaterWaitS,
		StaggerS: saved.StaggerS, Smoke: saved.Smoke, Low: saved.Low,
	}
	for _, f := range saved.Fired {
		if i := s.action(f.Action); i >= 0 {
			st.Decide.Fired[i] = f.Unix
		}
	}
	for i := range s.Probes {
		want := s.blank(i)
		for _, p := range saved.Probes {
			found := p.State
			if p.State = want.State; p == want {
				st.Probes[i] = found
			}
		}
	}
	for i := range s.Decide.Stores {
		if was := saved.store(s.Decide.Stores[i].Name); was != nil {
			was.restore(s, &st, i)
		}
	}
	return New(s, st)
}

// action returns the index of a named action that is still there, or -1.
func (s *Settings) action(name string) int {
	return slices.IndexFunc(s.Decide.Actions, func(a decide.ActionSettings) bool { return a.Name == name })
}

// restore puts a saved store in place i.
func (ss *SavedStore) restore(s *Settings, st *State, i int) {
	store := &s.Decide.Stores[i]
	ran := ss.running()
	ss.Fans = slices.DeleteFunc(ss.Fans, func(f SavedFan) bool { return fanAt(store, f.Name) < 0 })
	if ran && !ss.running() {
		ss.end()
	}
	to, last := &st.Decide.Stores[i], &st.Last.Stores[i]
	*to = ss.StoreState
	if n := s.action(ss.Action); n >= 0 && s.Decide.Actions[n].Stores[i] {
		to.Action = int8(n) + 1
	} else if ss.Action != "" {
		to.ActionRunS, to.ActionDueS = 0, 0
	}
	if n := fanAt(store, ss.OrderFan); n >= 0 {
		to.OrderFan = uint8(n) + 1
	} else if ss.OrderFan != "" { // the fan is gone: its order is no order for the others
		to.Order, to.OrderStage, to.OrderLeftS = decide.NoOrder, 0, 0
	}
	for _, f := range ss.Fans {
		to.Fans[fanAt(store, f.Name)] = f.FanState
	}
	for j := range to.Fans {
		last.Stages[j] = to.Fans[j].Stage
	}
	last.State, last.HeatW = to.Doing, ss.HeatW
	st.Soil[i], st.Root[i] = ss.Soil, ss.Root
}

// LearnFrom takes over from saved what was learned of each store, by its name, and nothing else.
func (h *House) LearnFrom(saved Saved) {
	for i := range h.s.Decide.Stores {
		if was := saved.store(h.s.Decide.Stores[i].Name); was != nil {
			h.Learn(i, was.Learned)
		}
	}
}

func fanAt(store *decide.Store, name string) int {
	return slices.IndexFunc(store.Fans, func(f decide.Fan) bool { return f.Name == name })
}

// clone returns a copy that shares nothing with s.
func (s Saved) clone() Saved {
	s.Fired, s.Probes, s.Stores = slices.Clone(s.Fired), slices.Clone(s.Probes), slices.Clone(s.Stores)
	for i := range s.Stores {
		s.Stores[i].Fans = slices.Clone(s.Stores[i].Fans)
	}
	return s
}

// store returns the store of that name, or nil.
func (s Saved) store(name string) *SavedStore {
	i := slices.IndexFunc(s.Stores, func(ss SavedStore) bool { return ss.Name == name })
	if i < 0 {
		return nil
	}
	return &s.Stores[i]
}

func (ss *SavedStore) running() bool {
	return slices.ContainsFunc(ss.Fans, func(f SavedFan) bool { return f.Stage > 0 })
}

// end brings a store whose fans are off to the beginning of its rest.
func (ss *SavedStore) end() {
	ss.Doing = decide.Rest
	ss.RunS, ss.RestS, ss.Stage, ss.StageS, ss.HeatW = 0, 0, 0, 0, 0
}
