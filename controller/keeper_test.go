package controller

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/ledger"
)

// TestCountersAreThoseOnDisk wants what is shown to be what the state directory holds, at any time,
// and a farm that starts from a copy made then to show the same. A kill within the writing itself
// is the ledger's to test.
func TestCountersAreThoseOnDisk(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	other := stake(t, "10 s", "lower") // the same house on other devices
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		began := time.Now()
		for k := range 25 {
			pass(time.Duration(7+131*k%89) * 700 * time.Millisecond)
			shown := f.View().Houses[0]
			if diff := cmp.Diff(g.account("lower"), shown.Counted); diff != "" {
				t.Fatalf("after %v other counters are shown than are on disk (-disk +shown):\n%s", time.Since(began), diff)
			}
			if live := shown.Account.Stores[0].Fans[0]; shown.Counted.Stores[0].Fans[0].RunTotalS() > live.RunTotalS() {
				t.Fatalf("after %v more is shown than was done", time.Since(began))
			}
			other.state = filepath.Join(t.TempDir(), "copy")
			if err := os.CopyFS(other.state, os.DirFS(g.state)); err != nil {
				t.Fatal(err)
			}
			second := other.run(t, nil)
			second.stop()
			if diff := cmp.Diff(shown.Counted, second.View().Kept.Accounts["lower"]); diff != "" {
				t.Fatalf("after %v a farm from a copy begins with other counters (-shown +begun):\n%s", time.Since(began), diff)
			}
			if err := <-second.stopped; err != nil {
				t.Fatal(err)
			}
		}
		if run := g.account("lower").Stores[0].Fans[0].RunTotalS(); run < 60 {
			t.Errorf("the fan ran for %v s: nothing is proven", run)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestWhenCheckpointsAreTaken wants one at once, one with each change and else one in five minutes.
func TestWhenCheckpointsAreTaken(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "7.0") // nothing to do
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		at := func(after time.Duration, want time.Duration, why string) {
			t.Helper()
			pass(after)
			if got := time.Unix(g.kept().Unix, 0).Sub(from); got != want {
				t.Errorf("the last checkpoint is of %v after the start, want %v: %s", got, want, why)
			}
		}
		at(0, 0, "the first is taken at once")
		at(4*time.Minute+59*time.Second, 0, "nothing changed")
		at(2*time.Second, 5*time.Minute, "five minutes have passed")
		g.put("lower/air", "5.5")
		at(4*time.Second, 5*time.Minute, "no tick yet")
		at(6*time.Second, 5*time.Minute+10*time.Second, "the first fan has started")
		at(10*time.Second, 5*time.Minute+20*time.Second, "the second fan has started")
		at(4*time.Minute+58*time.Second, 5*time.Minute+20*time.Second, "nothing changed")
		at(2*time.Second, 10*time.Minute+20*time.Second, "five minutes have passed since the last")
		f.stop()
		if err := <-f.stopped; err != nil {
			t.Error(err)
		}
		at(0, 10*time.Minute+21*time.Second, "the farm has stopped")
	})
}

// TestDamagedLedger damages what a first run has kept.
func TestDamagedLedger(t *testing.T) {
	tests := []struct {
		name    string
		damaged []string
		lost    bool
		aside   int
	}{
		{"nothing is damaged", nil, false, 0},
		{"the last checkpoint is damaged: the one before is used", []string{"ledger"}, false, 1},
		{"the one before is damaged: the last is used", []string{"ledger.previous"}, false, 1},
		{"both are damaged: every counter begins at zero, and it is said", []string{"ledger", "ledger.previous"}, true, 2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.keep()
			synctest.Test(t, func(t *testing.T) {
				f := g.run(t, nil)
				pass(20 * time.Minute)
				if err := f.end(); err != nil {
					t.Fatal(err)
				}
				for _, name := range tt.damaged {
					if err := os.WriteFile(filepath.Join(g.state, name), []byte("torn"), 0o644); err != nil {
						t.Fatal(err)
					}
				}
				g.later(21 * time.Minute)
				f = g.run(t, nil)
				pass(time.Second)
				v := f.View()
				east := v.Houses[0].Counted.Stores[0].Fans[0]
				// The checkpoint before the last is of the last change or of 5 min before, whichever is later.
				if least := 9 * 60.0; v.Kept.Lost != tt.lost || tt.lost && east.RunTotalS() != 0 || !tt.lost && east.RunTotalS() < least {
					t.Errorf("lost is %v, the counters are %+v", v.Kept.Lost, east)
				}
				if v.Kept.Fault != "" {
					t.Errorf("it says %q, want no fault: it is kept again", v.Kept.Fault)
				}
				pass(6 * time.Minute)
				if f.View().Kept.Lost != tt.lost {
					t.Error("a loss is forgotten with the next checkpoint")
				}
				aside, err := filepath.Glob(filepath.Join(g.state, "ledger.bad-*"))
				if err != nil || len(aside) != tt.aside {
					t.Errorf("kept aside are %v, %v; want %d files", aside, err, tt.aside)
				}
				for _, name := range aside {
					if text, err := os.ReadFile(name); err != nil || string(text) != "torn" {
						t.Errorf("%s holds %q, %v", name, text, err)
					}
				}
				if n := f.log.with("level=ERROR", "ledger file is damaged and kept aside"); n != tt.aside {
					t.Errorf("%d lines name a damaged file, want %d", n, tt.aside)
				}
				if n := f.log.with("level=ERROR", "the ledger is lost"); (n == 1) != tt.lost {
					t.Errorf("%d lines say that the ledger is lost", n)
				}
				if err := f.end(); err != nil {
					t.Error(err)
				}
			})
		})
	}
}

// TestAHeldStateDirectoryIsRefused has another process's lock on it.
func TestAHeldStateDirectoryIsRefused(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	if err := os.MkdirAll(g.state, 0o755); err != nil {
		t.Fatal(err)
	}
	release, err := ledger.Lock(g.state)
	if err != nil {
		t.Fatal(err)
	}
	c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from), StateDir: g.state})
	if c != nil || !errors.Is(err, ledger.ErrHeld) || !strings.Contains(err.Error(), g.state) {
		t.Errorf("got %v, %v; want %v and the directory named", c, err, ledger.ErrHeld)
	}
	if _, err := os.Stat(filepath.Join(g.dir, "lower/east")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a fan was opened under the one who holds the directory: %v", err)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) { // the lock file that is left is no obstacle
		if _, err := os.Stat(filepath.Join(g.state, "lock")); err != nil {
			t.Errorf("no lock file was left: %v; nothing is proven", err)
		}
		f := g.run(t, nil)
		pass(time.Second)
		if fault := f.View().Kept.Fault; fault != "" {
			t.Errorf("after the release it says %q", fault)
		}
		if _, err := ledger.Lock(g.state); !errors.Is(err, ledger.ErrHeld) {
			t.Errorf("while it runs the directory can be had: %v", err)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
		release, err := ledger.Lock(g.state)
		if err != nil {
			t.Fatalf("after the stop the directory cannot be had: %v", err)
		}
		if err := release(); err != nil {
			t.Error(err)
		}
	})
}

// TestAClockThatWasNotSet runs a farm before the program was written, as a board without a battery
// clock does: a bubble's time begins in the year 2000.
func TestAClockThatWasNotSet(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		start := func() *farm {
			f := &farm{stopped: make(chan error, 1)}
			c, err := New(t.Context(), g.s, Options{StateDir: g.state})
			if err != nil {
				t.Fatal(err)
			}
			f.Controller = c
			var ctx context.Context
			ctx, f.stop = context.WithCancel(t.Context())
			go func() { f.stopped <- c.Run(ctx) }()
			return f
		}
		f := start()
		pass(20*time.Minute + time.Second)
		if f.View().Believed || f.Snapshots()[0].Inputs.Believed {
			t.Errorf("a clock of %v is believed", time.Now())
		}
		if err := f.end(); err != nil {
			t.Fatal(err)
		}
		if run := g.account("lower").Stores[0].Fans[0].RunTotalS(); run < 14*60 || g.kept().Believed {
			t.Errorf("%v s of run time are kept, believed %v; want it counted, and not believed", run, g.kept().Believed)
		}
		pass(time.Hour) // which nobody can vouch for
		f = start()
		pass(time.Second)
		if st := &f.Snapshots()[0].State; st.Stores[0].RestS > 10 || st.Stores[0].Fans[0].StartWaitS > 900 {
			t.Errorf("after a restart it remembers %+v", st.Stores[0])
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestTheLastGoodSettingsAreKept reads them back.
func TestTheLastGoodSettingsAreKept(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		holds := func(when string) {
			t.Helper()
			pass(time.Second)
			text, err := os.ReadFile(LastGoodPath(g.state))
			if err != nil || !bytes.Equal(text, []byte(g.text)) {
				t.Errorf("%s: %v; kept is\n%s\nwant\n%s", when, err, text, g.text)
			}
		}
		holds("at the start")
		if err := f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)); err != nil {
			t.Fatal(err)
		}
		holds("after a reload")
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestNoCheckpointComesToTheDiskAfterANewerOne saves from several goroutines, as a reload and the
// loop may. Each checkpoint is numbered when it is taken.
func TestNoCheckpointComesToTheDiskAfterANewerOne(t *testing.T) {
	dir := t.TempDir()
	k, err := openKeeper(dir, Scaled(1, from), slog.New(slog.DiscardHandler))
	must(t, err)
	var taken atomic.Int64
	var savers sync.WaitGroup
	for range 4 {
		savers.Go(func() {
			for range 10 {
				k.save(func() (ledger.Checkpoint, map[string]learned) {
					n := taken.Add(1)
					if on := k.kept.Load().Unix; on != n-1 {
						t.Errorf("while checkpoint %d is taken, %d is on disk", n, on)
					}
					return ledger.Checkpoint{Unix: n}, nil
				})
			}
		})
	}
	savers.Wait()
	if on := k.kept.Load().Unix; on != 40 {
		t.Errorf("at the end checkpoint %d is on disk, want the last, 40", on)
	}
	must(t, k.close())
}
