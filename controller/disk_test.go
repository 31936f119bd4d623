package controller

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
)

// obstacle is something that keeps the state directory from being written, and how it goes.
type obstacle struct {
	name    string
	put     func(*ground)
	take    func(*ground)
	mounted bool // it takes a file system of its own
	when    when
}

// when is at which times an obstacle can be put in the way.
type when uint8

const (
	always  when = iota
	atStart      // it takes that no file there is open
	inUse        // it takes that the directory is there
)

func obstacles() []obstacle {
	full := func(g *ground) string { return filepath.Join(g.state, "filler") }
	remount := func(flags uintptr) func(*ground) {
		return func(g *ground) {
			g.must(syscall.Mount("", filepath.Dir(g.state), "", syscall.MS_REMOUNT|flags, ""))
		}
	}
	return []obstacle{
		{"something else stands where its files go", func(g *ground) {
			g.must(os.MkdirAll(filepath.Join(g.state, ".ledger.link", "x"), 0o755))
		}, func(g *ground) { g.must(os.RemoveAll(filepath.Join(g.state, ".ledger.link"))) }, false, always},
		{"the disk is full", func(g *ground) {
			g.must(os.MkdirAll(g.state, 0o755))
			file, err := os.Create(full(g))
			for block := make([]byte, 4096); err == nil; {
				_, err = file.Write(block)
			}
			g.must(file.Close())
		}, func(g *ground) { g.must(os.Remove(full(g))) }, true, always},
		{"the disk has no inodes left", func(g *ground) {
			g.must(os.MkdirAll(full(g), 0o755))
			var err error
			for n := 0; err == nil; n++ {
				err = os.WriteFile(filepath.Join(full(g), strconv.Itoa(n)), nil, 0o600)
			}
			if !errors.Is(err, syscall.ENOSPC) {
				g.t.Fatal(err)
			}
		}, func(g *ground) { g.must(os.RemoveAll(full(g))) }, true, always},
		{"the disk cannot be written", remount(syscall.MS_RDONLY), remount(0), true, atStart},
		// The kernel turns no disk read-only by a call while files are open for writing, as it does by
		// itself after a fault of the card: here one that cannot be written comes in its place.
		{"the disk turns read-only", func(g *ground) {
			g.must(syscall.Mount("sealed", g.state, "tmpfs", syscall.MS_RDONLY, ""))
		}, func(g *ground) { g.must(syscall.Unmount(g.state, syscall.MNT_DETACH)) }, true, inUse},
		{"the directory is gone", func(g *ground) {
			g.must(os.Rename(g.state, g.state+".away"))
		}, func(g *ground) { g.must(os.Rename(g.state+".away", g.state)) }, false, inUse},
	}
}

func (g *ground) must(err error) {
	g.t.Helper()
	if err != nil {
		g.t.Fatal(err)
	}
}

// mount puts the state directory on a small file system in memory. Without the right to mount, the
// test is skipped.
func (g *ground) mount() {
	g.t.Helper()
	dir := filepath.Dir(g.state)
	if err := syscall.Mount("state", dir, "tmpfs", 0, "size=128k,nr_inodes=64"); err != nil {
		g.t.Skipf("a small disk of its own cannot be mounted: %v", err)
	}
	g.t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			g.t.Errorf("unmount: %v", err)
		}
	})
}

// TestAStateDirectoryThatFailsCostsNoFan puts an obstacle in the way while the fans run, and takes
// it away again.
func TestAStateDirectoryThatFailsCostsNoFan(t *testing.T) {
	for _, o := range obstacles() {
		if o.when == atStart {
			continue
		}
		t.Run(o.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.t = t
			g.keep()
			if o.mounted {
				g.mount()
			}
			synctest.Test(t, func(t *testing.T) {
				f := g.run(t, nil)
				pass(10 * time.Minute)
				before := f.View().Kept
				o.put(g)
				pass(20 * time.Minute)
				v := f.View()
				if v.Kept.Fault == "" || v.Kept.Unix != before.Unix {
					t.Errorf("it says %q, its last checkpoint moved from %d to %d", v.Kept.Fault, before.Unix, v.Kept.Unix)
				}
				if diff := cmp.Diff(before.Accounts["lower"], v.Houses[0].Counted); diff != "" {
					t.Errorf("counters that nothing keeps do not stand still (-before +now):\n%s", diff)
				}
				if live := v.Houses[0].Account.Stores[0].Fans[0]; live.RunTotalS() < 24*60 || g.holds("lower/east") != "1" {
					t.Errorf("the fan holds %s and ran for %v s: the farm does not run on", g.holds("lower/east"), live.RunTotalS())
				}
				if n := f.log.with("level=ERROR", "nothing is kept"); n != 1 {
					t.Errorf("it was logged %d times, want once", n)
				}
				o.take(g)
				pass(6 * time.Minute)
				v = f.View()
				if v.Kept.Fault != "" || v.Houses[0].Counted.Stores[0].Fans[0].RunTotalS() < 29*60 {
					t.Errorf("with the obstacle gone it says %q, its counters are %+v", v.Kept.Fault, v.Houses[0].Counted.Stores[0].Fans[0])
				}
				if n := f.log.with("kept again"); n != 1 {
					t.Errorf("its return was logged %d times, want once", n)
				}
				if err := f.end(); err != nil {
					t.Error(err)
				}
				if run := g.account("lower").Stores[0].Fans[0].RunTotalS(); run < 30*60 {
					t.Errorf("%v s of run time are kept at the end", run)
				}
			})
		})
	}
}

// TestAStateDirectoryThatCannotBeHadAtTheStart has an obstacle there from the beginning.
func TestAStateDirectoryThatCannotBeHadAtTheStart(t *testing.T) {
	all := append(obstacles(),
		obstacle{"a file stands in its place", func(g *ground) {
			g.must(os.WriteFile(g.state, nil, 0o644))
		}, func(g *ground) { g.must(os.Remove(g.state)) }, false, atStart},
		obstacle{"a file stands in the place of the folder it is in", func(g *ground) {
			g.state = filepath.Join(g.state, "deep", "state")
			g.must(os.WriteFile(filepath.Dir(filepath.Dir(g.state)), nil, 0o644))
		}, func(g *ground) { g.must(os.Remove(filepath.Dir(filepath.Dir(g.state)))) }, false, atStart})
	for _, o := range all {
		if o.when == inUse {
			continue
		}
		t.Run(o.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.t = t
			g.keep()
			if o.mounted {
				g.mount()
			}
			o.put(g)
			synctest.Test(t, func(t *testing.T) {
				f := g.run(t, nil)
				pass(20 * time.Minute)
				v := f.View()
				if v.Kept.Fault == "" || v.Kept.Unix != 0 || v.Houses[0].Counted != nil {
					t.Errorf("it says %q, and shows %+v; want a fault and no counters", v.Kept.Fault, v.Houses[0].Counted)
				}
				if g.holds("lower/east") != "1" {
					t.Error("the farm does not run")
				}
				if n := f.log.with("level=ERROR", "nothing is kept"); n != 1 {
					t.Errorf("%d lines say it, want one", n)
				}
				o.take(g)
				pass(6 * time.Minute)
				v = f.View()
				if v.Kept.Fault != "" || v.Houses[0].Counted == nil || v.Houses[0].Counted.Stores[0].Fans[0].RunTotalS() < 15*60 {
					t.Errorf("with the obstacle gone it says %q, and shows %+v", v.Kept.Fault, v.Houses[0].Counted)
				}
				if n := f.log.with("kept again"); n != 1 {
					t.Errorf("its return was logged %d times, want once", n)
				}
				if err := f.end(); err != nil {
					t.Error(err)
				}
				if text, err := os.ReadFile(LastGoodPath(g.state)); err != nil || string(text) != g.text {
					t.Errorf("the last good settings were not kept: %v", err)
				}
			})
		})
	}
}
