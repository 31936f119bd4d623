package history_test

import (
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/house"
)

// TestAStretchBeforeTheClockWasSetBack reads two hours after a clock was set back, which may have
// passed before: whatever is replayed without a gap must decide as it was decided.
func TestAStretchBeforeTheClockWasSetBack(t *testing.T) {
	for _, tt := range []struct {
		name        string
		back        time.Duration
		ticks, gaps int // of those two hours; the first tick after the step has no mark before it
	}{
		{"by seconds", 40 * time.Second, 120, 0},
		{"by hours of one day, so that they pass twice", 5 * time.Hour, 120 + 118, 1},
		{"into the day before", 13 * time.Hour, 118, 1},
		{"by years", 3 * 8766 * time.Hour, 118, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			db := open(t, dir)
			f := farmOf(t, db, "lower")
			f.every = time.Minute
			h, began := f.houses[0], f.now
			f.run(6 * time.Hour)
			noon := f.now
			f.now = f.now.Add(-tt.back)
			again := f.now
			f.run(6 * time.Hour)
			flush(t, db)
			r := reader(t, dir)
			defer r.Close()
			if ticks, _ := replayed(t, f, r, h, began.AddDate(-9, 0, 0), noon.Add(24*time.Hour)); ticks != 720 {
				t.Errorf("read whole it has %d ticks, want 720", ticks)
			}
			ticks, gaps := stretch(t, f, r, h, again, again.Add(2*time.Hour))
			if ticks != tt.ticks || gaps != tt.gaps {
				t.Errorf("of the two hours after it %d ticks can be replayed, with %d gaps; want %d and %d", ticks, gaps, tt.ticks, tt.gaps)
			}
		})
	}
}

// stretch replays what can be of a time: from each mark on, to a gap. It counts the ticks whose
// decision came out as it was, and the gaps.
func stretch(t *testing.T, f *farm, r *history.Reader, h *farmHouse, from, to time.Time) (ticks, gaps int) {
	t.Helper()
	var again *house.House
	for e, err := range r.Journal(h.name, from, to) {
		if err != nil {
			t.Fatal(err)
		}
		if e.Gap {
			gaps++
			again = nil
		}
		if m := e.Mark; m != nil {
			if again == nil || m.Kind != history.Key {
				again = house.Restore(h.s, m.Saved)
			}
			continue
		}
		if again == nil {
			continue
		}
		result := again.Tick(e.Seen, e.Now.In(f.now.Location()))
		if got := history.Digest(&result.Decision); got != e.Digest {
			t.Fatalf("the tick at %v decides otherwise: digest %x, was %x", e.Now, got, e.Digest)
		}
		if !e.Now.Before(from) {
			ticks++
		}
	}
	return ticks, gaps
}

// TestOldTicksBetweenNewerOnesGo lets a clock be months behind for an hour, between two that were right.
// That hour goes as its time is old, and what comes after it says that something is missing.
func TestOldTicksBetweenNewerOnesGo(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "lower")
	f.every = time.Minute
	h, began := f.houses[0], f.now
	f.run(4 * time.Hour)
	right := f.now
	f.now = right.AddDate(0, -3, 0)
	f.run(time.Hour)
	f.now = right.Add(time.Hour)
	f.run(4 * time.Hour)
	flush(t, db)
	f.run(24 * time.Hour) // old rows go once a day
	flush(t, db)
	r := reader(t, dir)
	defer r.Close()
	var whole, gaps int
	for e, err := range r.Journal(h.name, began, f.now.Add(time.Second)) {
		if err != nil {
			t.Fatal(err)
		}
		if e.Now.Before(began) && e.Mark == nil {
			t.Fatalf("a tick of %v is still there", e.Now)
		}
		if e.Mark == nil {
			whole++
		}
		if e.Gap {
			gaps++
		}
	}
	if want := 32 * 60; whole != want || gaps != 1 {
		t.Errorf("%d ticks with %d gaps, want %d with one", whole, gaps, want)
	}
	stretch(t, f, r, h, began, f.now)
}
