package ledger

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// TestWithoutHardLinks saves where the file system refuses links, as that of many cards does.
func TestWithoutHardLinks(t *testing.T) {
	dir := t.TempDir()
	f, _, _, err := Open(dir, time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	f.link = func(oldname, newname string) error {
		tried++
		if _, err := os.Stat(oldname); err != nil {
			return err
		}
		return &os.LinkError{Op: "link", Old: oldname, New: newname, Err: syscall.EPERM}
	}
	for n := range int64(3) {
		if _, err := f.Save(Checkpoint{Unix: n + 1}); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range map[string]int64{current: 3, previous: 2} {
		if c, err := read(dir, name); err != nil || c.Unix != want {
			t.Errorf("%s holds %+v, %v; want checkpoint %d", name, c, err, want)
		}
	}
	if names, err := f.names(""); err != nil || len(names) != 2 || tried != 3 {
		t.Errorf("files %v, %v after %d links tried", names, err, tried)
	}
	info, err := os.Stat(filepath.Join(dir, previous))
	if err != nil || info.Mode().Perm() != filePerm {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}
