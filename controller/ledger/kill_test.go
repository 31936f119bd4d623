package ledger_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/ledger"
)

// TestMain lets the test program be run as one that saves, or holds the lock, until it is killed.
func TestMain(m *testing.M) {
	switch dir := os.Getenv("LEDGER_TEST_DIR"); os.Getenv("LEDGER_TEST_DOES") {
	case "save":
		saveForEver(dir)
	case "lock":
		holdForEver(dir)
	}
	os.Exit(m.Run())
}

// saveForEver goes on from the last checkpoint and tells of each one that is saved.
func saveForEver(dir string) {
	f, c, _, err := ledger.Open(dir, fair)
	for n := int(c.Unix - fair.Unix()); err == nil; {
		n++
		if _, err = f.Save(at(stand(max(1, n%50)), n)); err == nil {
			fmt.Println(n)
		}
	}
	fmt.Println(err)
	os.Exit(1)
}

// other runs this test program as another process, which the test kills.
func other(t *testing.T, does, dir string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "LEDGER_TEST_DOES="+does, "LEDGER_TEST_DIR="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := cmd.StdinPipe(); err != nil { // it stays open and silent
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	return cmd, bufio.NewScanner(out)
}

// TestKilledWhileSaving kills a program that saves without a pause, twenty times. Each time the
// last checkpoint it told of is there, or a newer one, and nothing was refused.
func TestKilledWhileSaving(t *testing.T) {
	dir := t.TempDir()
	f, _, _ := open(t, dir)
	save(t, f, at(stand(1), 0))
	for k := range 20 {
		cmd, out := other(t, "save", dir)
		told := 0
		for range 2 + k%5 {
			if !out.Scan() {
				t.Fatal("it ended by itself")
			}
			n, err := strconv.Atoi(out.Text())
			if err != nil {
				t.Fatalf("it says %s", out.Text())
			}
			told = n
		}
		cmd.Process.Kill()
		for out.Scan() {
			told++ // it may have got further until the kill reached it
		}
		cmd.Wait()
		c, notes, err := ledger.Load(dir)
		if err != nil || notes.From != "ledger" || notes.Refused != nil || c.Unix-fair.Unix() < int64(told) {
			t.Fatalf("it told of checkpoint %d; found %d: %+v, %v", told, c.Unix-fair.Unix(), notes, err)
		}
	}
	f, c, _ := open(t, dir)
	save(t, f, at(*c, 1e6))
	if got := list(t, dir); got != "ledger ledger.previous" {
		t.Errorf("what the killed ones left is still there: %q", got)
	}
}

// TestKilledBetweenSteps makes the directory that a kill after each step of a checkpoint leaves:
// checkpoints 1 and 2 were there, 3 was on its way.
func TestKilledBetweenSteps(t *testing.T) {
	third := contents(t, seq(t, 3), "ledger")
	link := func(from, to string) func(string) {
		return func(dir string) {
			if err := os.Link(filepath.Join(dir, from), filepath.Join(dir, to)); err != nil {
				t.Fatal(err)
			}
		}
	}
	rename := func(from, to string) func(string) {
		return func(dir string) {
			if err := os.Rename(filepath.Join(dir, from), filepath.Join(dir, to)); err != nil {
				t.Fatal(err)
			}
		}
	}
	write := func(data []byte) func(string) {
		return func(dir string) { put(t, dir, ".ledger4711", data) }
	}
	steps := []struct {
		name string
		does func(dir string)
		n    int
	}{
		{"the new file is there, empty", write(nil), 2},
		{"half of it is written", write(third[:len(third)/2]), 2},
		{"it is whole", write(third), 2},
		{"the last one has a third name", link("ledger", ".ledger.link"), 2},
		{"the last one is also the previous", rename(".ledger.link", "ledger.previous"), 2},
		{"the new one is the last", rename(".ledger4711", "ledger"), 3},
	}
	for k := range steps {
		t.Run(steps[k].name, func(t *testing.T) {
			dir := seq(t, 2)
			for _, step := range steps[:k+1] {
				step.does(dir)
			}
			for range 2 { // the second time as if it had been killed again at once
				_, c, notes := open(t, dir)
				wants(t, c, steps[k].n)
				if diff := cmp.Diff(ledger.Notes{From: "ledger"}, notes); diff != "" {
					t.Errorf("notes (-want +got):\n%s", diff)
				}
			}
			f, _, _ := open(t, dir)
			save(t, f, stand(4))
			save(t, f, stand(5))
			if got := list(t, dir); got != "ledger ledger.previous" {
				t.Errorf("left behind: %q", got)
			}
			put(t, dir, "ledger", nil)
			_, c, _ := open(t, dir)
			wants(t, c, 4)
		})
	}
}

// TestKilledWhileSettingAside: the bad one is away, nothing has come in its place.
func TestKilledWhileSettingAside(t *testing.T) {
	dir := seq(t, 2)
	if err := os.Rename(filepath.Join(dir, "ledger"), filepath.Join(dir, "ledger.bad-20261125T101500Z")); err != nil {
		t.Fatal(err)
	}
	f, c, _ := open(t, dir)
	wants(t, c, 1)
	save(t, f, stand(3))
	put(t, dir, "ledger", nil)
	_, c, _ = open(t, dir)
	wants(t, c, 1)
}

// TestReadersSeeWholeCheckpoints looks all the time while another goroutine saves.
func TestReadersSeeWholeCheckpoints(t *testing.T) {
	dir := seq(t, 1)
	f, _, _ := open(t, dir)
	done := make(chan error, 1)
	go func() {
		var err error
		for n := 2; n < 40 && err == nil; n++ {
			_, err = f.Save(stand(n))
		}
		done <- err
	}()
	last := int64(0)
	for {
		c, notes, err := ledger.Load(dir)
		if err != nil || notes.From != "ledger" || notes.Refused != nil {
			t.Fatalf("%+v, %v", notes, err)
		}
		if c.Unix < last {
			t.Fatalf("checkpoint %d after %d", c.Unix, last)
		}
		last = c.Unix
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			return
		default:
		}
	}
}

func TestLock(t *testing.T) {
	dir := t.TempDir()
	release, err := ledger.Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ledger.Lock(dir); !errors.Is(err, ledger.ErrHeld) || !strings.Contains(err.Error(), dir) {
		t.Errorf("a second time: %v", err)
	}
	if _, err := ledger.Lock(t.TempDir()); err != nil {
		t.Errorf("another directory: %v", err)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	release, err = ledger.Lock(dir)
	if err != nil {
		t.Fatalf("after its release: %v", err)
	}
	if err := errors.Join(release(), release()); err != nil {
		t.Errorf("released twice: %v", err)
	}
	if _, err := ledger.Lock(filepath.Join(dir, "none")); err == nil || errors.Is(err, ledger.ErrHeld) {
		t.Errorf("a directory that is not there: %v", err)
	}
}

// holdForEver takes the lock, says so and waits to be killed.
func holdForEver(dir string) {
	release, err := ledger.Lock(dir)
	fmt.Println("held", err)
	bufio.NewReader(os.Stdin).ReadString('\n') // which never comes
	release()
	os.Exit(1)
}

// TestLockOfAnotherProcess holds it there, then kills that process: what is left of the lock is
// no obstacle.
func TestLockOfAnotherProcess(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "lock", []byte("left from before"))
	cmd, out := other(t, "lock", dir)
	if !out.Scan() || !bytes.Equal(out.Bytes(), []byte("held <nil>")) {
		t.Fatalf("it says %q", out.Text())
	}
	if _, err := ledger.Lock(dir); !errors.Is(err, ledger.ErrHeld) {
		t.Errorf("held elsewhere: %v", err)
	}
	cmd.Process.Kill()
	cmd.Wait()
	if _, err := ledger.Lock(dir); err != nil {
		t.Errorf("after it was killed: %v", err)
	}
}

// at is a checkpoint taken n seconds after the fair began.
func at(c ledger.Checkpoint, n int) ledger.Checkpoint {
	c.Unix = fair.Unix() + int64(n)
	return c
}
