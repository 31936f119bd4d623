package ledger_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"loambank/controller/ledger"
)

// mounted is a small file system of its own in memory. Without the right to mount, the test is
// skipped.
func mounted(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("ledger-test", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("a small disk of its own cannot be mounted: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil { // also while something is open
			t.Errorf("unmount: %v", err)
		}
	})
	return dir
}

// TestFullDisk fills the disk between two checkpoints.
func TestFullDisk(t *testing.T) {
	dir := mounted(t)
	f, _, _ := open(t, dir)
	save(t, f, stand(1))
	save(t, f, stand(2))
	filler := filepath.Join(dir, "filler")
	file, err := os.Create(filler)
	if err != nil {
		t.Fatal(err)
	}
	for block := bytes.Repeat([]byte("x"), 4096); err == nil; {
		_, err = file.Write(block)
	}
	file.Close()
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatalf("the disk is not full but %v", err)
	}
	for range 3 {
		if _, err := f.Save(stand(3)); !errors.Is(err, syscall.ENOSPC) {
			t.Fatalf("saving on a full disk: %v", err)
		}
		if got := list(t, dir); got != "filler ledger ledger.previous" {
			t.Errorf("left behind: %q", got)
		}
	}
	_, c, notes := open(t, dir)
	wants(t, c, 2)
	if notes.Refused != nil {
		t.Errorf("refused %+v", notes.Refused)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	save(t, f, stand(3))
	put(t, dir, "ledger", nil)
	_, c, _ = open(t, dir)
	wants(t, c, 2)
}

// TestReadOnlyDisk looks at a ledger on a disk that turned read-only, as cards do at their end.
func TestReadOnlyDisk(t *testing.T) {
	dir := mounted(t)
	f, _, _ := open(t, dir)
	save(t, f, stand(1))
	save(t, f, stand(2))
	put(t, dir, "ledger", []byte("torn"))
	remount := func(flags uintptr) {
		t.Helper()
		if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|flags, ""); err != nil {
			t.Fatal(err)
		}
	}
	remount(syscall.MS_RDONLY)
	f, c, notes := open(t, dir)
	wants(t, c, 1)
	if len(notes.Refused) != 1 || notes.Refused[0].KeptAs != "" || !errors.Is(notes.Refused[0].Err, syscall.EROFS) {
		t.Errorf("notes %+v", notes)
	}
	if refused, err := f.Save(stand(3)); !errors.Is(err, syscall.EROFS) {
		t.Errorf("saving: refused %+v, %v", refused, err)
	}
	remount(0)
	if got := list(t, dir); got != "ledger ledger.previous" {
		t.Errorf("files are %q", got)
	}
	refused, err := f.Save(stand(3))
	if err != nil || len(refused) != 1 || refused[0].KeptAs == "" {
		t.Errorf("writable again: refused %+v, %v", refused, err)
	}
	_, c, _ = open(t, dir)
	wants(t, c, 3)
}

// TestDirectoryVanishesAndReturns takes the directory away under an open ledger, brings it back,
// and then an empty one in its place.
func TestDirectoryVanishesAndReturns(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "state")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	f, _, _ := open(t, dir)
	save(t, f, stand(1))
	away := dir + ".away"
	if err := os.Rename(dir, away); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Save(stand(2)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("saving nowhere: %v", err)
	}
	if err := os.Rename(away, dir); err != nil {
		t.Fatal(err)
	}
	save(t, f, stand(2))
	_, c, _ := open(t, dir)
	wants(t, c, 2)

	if err := errors.Join(os.RemoveAll(dir), os.Mkdir(dir, 0o755)); err != nil {
		t.Fatal(err)
	}
	c3 := stand(3)
	c3.Houses = c3.Houses[:1]
	save(t, f, c3)
	_, c, _ = open(t, dir)
	if len(c.Houses) != 2 || c.Houses[1].Account.Name != "upper" {
		t.Errorf("the gone house was lost with the directory: %+v", c)
	}
}

// TestFileThatMayNotBeRead is not a bad one: it is left alone, and nothing starts at zero.
func TestFileThatMayNotBeRead(t *testing.T) {
	for _, name := range []string{"ledger", "ledger.previous"} {
		dir := seq(t, 2)
		f, _, _ := open(t, dir)
		sound := contents(t, dir, name)
		if name == "ledger.previous" {
			put(t, dir, "ledger", []byte("torn"))
		}
		for path, mode := range map[string]os.FileMode{filepath.Dir(dir): 0o755, dir: 0o777, filepath.Join(dir, name): 0} {
			if err := os.Chmod(path, mode); err != nil {
				t.Fatal(err)
			}
		}
		unprivileged(func() {
			if f, _, _, err := ledger.Open(dir, fair); !errors.Is(err, os.ErrPermission) || f != nil {
				t.Errorf("opening without the right to read %s: %v", name, err)
			}
			if got := list(t, dir); got != "ledger ledger.previous" {
				t.Errorf("files are %q", got)
			}
			if _, err := f.Save(stand(3)); !errors.Is(err, os.ErrPermission) {
				t.Errorf("saving without the right to read %s: %v", name, err)
			}
		})
		if err := os.Chmod(filepath.Join(dir, name), 0o644); err != nil {
			t.Fatal(err)
		}
		if got := contents(t, dir, name); !bytes.Equal(got, sound) {
			t.Errorf("%s was touched", name)
		}
	}
}

// unprivileged calls f as a user who may not read everything.
func unprivileged(f func()) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if os.Geteuid() == 0 {
		const nobody = 65534
		syscall.Setfsuid(nobody)
		defer syscall.Setfsuid(0)
	}
	f()
}
