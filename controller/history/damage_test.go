package history_test

import (
	"bytes"
	"database/sql"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"loambank/controller/history"
)

// written is a directory with two hours of a house. closed says whether its writer ended well, or
// left its log behind as a kill does.
func written(t *testing.T, closed bool) (dir string, f *farm, began time.Time) {
	t.Helper()
	dir = t.TempDir()
	db := open(t, dir)
	f = farmOf(t, db, "Fern Hollow")
	began = f.now
	f.run(2 * time.Hour)
	flush(t, db)
	if closed {
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		return dir, f, began
	}
	copied := t.TempDir()
	for _, name := range []string{"history.db", "history.db-wal"} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(copied, name), data)
	}
	return copied, f, began
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// goesOn opens whatever is in dir, writes an hour, reads it back, and returns what Open noted and
// the ticks of before that are still there.
func goesOn(t *testing.T, dir string, began time.Time) (notes history.Notes, before int) {
	t.Helper()
	db, notes, err := history.Open(dir, november(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	f := farmOf(t, db, "Fern Hollow")
	f.now = began.AddDate(0, 0, 2)
	f.begin(history.Started)
	from := f.now
	f.run(time.Hour)
	flush(t, db)
	r := reader(t, dir)
	defer r.Close()
	if n, _ := replayed(t, f, r, f.houses[0], from, f.now.Add(time.Second)); n != 360 && n != 359 {
		t.Fatalf("%d ticks of the hour after", n)
	}
	for e, err := range r.Journal("Fern Hollow", began.Add(-time.Hour), from) {
		if err == nil && e.Mark == nil {
			before++
		}
	}
	for s, err := range r.Samples("Fern Hollow", began.Add(-time.Hour), from) {
		if err == nil && (s.Ticks < 1 || s.Ticks > 90) {
			t.Fatalf("a sample that never was: %+v", s)
		}
	}
	return notes, before
}

// execute runs statements on a file as another program would.
func execute(statements ...string) func(t *testing.T, path string) {
	return func(t *testing.T, path string) {
		t.Helper()
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		for _, s := range statements {
			if _, err := db.Exec(s); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// TestWhatCannotBeGoneOnWith is moved aside with all that belongs to it, and kept as it was.
func TestWhatCannotBeGoneOnWith(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, path string)
		is    error
	}{
		{"a newer schema", execute("PRAGMA user_version = 3"), history.ErrSchema},
		{"another program's database", execute("PRAGMA application_id = 7"), nil},
		{"a table is missing", execute("DROP TABLE hour"), nil},
		{"a text file", func(t *testing.T, path string) { put(t, path, bytes.Repeat([]byte("no database\n"), 999)) }, nil},
		{"torn in the first page", func(t *testing.T, path string) {
			if err := os.Truncate(path, 1000); err != nil {
				t.Fatal(err)
			}
		}, nil},
		{"torn in the middle", func(t *testing.T, path string) {
			if err := os.Truncate(path, 20480); err != nil {
				t.Fatal(err)
			}
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, _, began := written(t, true)
			path := filepath.Join(dir, "history.db")
			c.spoil(t, path)
			was, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			notes, before := goesOn(t, dir, began)
			if len(notes.Aside) != 1 || before != 0 || c.is != nil && !errors.Is(notes.Aside[0].Err, c.is) {
				t.Fatalf("notes %+v, %d ticks of before", notes, before)
			}
			kept := notes.Aside[0].KeptAs
			if is, err := os.ReadFile(filepath.Join(dir, kept)); err != nil || !bytes.Equal(is, was) || !strings.HasPrefix(kept, "history.db.damaged-2026") {
				t.Errorf("%s is %d bytes, it was %d: %v", kept, len(is), len(was), err)
			}
			if notes, _ := goesOn(t, dir, began); notes.Aside != nil {
				t.Errorf("the next start: %+v", notes)
			}
		})
	}
}

// TestEmptyFile is what a power cut leaves of a new one.
func TestEmptyFile(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "history.db"), nil)
	if notes, _ := goesOn(t, dir, november(t)); notes.Aside != nil {
		t.Errorf("notes %+v", notes)
	}
}

// TestFlippedAndTorn spoils the file or its log at random. Whatever is found, the program goes on,
// and what is read back is what was written.
func TestFlippedAndTorn(t *testing.T) {
	sound, _, began := written(t, false)
	random := rand.New(rand.NewPCG(7, 8))
	whole := 0
	for k := range 24 {
		dir := t.TempDir()
		for _, name := range []string{"history.db", "history.db-wal"} {
			data, err := os.ReadFile(filepath.Join(sound, name))
			if err != nil {
				t.Fatal(err)
			}
			if spoil := k%2 == 0 == (name == "history.db"); spoil && k%4 < 2 {
				for range 1 + random.IntN(8) {
					data[random.IntN(len(data))] ^= byte(1 << random.IntN(8))
				}
			} else if spoil {
				data = data[:random.IntN(len(data))]
			}
			put(t, filepath.Join(dir, name), data)
		}
		if _, before := goesOn(t, dir, began); before > 720 {
			t.Fatalf("trial %d: %d ticks of two hours", k, before)
		} else if before > 700 {
			whole++
		}
	}
	t.Logf("%d of 24 spoilt histories were whole", whole)
}

// mounted is a small file system of its own in memory. Without the right to mount, the test is
// skipped.
func mounted(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("history-test", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("a small disk of its own cannot be mounted: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil { // also while something is open
			t.Errorf("unmount: %v", err)
		}
	})
	return dir
}

// TestFullDisk fills the disk while a house ticks. Nothing that was flushed is lost, and when there
// is room again what waited is written.
func TestFullDisk(t *testing.T) {
	dir := mounted(t, "2m")
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	began := f.now
	f.run(time.Hour)
	flush(t, db)
	filler := filepath.Join(dir, "filler")
	file, err := os.Create(filler)
	if err != nil {
		t.Fatal(err)
	}
	for block := make([]byte, 512); err == nil; {
		_, err = file.Write(block)
	}
	file.Close()
	f.run(3 * time.Hour)
	if err := db.Flush(); err == nil {
		t.Fatal("flushed onto a full disk")
	}
	if s := db.Status(); s.LastError == "" || s.Lost != 0 || s.Damaged != 0 {
		t.Errorf("status %+v", s)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	flush(t, db)
	if n, _ := replayed(t, f, reader(t, dir), f.houses[0], began, f.now.Add(time.Second)); n < 4*359 {
		t.Errorf("%d ticks of four hours", n)
	}
	if s := db.Status(); s.LastError != "" || !s.LastCommit.Equal(f.now) {
		t.Errorf("status %+v at %v", s, f.now)
	}
}

// TestFullForLong bounds what waits: the oldest is lost, and counted.
func TestFullForLong(t *testing.T) {
	dir := mounted(t, "400k")
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.every = time.Minute
	f.run(72 * time.Hour)
	db.Flush()
	if s := db.Status(); s.Lost == 0 || s.LastError == "" || s.Dropped != 0 {
		t.Errorf("status %+v", s)
	}
}

// TestFileTakenAway removes the file, then the whole directory, under an open history.
func TestFileTakenAway(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "state")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.run(time.Hour)
	flush(t, db)
	if err := errors.Join(os.RemoveAll(dir), os.Mkdir(dir, 0o755)); err != nil {
		t.Fatal(err)
	}
	f.run(time.Hour)
	flush(t, db)
	f.tick()
	from := f.now // the key that was asked for stands before this tick
	f.run(time.Hour)
	flush(t, db)
	if n, marks := replayed(t, f, reader(t, dir), f.houses[0], from, f.now.Add(time.Second)); n < 359 || marks == 0 {
		t.Errorf("%d ticks, %d marks in the new file", n, marks)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	f.run(time.Hour)
	if err := db.Flush(); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("flushed nowhere: %v", err)
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	flush(t, db)
	if n := len(all(t, reader(t, dir).Samples("Fern Hollow", from, f.now.Add(time.Hour)))); n < 60 {
		t.Errorf("%d samples of the hour without a directory", n)
	}
}

// TestTurnsBadInUse takes a table out of the open file: it is set aside and a new one goes on.
func TestTurnsBadInUse(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	f.run(time.Hour)
	flush(t, db)
	execute("DROP TABLE journal")(t, filepath.Join(dir, "history.db"))
	f.run(time.Hour)
	flush(t, db)
	if s := db.Status(); s.Damaged != 1 || s.LastError != "" || s.Lost != 0 {
		t.Errorf("status %+v", s)
	}
	f.tick()
	from := f.now
	f.run(time.Hour)
	flush(t, db)
	if n, _ := replayed(t, f, reader(t, dir), f.houses[0], from, f.now.Add(time.Second)); n < 359 {
		t.Errorf("%d ticks in the new file", n)
	}
	if kept, err := filepath.Glob(filepath.Join(dir, "history.db.damaged-20261125T*Z")); len(kept) != 1 {
		t.Errorf("set aside: %q, %v", kept, err)
	}
}

// TestNoDirectory is an error that says so, and OpenReader's says that there is nothing.
func TestNoDirectory(t *testing.T) {
	if _, _, err := history.Open(filepath.Join(t.TempDir(), "none"), november(t), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("open: %v", err)
	}
	if _, err := history.OpenReader(t.TempDir()); !errors.Is(err, history.ErrNone) {
		t.Errorf("reader: %v", err)
	}
}
