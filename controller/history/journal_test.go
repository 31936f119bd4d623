package history_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// given is one tick as the farm gave it.
type given struct {
	now    time.Time
	seen   house.Seen
	digest uint64
}

// bits compares floats by their bits: the journal keeps also what is no number.
var bits = cmp.Comparer(func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) })

// anySeen draws what a tick might be given, sane or not.
func anySeen(rt *rapid.T, probes int) house.Seen {
	number := rapid.OneOf(rapid.Float64(), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)), rapid.Just(math.Copysign(0, -1)),
		rapid.Float64Range(-20, 40))
	seen := house.Seen{
		StepS: rapid.OneOf(rapid.Just(10.0), rapid.Float64Range(0, 100), number).Draw(rt, "step"), Believed: rapid.Bool().Draw(rt, "believed"),
		ClearFault: rapid.Bool().Draw(rt, "clear"),
		Grant:      decide.Grant{Limited: rapid.Bool().Draw(rt, "limited"), PowerW: number.Draw(rt, "power"), Closed: rapid.Bool().Draw(rt, "closed")},
	}
	for range rapid.IntRange(0, probes).Draw(rt, "readings") {
		seen.Raw = append(seen.Raw, judge.Raw{Value: number.Draw(rt, "value"), OK: rapid.Bool().Draw(rt, "ok")})
	}
	for i := range seen.Orders {
		seen.Orders[i] = decide.Order{
			Kind: decide.OrderKind(rapid.IntRange(0, 3).Draw(rt, "kind")), Stage: rapid.Uint8().Draw(rt, "stage"), Fan: rapid.Uint8().Draw(rt, "fan"), ForS: number.Draw(rt, "for"),
		}
		for j := range seen.Down[i] {
			seen.Down[i][j] = rapid.Bool().Draw(rt, "down")
		}
	}
	return seen
}

// TestJournalKeepsEveryBit gives houses whatever could come, with clocks that jump, and reads back
// the same to the bit, in the order in which it came, without a gap. A house beside them does not believe
// its clock: so nothing goes because its time is old.
func TestJournalKeepsEveryBit(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	doubting := farmOf(t, db, "doubting")
	doubting.give(doubting.houses[0], house.Seen{StepS: 10})
	name := 0
	rapid.Check(t, func(rt *rapid.T) {
		name++
		f := farmOf(t, db, fmt.Sprintf("house %d", name))
		var want []given
		f.each = func(_ *farmHouse, now time.Time, seen *house.Seen, result *house.Result) {
			want = append(want, given{now.UTC(), *seen, history.Digest(&result.Decision)})
		}
		began := f.now
		for range rapid.IntRange(1, 60).Draw(rt, "ticks") {
			jump := rapid.OneOf(rapid.Just(int64(10e9)), rapid.Int64Range(0, 2000e9), rapid.Int64Range(-3e16, 3e16)).Draw(rt, "jump")
			f.now = f.now.Add(time.Duration(jump))
			f.give(f.houses[0], anySeen(rt, 64))
		}
		flush(t, db)
		r := reader(t, dir)
		defer r.Close()
		var got []given
		for e, err := range r.Journal(f.houses[0].name, began.AddDate(-99, 0, 0), began.AddDate(99, 0, 0)) {
			if err != nil {
				t.Fatal(err)
			}
			if e.Gap {
				rt.Errorf("a gap before %v", e.Now)
			}
			if e.Mark == nil {
				got = append(got, given{e.Now, e.Seen, e.Digest})
			}
		}
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(given{}), bits); diff != "" {
			rt.Fatalf("(-given +kept):\n%s", diff)
		}
	})
}

// replayed runs the journal of a house through a house again, and returns how many ticks it had.
// Each decision must be the one that was taken.
func replayed(t *testing.T, f *farm, r *history.Reader, h *farmHouse, from, to time.Time) (ticks, marks int) {
	t.Helper()
	var again *house.House
	var zone *time.Location
	for e, err := range r.Journal(h.name, from, to) {
		if err != nil {
			t.Fatal(err)
		}
		if m := e.Mark; m != nil {
			marks++
			var err error
			if zone == nil || zone.String() != m.Zone {
				if zone, err = time.LoadLocation(m.Zone); err != nil {
					t.Fatal(err)
				}
			}
			if text, err := r.SettingsText(m.Hash); err != nil || string(text) != string(f.text) {
				t.Fatalf("settings %s: %d bytes, %v", m.Hash, len(text), err)
			}
			if again == nil || m.Kind != history.Key {
				again = house.Restore(h.s, m.Saved)
			}
			continue
		}
		ticks++
		result := again.Tick(e.Seen, e.Now.In(zone))
		if got := history.Digest(&result.Decision); got != e.Digest || e.Gap {
			t.Fatalf("tick %d at %v: digest %x, was %x, gap %v", ticks, e.Now, got, e.Digest, e.Gap)
		}
	}
	return ticks, marks
}

// TestReplayOfTheJournal runs two days with a restart and a reload, and replays them whole and from
// the key of the second day on.
func TestReplayOfTheJournal(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow", "lower")
	f.every = time.Minute
	began := f.now
	f.run(9 * time.Hour)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	db = open(t, dir)
	f.db = db
	f.begin(history.Started)
	f.run(5 * time.Hour)
	f.begin(history.Reloaded)
	f.run(34 * time.Hour)
	flush(t, db)
	r := reader(t, dir)
	for _, h := range f.houses {
		if ticks, marks := replayed(t, f, r, h, began, f.now.Add(time.Second)); ticks < 2870 || marks != 5 {
			t.Errorf("%s: %d ticks, %d marks", h.name, ticks, marks)
		}
		second := began.Add(30 * time.Hour)
		if ticks, marks := replayed(t, f, r, h, second, f.now.Add(time.Second)); ticks < 18*59 || ticks > 24*60+400 || marks != 2 {
			t.Errorf("%s from the second day's key: %d ticks, %d marks", h.name, ticks, marks)
		}
	}
}

// TestDigestSeesEveryBit changes single fields of a decision.
func TestDigestSeesEveryBit(t *testing.T) {
	var d decide.Decision
	seen := map[uint64]string{history.Digest(&d): "the zero one"}
	for name, change := range map[string]func(){
		"a negative zero":   func() { d.Stores[0].HeatW = math.Copysign(0, -1) },
		"the last store":    func() { d.Stores[decide.MaxStores-1].PowerW = 1 },
		"a stage":           func() { d.Stores[1].Stages[5] = 1 },
		"why a start waits": func() { d.Stores[0].Waiting.Have = 1 },
		"an alarm":          func() { d.Alarms.FanFault = true },
		"the price period":  func() { d.Prices.Period = 1 },
	} {
		d = decide.Decision{}
		change()
		x := history.Digest(&d)
		if other, ok := seen[x]; ok {
			t.Errorf("%s has the digest of %s", name, other)
		}
		seen[x] = name
	}
}
