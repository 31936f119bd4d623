package history_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/house"
)

// v1 is a history of schema 1 with half an hour of a house, written by the first program that kept
// one. It is never written anew.
const v1 = "testdata/history-v1.db"

func oldOne(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile(v1)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	put(t, filepath.Join(dir, "history.db"), data)
	return dir
}

// content counts what a reader finds of the golden house.
func content(t *testing.T, dir string) (minutes, ticks, decisions, notes int) {
	t.Helper()
	r := reader(t, dir)
	defer r.Close()
	from := november(t).Add(-time.Hour)
	to := from.Add(3 * time.Hour)
	minutes, decisions = len(all(t, r.Samples("Fern Hollow", from, to))), len(all(t, r.Decisions("Fern Hollow", from, to)))
	for _, e := range all(t, r.Journal("Fern Hollow", from, to)) {
		if e.Mark == nil {
			ticks++
		}
	}
	if r.Damaged() != 0 {
		t.Errorf("%d rows damaged", r.Damaged())
	}
	return minutes, ticks, decisions, len(all(t, r.Notes(from, to)))
}

// TestSchemaOne is read as it is, then brought to the newest schema with all that is in it.
func TestSchemaOne(t *testing.T) {
	dir := oldOne(t)
	minutes, ticks, decisions, notes := content(t, dir)
	if minutes < 30 || ticks < 178 || decisions < 1 || notes != 0 {
		t.Fatalf("%d minutes, %d ticks, %d decisions, %d notes", minutes, ticks, decisions, notes)
	}
	db := open(t, dir)
	db.Note(history.Note{At: november(t), House: "Fern Hollow", Text: "beds: auto"})
	flush(t, db)
	m, k, d, n := content(t, dir)
	if m != minutes || k != ticks || d != decisions || n != 1 {
		t.Errorf("after the migration %d minutes, %d ticks, %d decisions, %d notes", m, k, d, n)
	}
}

// TestFullQueue drops whole ticks, counts them, says that a key is wanted, and marks the gap.
func TestFullQueue(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	h, began := f.houses[0], f.now
	f.run(time.Minute)
	flush(t, db)
	release := db.Stall()
	wants := false
	const over = 9
	for range history.Queued + over {
		f.now = f.now.Add(10 * time.Second)
		seen := house.Seen{StepS: 10, Believed: true, Raw: f.readings(h)}
		result := h.house.Tick(seen, f.now)
		wants = db.Record(h.name, f.now, &seen, &result, h.account)
	}
	if s := db.Status(); s.Dropped != over || !wants {
		t.Errorf("status %+v, wants a key: %v", s, wants)
	}
	db.Note(history.Note{At: f.now, Text: "lost"})
	if s := db.Status(); s.Lost != 1 {
		t.Errorf("status %+v", s)
	}
	release()
	flush(t, db)
	h.wantsKey = wants
	f.run(time.Minute)
	flush(t, db)
	gaps, ticks := 0, 0
	for _, e := range all(t, reader(t, dir).Journal(h.name, began, f.now.Add(time.Second))) {
		if e.Mark == nil {
			ticks++
		}
		if e.Gap {
			gaps++
			if e.Mark == nil || e.Mark.Kind != history.Key {
				t.Errorf("the gap is before %+v", e)
			}
		}
	}
	if gaps != 1 || ticks != history.Queued+12 {
		t.Errorf("%d gaps, %d ticks", gaps, ticks)
	}
}

// TestAfterClose records nothing and hangs nowhere.
func TestAfterClose(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.run(time.Minute)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f.run(time.Minute)
	if err := db.Flush(); err == nil {
		t.Error("flushed when closed")
	}
	if err := db.Close(); err != nil {
		t.Error(err)
	}
	if s := db.Status(); s.Dropped == 0 {
		t.Errorf("status %+v", s)
	}
}
