package history_test

import (
	"os"
	"runtime"
	"testing"
	"time"
)

// TestTenYearsAreReadInAFewDaysMemory ticks a house every four hours for ten years and a half, and
// reads them while a daemon still has the file.
func TestTenYearsAreReadInAFewDaysMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("ten years take some seconds")
	}
	dir, err := os.MkdirTemp("/dev/shm", "loambank") // each of the many commits waits for a disk
	if err != nil {
		t.Skipf("this machine has no folder in memory: %v", err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	db := open(t, dir)
	f := farmOf(t, db, "lower")
	f.every = 4 * time.Hour
	begin := f.now
	for range 126 { // months; a queue that is not waited for drops ticks
		f.run(30 * 24 * time.Hour)
		flush(t, db)
	}
	if s := db.Status(); s.Dropped != 0 || s.Lost != 0 {
		t.Fatalf("status %+v", s)
	}
	r := reader(t, dir)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	samples, most := 0, uint64(0)
	var first, last time.Time
	steps := map[int]int{}
	for s, err := range r.Samples("lower", begin, f.now) {
		if err != nil {
			t.Fatal(err)
		}
		if samples == 0 {
			first = s.At
		}
		if s.At.Before(last) {
			t.Fatalf("%v comes after %v", s.At, last)
		}
		last = s.At
		steps[s.StepS]++
		if samples++; samples%2000 == 0 {
			runtime.GC()
			runtime.ReadMemStats(&after)
			most = max(most, after.HeapAlloc)
		}
	}
	if want := f.now.AddDate(0, 0, -3653); first.Before(want.AddDate(0, 0, -5)) || first.After(want.AddDate(0, 0, 5)) {
		t.Errorf("the first sample is of %v, ten years are kept from %v", first, f.now)
	}
	if samples < 20000 || steps[3600] < 15000 || steps[900] == 0 || steps[60] == 0 {
		t.Errorf("%d samples by step %v", samples, steps)
	}
	if grown := int64(most) - int64(before.HeapAlloc); grown > 4<<20 {
		t.Errorf("reading takes %d bytes", grown)
	}
	if totals, err := r.TotalsBefore("lower", begin.AddDate(3, 0, 0)); err != nil || totals == nil || len(totals.Stores) == 0 {
		t.Errorf("the counters of seven years ago: %v, %v", totals, err)
	}
	if totals, err := r.TotalsBefore("lower", begin.AddDate(-1, 0, 0)); err != nil || totals != nil {
		t.Errorf("counters of before the beginning: %v, %v", totals, err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}
