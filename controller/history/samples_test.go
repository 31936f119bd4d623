package history_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// sums is what a period should be, added up by the test.
type sums struct {
	ticks, on int
	n         int
	sum       float64
	min, max  float64
}

// TestSamplesAreMeans adds up five hours of a farm by itself: what is read back is that, at each
// step, and the totals are those of the account.
func TestSamplesAreMeans(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow", "lower")
	want := map[int64]*sums{}
	f.each = func(h *farmHouse, now time.Time, _ *house.Seen, result *house.Result) {
		if h.name != "lower" {
			return
		}
		at := now.Unix() - now.Unix()%60
		if want[at] == nil {
			want[at] = &sums{min: math.Inf(1), max: math.Inf(-1)}
		}
		s := want[at]
		s.ticks++
		if result.Decision.Stores[0].Running() {
			s.on++
		}
		if v := result.Verdicts[3]; v.Quality.Usable() {
			s.n++
			s.sum += v.Value
			s.min, s.max = min(s.min, v.Value), max(s.max, v.Value)
		}
	}
	began := f.now
	f.run(2 * time.Hour)
	flush(t, db) // in the middle of a minute
	f.run(3 * time.Hour)
	flush(t, db)
	ran := false
	got := all(t, reader(t, dir).Samples("lower", began.Add(-time.Hour), f.now.Add(time.Hour)))
	if len(got) != len(want) || len(got) < 300 {
		t.Fatalf("%d minutes, %d were", len(got), len(want))
	}
	for i, s := range got {
		w, p := want[s.At.Unix()], s.Probes[3]
		if w == nil || i > 0 && !s.At.After(got[i-1].At) || s.StepS != 60 || s.Totals != nil || s.Layout.Probes[3] != "damp" {
			t.Fatalf("minute %d is %+v", i, s)
		}
		off := max(math.Abs(p.Mean-w.sum/float64(w.n)), math.Abs(p.Min-w.min), math.Abs(p.Max-w.max))
		onS := 60 * float64(w.on) / float64(w.ticks)
		if s.Ticks != w.ticks || off > 0.5001e-3 || math.Abs(s.Stores[0].OnS-onS) > 1e-9 || p.Share != float64(w.n)/float64(w.ticks) {
			t.Errorf("minute %v: %+v, should be %+v", s.At, s, w)
		}
		ran = ran || s.Stores[0].Stages != [decide.MaxFans]uint8{} && s.Stores[0].State != decide.Rest
	}
	if !ran {
		t.Error("no fan ever ran: such a day proves nothing")
	}
}

// TestSamplesAtTheFinestKeptStep lets time pass until minutes, then quarters are gone: each day
// comes at what is left of it.
func TestSamplesAtTheFinestKeptStep(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.every = 5 * time.Minute
	began := f.now
	f.run(36 * time.Hour)
	account := f.houses[0].account.Clone()
	end := f.now
	step := func(later time.Duration) map[int]int {
		t.Helper()
		f.now = began.Add(later)
		for range 4 { // a day's pruning each
			f.now = f.now.Add(24 * time.Hour)
			f.run(time.Hour)
			flush(t, db)
		}
		steps := map[int]int{}
		ticks := 0
		for _, s := range all(t, reader(t, dir).Samples("Fern Hollow", began, end.Add(time.Second))) {
			steps[s.StepS]++
			ticks += s.Ticks
			if s.Totals != nil && s.At.Add(time.Hour).After(end) {
				if diff := math.Abs(s.Totals.Stores[0].EnergyKWh - account.Stores[0].Fans[0].EnergyKWh - account.Stores[0].Fans[1].EnergyKWh); diff > 0.00051 {
					t.Errorf("totals %+v of account %+v", s.Totals, account)
				}
			}
		}
		if ticks < 36*12-12 || ticks > 36*12+1 {
			t.Errorf("after %v: %d ticks of 36 hours", later, ticks)
		}
		return steps
	}
	const day = 24 * time.Hour
	for _, c := range []struct {
		name  string
		later time.Duration
		step  int
		n     int
	}{
		{"minutes stand for 35 days", 30 * day, 60, 430},
		{"quarters for two years", 40 * day, 900, 144},
		{"hours for ten years", 740 * day, 3600, 36},
		{"hours for ten years still", 3600 * day, 3600, 36},
	} {
		if steps := step(c.later); len(steps) != 1 || steps[c.step] < c.n || steps[c.step] > c.n+2 {
			t.Errorf("%s: periods by step %v", c.name, steps)
		}
	}
	r := reader(t, dir)
	for e := range r.Journal("Fern Hollow", began, end) {
		t.Fatalf("the journal still has %+v", e)
	}
	if d := all(t, r.Decisions("Fern Hollow", began, end)); len(d) < 2 {
		t.Errorf("%d decisions are left", len(d))
	}
}

// TestDecisionsOnChange compares with the changes that the test sees itself.
func TestDecisionsOnChange(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	var want, before []decide.StoreDecision
	var times []time.Time
	f.each = func(_ *farmHouse, now time.Time, _ *house.Seen, result *house.Result) {
		stores := append([]decide.StoreDecision(nil), result.Decision.Stores[:2]...)
		same := before != nil
		for i := range before {
			a, b := before[i], stores[i]
			same = same && a.State == b.State && a.Reason.Code == b.Reason.Code && a.Waiting.Code == b.Waiting.Code && a.Stages == b.Stages
		}
		if before = stores; !same {
			want, times = append(want, stores...), append(times, now.UTC())
		}
	}
	began := f.now
	f.run(12 * time.Hour)
	flush(t, db)
	var got []decide.StoreDecision
	for i, d := range all(t, reader(t, dir).Decisions("Fern Hollow", began, f.now.Add(time.Second))) {
		if i >= len(times) || !d.At.Equal(times[i]) || d.Layout.Stores[1].Fans[0] != "north" {
			t.Fatalf("decision %d: %+v", i, d)
		}
		got = append(got, d.Stores...)
	}
	rounded := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 0.51 })
	degrees := cmp.Comparer(func(a, b unit.Celsius) bool { return math.Abs(float64(a-b)) <= 0.501e-3 })
	for i := range want {
		want[i].LatentW, want[i].CondensateKgS = 0, 0
	}
	if diff := cmp.Diff(want, got, rounded, degrees); diff != "" || len(want) < 10 {
		t.Errorf("%d changes (-seen +kept):\n%s", len(want), diff)
	}
}

// TestClockBackByAYear keeps both times apart, and the journal in the order in which it happened.
func TestClockBackByAYear(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.every = time.Minute
	began := f.now
	f.run(3 * time.Hour)
	f.now = f.now.AddDate(-1, 0, 0)
	back := f.now
	f.run(3 * time.Hour)
	flush(t, db)
	r := reader(t, dir)
	count := func(from time.Time) (ticks int) {
		for _, s := range all(t, r.Samples("Fern Hollow", from.Add(-time.Hour), from.Add(5*time.Hour))) {
			ticks += s.Ticks
		}
		return ticks
	}
	if then, now := count(back), count(began); then != 180 || now != 180 {
		t.Errorf("%d ticks a year ago, %d now", then, now)
	}
	if ticks, _ := replayed(t, f, r, f.houses[0], back.AddDate(-1, 0, 0), began.AddDate(1, 0, 0)); ticks != 360 {
		t.Errorf("%d ticks replayed", ticks)
	}
	f.now = began.Add(time.Hour) // the same hours once more: what lay a year back is old now
	f.run(time.Hour)
	flush(t, db)
	if then, now := count(back), count(began); then != 180 || now != 240 {
		t.Errorf("%d ticks a year ago, %d now", then, now)
	}
}

// TestUnbelievedClockPrunesNothing is a board that wakes in the far future, and does not believe it.
func TestUnbelievedClockPrunesNothing(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.every = time.Minute
	began := f.now
	f.run(time.Hour)
	flush(t, db)
	f.now = f.now.AddDate(30, 0, 0)
	for range 3 {
		f.now = f.now.AddDate(0, 0, 1)
		f.give(f.houses[0], house.Seen{StepS: 60, Raw: []judge.Raw{{Value: 7, OK: true}}})
		flush(t, db)
	}
	if n := len(all(t, reader(t, dir).Samples("Fern Hollow", began, began.Add(2*time.Hour)))); n < 60 {
		t.Errorf("%d minutes are left", n)
	}
}

func TestNotes(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.run(time.Minute)
	want := []history.Note{
		{At: f.now.UTC(), House: "Fern Hollow", Kind: history.HandNote, UID: 1000, User: "ada", Text: "beds: off for 3600 s"},
		{At: f.now.Add(time.Second).UTC(), House: "Fern Hollow", Kind: history.FaultNote, Text: "fan east does not start"},
	}
	for _, n := range want {
		db.Note(n)
	}
	flush(t, db)
	r := reader(t, dir)
	if diff := cmp.Diff(want, all(t, r.Notes(f.now, f.now.Add(time.Hour)))); diff != "" {
		t.Errorf("(-given +kept):\n%s", diff)
	}
	if n := all(t, r.Notes(f.now.Add(time.Second), f.now.Add(time.Hour))); len(n) != 1 {
		t.Errorf("from the second on: %+v", n)
	}
}
