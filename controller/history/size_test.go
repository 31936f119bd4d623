package history_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// bytesOnDisk is what the files of a history take.
func bytesOnDisk(t testing.TB, dir string) (n int64) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		n += info.Size()
	}
	return n
}

// written is what this process sent to the block layer, by the kernel's account.
func bytesWritten(t testing.TB) (n int64) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/io")
	if err != nil {
		t.Skip(err)
	}
	_, after, _ := strings.Cut(string(text), "\nwrite_bytes: ")
	if _, err := fmt.Sscan(after, &n); err != nil {
		t.Fatal(err)
	}
	return n
}

// TestBytesADay writes three days of three houses and wants the last two under 5 MB each (4.5 were measured on ext4), by the
// kernel's account of what went to the disk, or by the files' sizes where that is none.
func TestBytesADay(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "Fern Hollow", "lower", "upper")
	f.run(24 * time.Hour)
	flush(t, db)
	before, size := bytesWritten(t), bytesOnDisk(t, dir)
	f.run(48 * time.Hour)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if s := db.Status(); s.Dropped != 0 || s.Lost != 0 {
		t.Fatalf("status %+v", s)
	}
	perDay := float64(bytesWritten(t)-before) / 2e6
	t.Logf("%.2f MB written a day; the files are %.2f MB after one day, %.2f after three",
		perDay, float64(size)/1e6, float64(bytesOnDisk(t, dir))/1e6)
	if perDay > 5 {
		t.Errorf("%.2f MB written a day; 5 are allowed", perDay)
	}
	if info, err := os.Stat(filepath.Join(dir, "history.db")); err != nil || info.Size() > 3<<20*3 {
		t.Errorf("the file is %v, %v", info, err)
	}
}
