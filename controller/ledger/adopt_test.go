package ledger_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// layout is settings with these stores and fans, which is all that Adopt looks at.
func layout(stores ...decide.Store) *decide.Settings { return &decide.Settings{Stores: stores} }

func store(name string, fans ...string) decide.Store {
	s := decide.Store{Name: name}
	for _, f := range fans {
		s.Fans = append(s.Fans, decide.Fan{Name: f, PowerW: 100, Levels: []float64{1}})
	}
	return s
}

// booked is an account with a number of its own in every counter, as far as its layout goes.
func booked(s *decide.Settings) *ledger.House {
	h := ledger.New("lower", s)
	n := 0.0
	next := func() float64 { n++; return n }
	h.ElectricityMoney, h.FuelMoney = next(), next()
	for a := range h.StateS {
		h.StateS[a] = next()
	}
	for i := range h.Stores {
		st := &h.Stores[i]
		st.In = ledger.Heat{SensibleKWh: next(), LatentKWh: next()}
		st.Out, st.CondensateLitres = ledger.Heat{SensibleKWh: next()}, next()
		for a := range st.StateS {
			st.StateS[a] = next()
		}
		for j := range st.Fans {
			f := &st.Fans[j]
			f.EnergyKWh, f.Starts = next(), int64(next())
			for a := range f.RunS {
				f.RunS[a] = next()
			}
		}
	}
	return h
}

func TestAdopt(t *testing.T) {
	before := layout(store("beds", "east", "west"), store("path", "middle"))
	was := booked(before)
	beds, path := was.Stores[0], was.Stores[1]
	with := func(s ledger.Store, fans ...ledger.Fan) ledger.Store { s.Fans = fans; return s }
	east, west, middle := beds.Fans[0], beds.Fans[1], path.Fans[0]
	tests := []struct {
		name string
		s    *decide.Settings
		want []ledger.Store
	}{
		{"the same settings", before, []ledger.Store{beds, path}},
		{"stores in another order", layout(store("path", "middle"), store("beds", "east", "west")), []ledger.Store{path, beds}},
		{
			"fans in another order", layout(store("beds", "west", "east"), store("path", "middle")),
			[]ledger.Store{with(beds, west, east), path},
		},
		{"a store that is gone stands behind", layout(store("path", "middle")), []ledger.Store{path, beds}},
		{
			"a fan that is gone stands behind", layout(store("beds", "west"), store("path", "middle")),
			[]ledger.Store{with(beds, west, east), path},
		},
		{
			"a new store in front begins at zero", layout(store("bench", "north"), store("beds", "east", "west"), store("path", "middle")),
			[]ledger.Store{{Name: "bench", Fans: []ledger.Fan{{Name: "north"}}}, beds, path},
		},
		{
			"a new fan in front begins at zero", layout(store("beds", "north", "east", "west"), store("path", "middle")),
			[]ledger.Store{with(beds, ledger.Fan{Name: "north"}, east, west), path},
		},
		{
			"a fan with another name is a new one, the old stands behind", layout(store("beds", "east", "north"), store("path", "middle")),
			[]ledger.Store{with(beds, east, ledger.Fan{Name: "north"}, west), path},
		},
		{
			"a fan in another store is a new one there", layout(store("beds", "east"), store("path", "middle", "west")),
			[]ledger.Store{with(beds, east, west), with(path, middle, ledger.Fan{Name: "west"})},
		},
		{"no store at all", layout(), []ledger.Store{beds, path}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := *was
			want.Stores = tt.want
			got := ledger.Adopt(was, "lower", tt.s)
			if diff := cmp.Diff(&want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(booked(before), was); diff != "" {
				t.Fatalf("the old account was changed (-want +got):\n%s", diff)
			}
		})
	}
}

func TestAdoptOfNothingIsEmpty(t *testing.T) {
	s := two()
	if diff := cmp.Diff(ledger.New("lower", s), ledger.Adopt(nil, "lower", s)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestAdoptedSharesNothing(t *testing.T) {
	was := booked(two())
	h := ledger.Adopt(was, "upper", two())
	if h.Name != "upper" {
		t.Errorf("it is called %q, want upper", h.Name)
	}
	h.Add(two(), unseen, does(0, decide.Charge, 1, 1), hour)
	h.Stores[1].Fans[0].Starts, h.Stores[1].Name = 99, "other"
	gone := ledger.Adopt(was, "upper", layout(store("path")))
	gone.Stores[0].Fans[0].Starts, gone.Stores[1].Fans[0].Starts = 99, 99
	if diff := cmp.Diff(booked(two()), was); diff != "" {
		t.Errorf("the old account moved with the new (-want +got):\n%s", diff)
	}
}

// byFan lists every fan's run time under store and fan, and every store's heat under its name.
func byFan(h *ledger.House) map[string]float64 {
	all := map[string]float64{}
	for i := range h.Stores {
		s := &h.Stores[i]
		all[s.Name] = s.In.KWh()
		for j := range s.Fans {
			all[s.Name+"/"+s.Fans[j].Name] = s.Fans[j].RunTotalS()
		}
	}
	return all
}

// TestNoCounterFallsWhateverTheSettings lets stores and fans come, go and return in any order
// while they run, and keeps its own count by name.
func TestNoCounterFallsWhateverTheSettings(t *testing.T) {
	names := []string{"a", "b", "c", "d"}
	some := rapid.SliceOfNDistinct(rapid.SampledFrom(names), 0, 4, rapid.ID[string])
	returned := 0
	rapid.Check(t, func(t *rapid.T) {
		var h *ledger.House
		want := map[string]float64{}
		for range rapid.IntRange(1, 12).Draw(t, "reloads") {
			s := &decide.Settings{}
			d := &decide.Decision{}
			for i, name := range some.Draw(t, "stores") {
				s.Stores = append(s.Stores, store(name, some.Draw(t, "fans")...))
				d.Stores[i].State, d.Stores[i].HeatW = decide.Charge, 1000
				for j := range s.Stores[i].Fans {
					d.Stores[i].Stages[j] = 1
				}
			}
			h = ledger.Adopt(h, "lower", s)
			for i := range s.Stores {
				if h.Stores[i].Name != s.Stores[i].Name {
					t.Fatalf("account %d is of %s, want %s", i, h.Stores[i].Name, s.Stores[i].Name)
				}
				for j := range s.Stores[i].Fans {
					if h.Stores[i].Fans[j].Name != s.Stores[i].Fans[j].Name {
						t.Fatalf("account %d is of fan %s, want %s", j, h.Stores[i].Fans[j].Name, s.Stores[i].Fans[j].Name)
					}
				}
			}
			h.Add(s, unseen, d, hour)
			for _, st := range s.Stores {
				want[st.Name] += 0
				if len(st.Fans) > 0 {
					want[st.Name]++
				}
				for _, f := range st.Fans {
					if want[st.Name+"/"+f.Name] > 0 {
						returned++
					}
					want[st.Name+"/"+f.Name] += hour
				}
			}
			if diff := cmp.Diff(want, byFan(h), near); diff != "" {
				t.Fatalf("(-want +got):\n%s", diff)
			}
		}
	})
	if returned == 0 {
		t.Error("nothing ever returned: too tame to prove anything")
	}
}
