package house_test

import (
	"cmp"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// upset is a farm saved after a turmoil, so that most of what is saved is not zero.
func upset(t rapid.TB, s *house.Settings, seed uint64, ticks int) house.Saved {
	t.Helper()
	w := newTurmoil(s, seed)
	h := house.New(s, house.State{})
	last := decide.Decision{}
	for range ticks {
		seen, now := w.tick(&last)
		last = h.Tick(seen, now).Decision
	}
	return h.Save()
}

// byName brings what was saved into one order, so that only the order may differ.
func byName(s house.Saved) house.Saved {
	s.Fired, s.Probes, s.Stores = slices.Clone(s.Fired), slices.Clone(s.Probes), slices.Clone(s.Stores)
	slices.SortFunc(s.Fired, func(a, b house.SavedFiring) int { return cmp.Compare(a.Action, b.Action) })
	slices.SortFunc(s.Probes, func(a, b house.SavedProbe) int { return cmp.Compare(a.Name, b.Name) })
	slices.SortFunc(s.Stores, func(a, b house.SavedStore) int { return cmp.Compare(a.Name, b.Name) })
	for i := range s.Stores {
		fans := slices.Clone(s.Stores[i].Fans)
		slices.SortFunc(fans, func(a, b house.SavedFan) int { return cmp.Compare(a.Name, b.Name) })
		s.Stores[i].Fans = fans
	}
	return s
}

// shuffled is the settings with stores, fans, probes and actions in another order.
func shuffled(t *rapid.T, s house.Settings) *house.Settings {
	stores := rapid.Permutation([]int{0, 1}).Draw(t, "stores")
	old := s.Decide.Stores
	s.Decide.Stores = nil
	for _, i := range stores {
		store := old[i]
		store.Fans = rapid.Permutation(store.Fans).Draw(t, "fans")
		s.Decide.Stores = append(s.Decide.Stores, store)
	}
	if stores[0] == 1 {
		s.CapacityJK[0], s.CapacityJK[1] = s.CapacityJK[1], s.CapacityJK[0]
		actions := slices.Clone(s.Decide.Actions)
		for k := range actions {
			a := &actions[k].Stores
			a[0], a[1] = a[1], a[0]
		}
		s.Decide.Actions = actions
	}
	s.Probes = rapid.Permutation(s.Probes).Draw(t, "probes")
	for i := range s.Probes {
		p := &s.Probes[i]
		if p.Store == house.WholeHouse {
			continue
		}
		name := old[p.Store].Name
		if p.Fan != house.AllFans {
			fan := old[p.Store].Fans[p.Fan].Name
			store := &s.Decide.Stores[slices.Index(stores, p.Store)]
			p.Fan = slices.IndexFunc(store.Fans, func(f decide.Fan) bool { return f.Name == fan })
		}
		p.Store = slices.IndexFunc(s.Decide.Stores, func(st decide.Store) bool { return st.Name == name })
	}
	order := rapid.Permutation([]int{0, 1}).Draw(t, "actions")
	actions, specs := s.Decide.Actions, s.Decide.Season.Actions
	s.Decide.Actions, s.Decide.Season.Actions = nil, nil
	for _, k := range order {
		s.Decide.Actions = append(s.Decide.Actions, actions[k])
		s.Decide.Season.Actions = append(s.Decide.Season.Actions, specs[k])
	}
	return &s
}

// TestOrderInTheSettingsDoesNotMatter restores onto the same things in another order: each keeps
// what was its own.
func TestOrderInTheSettingsDoesNotMatter(t *testing.T) {
	s := farm(t, calendar(t))
	actions := 0
	rapid.Check(t, func(t *rapid.T) {
		saved := upset(t, s, rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 300).Draw(t, "ticks"))
		got := house.Restore(shuffled(t, *s), saved).Save()
		if diff := gocmp.Diff(byName(saved), byName(got)); diff != "" {
			t.Fatalf("(-saved +restored):\n%s", diff)
		}
		for _, store := range saved.Stores {
			if store.Action != "" {
				actions++
			}
		}
	})
	if actions == 0 {
		t.Error("no action was ever in progress: too tame to prove anything")
	}
}

// running is a farm both of whose stores charge, all their fans on, an exercise in progress.
func running(s *house.Settings) house.Saved {
	st := house.State{Probes: make([]judge.State, len(s.Probes))}
	for i := range st.Probes {
		st.Probes[i] = judge.State{Value: float64(i), AgeS: 1, Quality: judge.Good, Cause: judge.Fine}
	}
	for i := range s.Decide.Stores {
		ss := &st.Decide.Stores[i]
		*ss = decide.StoreState{
			Doing: decide.Charge, RunS: 500, Stage: 1, StageS: 400, DryS: 30, DryUnix: 7,
			Order: decide.OrderRun, OrderStage: 1, OrderLeftS: 900,
			Action: 1, ActionRunS: 60, ActionDueS: 70,
		}
		for j := range s.Decide.Stores[i].Fans {
			ss.Fans[j] = decide.FanState{Stage: 1, HeldS: 500, StartWaitS: 400, Fault: decide.Weak, Retries: 2, RetryS: 50}
		}
		st.Last.Stores[i].HeatW = 3000
		st.Soil[i] = judge.Carry{Known: true, C: 14, LostS: 60}
		st.Root[i] = house.Root{Hottest: judge.Carry{Known: true, C: 20}, Coldest: judge.Carry{Known: true, C: 9}}
	}
	return house.New(s, st).Save()
}

// TestChangedSettings restores a running farm onto settings with one change. What is expected is
// written as the change to what was saved.
func TestChangedSettings(t *testing.T) {
	atRest := func(ss *house.SavedStore) {
		ss.Doing, ss.RunS, ss.RestS, ss.Stage, ss.StageS, ss.HeatW = decide.Rest, 0, 0, 0, 0, 0
	}
	rename := func(name string) func(*house.Settings) {
		return func(s *house.Settings) { s.Probes[6].Name = name }
	}
	tests := []struct {
		name   string
		change func(*house.Settings)
		want   func(*house.Saved)
	}{
		{"nothing changed", func(*house.Settings) {}, func(*house.Saved) {}},
		{"a store with another name begins anew, its probes too", func(s *house.Settings) {
			s.Decide.Stores[1].Name = "bench"
		}, func(w *house.Saved) {
			w.Stores[1] = house.SavedStore{Name: "bench", Fans: []house.SavedFan{{Name: "middle"}}}
			for i := range w.Probes {
				if p := &w.Probes[i]; p.Store == "path" {
					p.Store, p.State = "bench", judge.State{}
				}
			}
		}},
		{"a store that is gone is forgotten", func(s *house.Settings) {
			s.Decide.Stores = s.Decide.Stores[:1]
			s.Probes = slices.DeleteFunc(s.Probes, func(p house.Probe) bool { return p.Store == 1 })
		}, func(w *house.Saved) {
			w.Stores = w.Stores[:1]
			w.Probes = slices.DeleteFunc(w.Probes, func(p house.SavedProbe) bool { return p.Store == "path" })
		}},
		{"a new store in front begins anew, the others go on", func(s *house.Settings) {
			s.Decide.Stores = slices.Insert(s.Decide.Stores, 0, decide.Store{Name: "bench", Fans: []decide.Fan{{Name: "east", Levels: []float64{1}}}})
			for i := range s.Probes {
				if s.Probes[i].Store != house.WholeHouse {
					s.Probes[i].Store++
				}
			}
			for k := range s.Decide.Actions {
				a := &s.Decide.Actions[k].Stores
				*a = [decide.MaxStores]bool{false, a[0], a[1]}
			}
		}, func(w *house.Saved) {
			bench := house.SavedStore{Name: "bench", Fans: []house.SavedFan{{Name: "east"}}}
			w.Stores = slices.Insert(w.Stores, 0, bench)
		}},
		{"one of two running fans is gone: the run goes on", func(s *house.Settings) {
			s.Decide.Stores[0].Fans = s.Decide.Stores[0].Fans[1:]
		}, func(w *house.Saved) {
			w.Stores[0].Fans = w.Stores[0].Fans[1:]
		}},
		{"a fan with another name is off and free of faults; the run goes on", func(s *house.Settings) {
			s.Decide.Stores[0].Fans[0].Name = "north"
		}, func(w *house.Saved) {
			w.Stores[0].Fans[0] = house.SavedFan{Name: "north"}
		}},
		{"a new fan in front is off", func(s *house.Settings) {
			s.Decide.Stores[0].Fans = slices.Insert(s.Decide.Stores[0].Fans, 0, decide.Fan{Name: "north", Levels: []float64{1}})
		}, func(w *house.Saved) {
			w.Stores[0].Fans = slices.Insert(w.Stores[0].Fans, 0, house.SavedFan{Name: "north"})
		}},
		{"a store's only running fan is gone: it has come to rest", func(s *house.Settings) {
			s.Decide.Stores[1].Fans[0].Name = "north"
		}, func(w *house.Saved) {
			w.Stores[1].Fans[0] = house.SavedFan{Name: "north"}
			atRest(&w.Stores[1])
		}},
		{"a fan that moved to the other store is another fan", func(s *house.Settings) {
			beds, path := &s.Decide.Stores[0], &s.Decide.Stores[1]
			path.Fans = append(path.Fans, beds.Fans[1])
			beds.Fans = beds.Fans[:1]
		}, func(w *house.Saved) {
			w.Stores[0].Fans = w.Stores[0].Fans[:1]
			w.Stores[1].Fans = append(w.Stores[1].Fans, house.SavedFan{Name: "west"})
		}},
		{"a probe with another name begins anew", rename("beds deep"), func(w *house.Saved) {
			w.Probes[6].Name, w.Probes[6].State = "beds deep", judge.State{}
		}},
		{"a probe that stands for something else begins anew", func(s *house.Settings) {
			s.Probes[4].Judge.Role = judge.Outside
		}, func(w *house.Saved) {
			w.Probes[4].Role, w.Probes[4].State = judge.Outside, judge.State{}
		}},
		{"a probe that sits elsewhere begins anew", func(s *house.Settings) {
			s.Probes[0].Judge.Place = judge.Intake
		}, func(w *house.Saved) {
			w.Probes[0].Place, w.Probes[0].State = judge.Intake, judge.State{}
		}},
		{"a probe in another store begins anew", func(s *house.Settings) {
			s.Probes[6].Store = 1
		}, func(w *house.Saved) {
			w.Probes[6].Store, w.Probes[6].State = "path", judge.State{}
		}},
		{"a probe at another depth goes on", func(s *house.Settings) {
			s.Probes[6].Judge.DepthM = 0.5
		}, func(*house.Saved) {}},
		{"an action that is gone is dropped", func(s *house.Settings) {
			s.Decide.Actions, s.Decide.Season.Actions = s.Decide.Actions[1:], s.Decide.Season.Actions[1:]
		}, func(w *house.Saved) {
			for i := range w.Stores {
				w.Stores[i].Action, w.Stores[i].ActionRunS, w.Stores[i].ActionDueS = "", 0, 0
			}
		}},
		{"an action that no longer concerns a store is dropped there", func(s *house.Settings) {
			s.Decide.Actions[0].Stores[1] = false
		}, func(w *house.Saved) {
			w.Stores[1].Action, w.Stores[1].ActionRunS, w.Stores[1].ActionDueS = "", 0, 0
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			saved := throughJSON(t, running(farm(t, calendar(t))))
			s := farm(t, calendar(t), tt.change)
			h := house.Restore(s, saved)
			want := running(farm(t, calendar(t)))
			tt.want(&want)
			if diff := gocmp.Diff(want, h.Save()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestRunGoesOnUnderTheFansName swaps the stores while one of them charges. The tick after it goes
// on charging, and the other stays at rest.
func TestRunGoesOnUnderTheFansName(t *testing.T) {
	s := farm(t)
	hot := calm().but("crop a", 25).but("crop b", 25).but("crop c", 25).but("intake", 26).but("path between", 25)
	h := house.New(s, house.State{})
	now := noon(t)
	last := decide.Decision{}
	tick := func(s *house.Settings) {
		now = now.Add(10e9)
		last = h.Tick(house.Seen{StepS: 10, Believed: true, Raw: hot.raw(s)}, now).Decision
		hot.but("beds east moves", 1).but("beds west moves", 1)
	}
	for range 60 {
		tick(s)
	}
	if last.Stores[0].State != decide.Charge || last.Stores[1].State != decide.Rest {
		t.Fatalf("beds %v, path %v; want the beds alone to charge", last.Stores[0].State, last.Stores[1].State)
	}
	runS := h.Save().Stores[0].RunS
	swapped := farm(t, func(s *house.Settings) {
		slices.Reverse(s.Decide.Stores)
		slices.Reverse(s.Decide.Stores[1].Fans)
		s.CapacityJK[0], s.CapacityJK[1] = s.CapacityJK[1], s.CapacityJK[0]
		for i := range s.Probes {
			p := &s.Probes[i]
			if p.Store != house.WholeHouse {
				p.Store = 1 - p.Store
			}
			if p.Name == "beds east moves" || p.Name == "beds west moves" {
				p.Fan = 1 - p.Fan
			}
		}
	})
	h = house.Restore(swapped, throughJSON(t, h.Save()))
	tick(swapped)
	path, beds := last.Stores[0], last.Stores[1]
	if path.Running() || beds.State != decide.Charge || beds.Stages[0] != 1 || beds.Stages[1] != 1 {
		t.Errorf("after the swap the path is %v, the beds %v at %v", path.State, beds.State, beds.Stages)
	}
	if got := h.Save().Stores[1].RunS; got != runS+10 {
		t.Errorf("the beds have run %v s, want %v", got, runS+10)
	}
}

// TestFewerSpeeds restores a fan at its third speed onto settings where it has only one.
func TestFewerSpeeds(t *testing.T) {
	fast := farm(t, calendar(t), func(s *house.Settings) { s.Decide.Stores[0].Fans[0].Levels = []float64{0.4, 0.7, 1} })
	saved := running(fast)
	saved.Stores[0].Stage, saved.Stores[0].Fans[0].Stage = 3, 3
	s := farm(t)
	hot := calm().but("crop a", 25).but("crop b", 25).but("crop c", 25).but("intake", 26)
	hot.but("beds east moves", 1).but("beds west moves", 1)
	r := house.Restore(s, saved).Tick(house.Seen{StepS: 10, Believed: true, Raw: hot.raw(s)}, noon(t))
	if got := r.Decision.Stores[0].Stages[0]; got != 1 {
		t.Errorf("the fan is told stage %d, want 1", got)
	}
}
