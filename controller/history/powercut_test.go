package history_test

import (
	"bytes"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// onDisk is what the files of a history held at some instant.
type onDisk struct{ db, wal []byte }

func lookAt(t *testing.T, dir string) (d onDisk) {
	t.Helper()
	var err error
	if d.db, err = os.ReadFile(filepath.Join(dir, "history.db")); err != nil {
		t.Fatal(err)
	}
	if d.wal, err = os.ReadFile(filepath.Join(dir, "history.db-wal")); err != nil {
		t.Fatal(err)
	}
	return d
}

// torn is what a power cut leaves while was turns into now: each sector the one or the other, in any
// order, and the length of either or between. What was there before and is the same in both stays.
func torn(chance *rand.Rand, was, now []byte, sector int) []byte {
	length := len(was)
	if more := len(now) - len(was); more > 0 {
		length += chance.IntN(more + 1)
	}
	left := make([]byte, length)
	copy(left, was)
	likely := chance.Float64()
	for at := 0; at < length; at += sector {
		if end := min(at+sector, length); chance.Float64() < likely {
			copy(left[at:end], now[at:])
		}
	}
	return left
}

// TestThePowerFailsWhileHistoryIsWritten cuts the power within a commit, and within the writing of
// the log into the database: what was committed before is there, the commit is there whole or not at
// all, nothing is set aside, and the next writer goes on. SQLite's files are taken between commits
// and torn here; its own writes are not stopped one by one.
func TestThePowerFailsWhileHistoryIsWritten(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow")
	began := f.now
	ticks := func() (n int) {
		r := reader(t, dir)
		defer r.Close()
		for e, err := range r.Journal("Fern Hollow", began.Add(-time.Hour), f.now.Add(time.Hour)) {
			if err != nil {
				t.Fatal(err)
			}
			if e.Mark == nil {
				n++
			}
		}
		return n
	}
	f.run(2 * time.Hour)
	flush(t, db)
	before, first := ticks(), lookAt(t, dir)
	f.run(40 * time.Minute)
	flush(t, db)
	after, second := ticks(), lookAt(t, dir)
	if !bytes.Equal(first.db, second.db) || !bytes.HasPrefix(second.wal, first.wal) || before >= after {
		t.Fatalf("the commit did more than lengthen the log, or nothing: %d bytes to %d, %d ticks to %d", len(first.wal), len(second.wal), before, after)
	}
	third := folded(t, second)

	chance := rand.New(rand.NewPCG(20, 26))
	seen := map[int]int{}
	for k := range 40 {
		sector := []int{512, 4096}[k%2]
		left, least := onDisk{first.db, torn(chance, first.wal, second.wal, sector)}, before
		if k%4 > 1 {
			left, least = onDisk{torn(chance, second.db, third.db, sector), second.wal}, after
		}
		t.Run(fmt.Sprintf("cut %d, sectors of %d bytes", k, sector), func(t *testing.T) {
			dir := t.TempDir()
			put(t, filepath.Join(dir, "history.db"), left.db)
			put(t, filepath.Join(dir, "history.db-wal"), left.wal)
			notes, n := goesOn(t, dir, began)
			if n != least && n != after || len(notes.Aside) > 0 {
				t.Errorf("%d ticks are left, %d were committed and %d on their way; set aside: %v", n, least, after, notes.Aside)
			}
			seen[n]++
		})
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(second.db, third.db) || len(seen) != 2 {
		t.Errorf("nothing is proven: outcomes %v", seen)
	}
}

// folded is a history once its log was written into its database.
func folded(t *testing.T, d onDisk) onDisk {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(dir, "history.db")
	put(t, path, d.db)
	put(t, path+"-wal", d.wal)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("PRAGMA wal_checkpoint(FULL)"); err != nil {
		t.Fatal(err)
	}
	d = lookAt(t, dir)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return d
}
