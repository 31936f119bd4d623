package house_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/season"
)

// calendar gives the farm two actions: fans are exercised every twenty minutes, and once an hour
// the beds get a burst of warm air.
func calendar(t testing.TB) func(*house.Settings) {
	return func(s *house.Settings) {
		for _, spec := range []string{"*/20 * * * *", "50 * * * *"} {
			a, err := season.ParseSchedule(spec, s.Decide.Season.Site.Zone)
			if err != nil {
				t.Fatal(err)
			}
			s.Decide.Season.Actions = append(s.Decide.Season.Actions, a)
		}
		s.Decide.Actions = []decide.ActionSettings{
			{Name: "exercise", Stores: [decide.MaxStores]bool{true, true}, RunS: 120},
			{Name: "burst", Stores: [decide.MaxStores]bool{true}, RunS: 900, TopUp: true},
		}
	}
}

// throughJSON is what was saved after it was written down and read back.
func throughJSON(t rapid.TB, saved house.Saved) house.Saved {
	t.Helper()
	text, err := json.Marshal(saved)
	if err != nil {
		t.Fatal(err)
	}
	var back house.Saved
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	return back
}

// fill sets every field to something: floats and wall times all differ, small numbers are 1,
// which is in every closed list.
func fill(v reflect.Value, n *int64) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), n)
		}
	case reflect.Array, reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), n)
		}
	case reflect.Float64:
		*n++
		v.SetFloat(float64(*n) + 0.1)
	case reflect.Int64, reflect.Int:
		*n++
		v.SetInt(*n)
	case reflect.Int8:
		v.SetInt(1)
	case reflect.Uint8:
		v.SetUint(1)
	case reflect.Bool:
		v.SetBool(true)
	default:
		panic("a kind of field that this test does not know: " + v.Kind().String())
	}
}

// TestEveryFieldIsSaved fills a whole state, so that a field added to it later is found out.
func TestEveryFieldIsSaved(t *testing.T) {
	s := farm(t, calendar(t))
	st := house.State{Probes: make([]judge.State, len(s.Probes))}
	n := int64(0)
	fill(reflect.ValueOf(&st).Elem(), &n)

	got := house.Restore(s, throughJSON(t, house.New(s, st).Save())).State()

	want := st
	want.Decide.Slot = decide.Slot{} // asked again
	clear(want.Decide.Fired[len(s.Decide.Actions):])
	want.Last = decide.Decision{} // of it only what the fans do and the heat that they move
	for i := range want.Decide.Stores {
		fans := 0
		if i < len(s.Decide.Stores) {
			fans = len(s.Decide.Stores[i].Fans)
			was := &st.Last.Stores[i]
			want.Last.Stores[i] = decide.StoreDecision{State: was.State, HeatW: was.HeatW}
			copy(want.Last.Stores[i].Stages[:], was.Stages[:fans])
		} else {
			want.Decide.Stores[i], want.Soil[i], want.Root[i] = decide.StoreState{}, judge.Carry{}, house.Root{}
		}
		clear(want.Decide.Stores[i].Fans[fans:])
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("state (-was +restored):\n%s", diff)
	}
}

func TestNothingSavedIsANewHouse(t *testing.T) {
	s := farm(t, calendar(t))
	want := house.New(s, house.State{}).State()
	for name, saved := range map[string]house.Saved{
		"nothing":       {},
		"a new house":   house.New(s, house.State{}).Save(),
		"another house": throughJSON(t, house.Saved{Stores: []house.SavedStore{{Name: "bench"}}}),
	} {
		if diff := cmp.Diff(want, house.Restore(s, saved).State()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// turmoil is a run of random ticks: weather that wanders, probes that fall silent or lie, people,
// fans that do not obey, a clock that jumps and is not always believed.
type turmoil struct {
	rng      *rand.Rand
	s        *house.Settings
	now      time.Time
	air      float64
	soil     float64
	believed bool
	quiet    map[string]int // ticks for which a probe stays silent
}

func newTurmoil(s *house.Settings, seed uint64) *turmoil {
	rng := rand.New(rand.NewPCG(seed, 1))
	start := time.Date(2026, time.January, 1+rng.IntN(365), rng.IntN(24), rng.IntN(60), 0, 0, s.Decide.Season.Site.Zone)
	return &turmoil{
		rng: rng, s: s, now: start, air: -5 + 35*rng.Float64(), soil: 5 + 20*rng.Float64(),
		believed: true, quiet: map[string]int{},
	}
}

func (w *turmoil) chance(p float64) bool { return w.rng.Float64() < p }

// tick returns what is seen next, where last is in force.
func (w *turmoil) tick(last *decide.Decision) (house.Seen, time.Time) {
	seen := house.Seen{StepS: []float64{10, 10, 60, 1, 300}[w.rng.IntN(5)]}
	w.now = w.now.Add(time.Duration(seen.StepS * float64(time.Second)))
	if w.chance(0.003) {
		w.now = w.now.Add(time.Duration(w.rng.IntN(14400)-7200) * time.Second)
	}
	if w.chance(0.01) {
		w.believed = !w.believed || w.chance(0.7)
	}
	seen.Believed = w.believed
	w.air = min(max(w.air+0.6*w.rng.NormFloat64(), -8), 38)
	w.soil = min(max(w.soil+0.05*w.rng.NormFloat64(), 1), 29)
	seen.Raw = w.readings(last).raw(w.s)
	for i := range w.s.Decide.Stores {
		if w.chance(0.004) {
			seen.Orders[i] = decide.Order{
				Kind: decide.OrderKind(1 + w.rng.IntN(3)), Stage: uint8(w.rng.IntN(3)), Fan: uint8(w.rng.IntN(2)), ForS: 3000 * w.rng.Float64(),
			}
		}
	}
	if w.chance(0.02) {
		seen.Grant = decide.Grant{Limited: true, PowerW: 2000 * w.rng.Float64(), Closed: w.chance(0.3)}
	}
	seen.ClearFault = w.chance(0.01)
	return seen, w.now
}

func (w *turmoil) readings(last *decide.Decision) readings {
	r := calm()
	for _, p := range w.s.Probes {
		noise := 0.1 * w.rng.NormFloat64()
		switch p.Judge.Role {
		case judge.Air:
			r[p.Name] = w.air + noise
		case judge.Outside:
			r[p.Name] = w.air - 8 + noise
		case judge.Soil:
			r[p.Name] = w.soil + noise
		case judge.Humidity:
			r[p.Name] = min(1, max(0.3, 0.95+noise))
		case judge.Smoke:
			r[p.Name] = contact(w.chance(0.0005))
		case judge.AirflowProof:
		default:
			r[p.Name] = contact(w.chance(0.01))
		}
	}
	proven(r, last)
	if w.chance(0.05) {
		r["path moves"] = 1 - r["path moves"]
	}
	for _, p := range w.s.Probes {
		group := p.Judge.Role.String() // probes of one role fall silent together: one bus
		if w.chance(0.0003) {
			w.quiet[group] = w.rng.IntN(120)
		}
		if w.quiet[group] > 0 || w.chance(0.01) {
			r.without(p.Name)
		}
	}
	for group := range w.quiet {
		w.quiet[group]--
	}
	return r
}

func contact(on bool) float64 {
	if on {
		return 1
	}
	return 0
}

// TestRestoredHouseDecidesAsIfNothingHappened saves a house in the middle of a turmoil, and some
// more times later, and wants the restored one to decide the next thousand ticks as the one that
// went on, bit for bit.
func TestRestoredHouseDecidesAsIfNothingHappened(t *testing.T) {
	s := farm(t, calendar(t), func(s *house.Settings) {
		s.Decide.Stores[1].Fans[0].Levels = []float64{0.5, 1}
		s.Decide.Stores[0].StartsPerHour = 12
	})
	met := map[decide.Activity]int{}
	faults := 0
	rapid.Check(t, func(t *rapid.T) {
		w := newTurmoil(s, rapid.Uint64().Draw(t, "seed"))
		straight := house.New(s, house.State{})
		last := decide.Decision{}
		step := func(houses ...*house.House) []house.Result {
			seen, now := w.tick(&last)
			var all []house.Result
			for _, h := range houses {
				all = append(all, h.Tick(seen, now))
			}
			last = all[0].Decision
			return all
		}
		for range rapid.IntRange(0, 400).Draw(t, "ticks before") {
			step(straight)
		}
		var mended *house.House
		for k := range 1000 {
			if k == 0 || k > 500 && k%50 == 0 {
				mended = house.Restore(s, throughJSON(t, straight.Save()))
				met[last.Stores[0].State]++
			}
			r := step(straight, mended)
			if r[0].Decision != r[1].Decision || r[0].Inputs != r[1].Inputs {
				t.Fatalf("%d ticks after (-straight +restored):\n%s%s", k+1,
					cmp.Diff(r[0].Inputs, r[1].Inputs), cmp.Diff(r[0].Decision, r[1].Decision))
			}
		}
		a, b := straight.Save(), mended.Save()
		if diff := cmp.Diff(a, b); diff != "" {
			t.Fatalf("saved again (-straight +restored):\n%s", diff)
		}
		for _, f := range a.Stores[1].Fans {
			faults += int(f.Fault)
		}
	})
	for a := range decide.Activities {
		if met[decide.Activity(a)] == 0 {
			t.Errorf("no house was saved while it was in %v: %v", decide.Activity(a), met)
		}
	}
	if faults == 0 {
		t.Error("no fan was ever at fault: too tame to prove anything")
	}
}

// TestSavedIsACopy ticks on after saving and changes what was saved.
func TestSavedIsACopy(t *testing.T) {
	s := farm(t, calendar(t))
	w := newTurmoil(s, 7)
	h := house.New(s, house.State{})
	last := decide.Decision{}
	tick := func() {
		seen, now := w.tick(&last)
		last = h.Tick(seen, now).Decision
	}
	for range 300 {
		tick()
	}
	saved := h.Save()
	kept := throughJSON(t, saved)
	for range 300 {
		tick()
	}
	house.Restore(s, saved).Tick(house.Seen{StepS: 1e4}, noon(t))
	saved.Restarted(500, true)
	saved.FansOff("beds", "east", "west")
	if diff := cmp.Diff(kept, saved); diff != "" {
		t.Errorf("what was saved has moved (-want +got):\n%s", diff)
	}
	before := h.State()
	for i := range saved.Probes {
		saved.Probes[i].Value = math.Pi
	}
	saved.Stores[0].Fans[0].Fault = 77
	if diff := cmp.Diff(before, h.State()); diff != "" {
		t.Errorf("the house moved with what was saved (-want +got):\n%s", diff)
	}
}
