package controller

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
)

// TestStopWhileADeviceOpens ends the start of a farm of which one fan is a pipe that nobody writes
// to, once the other fans are open. It lasts as long as the files take.
func TestStopWhileADeviceOpens(t *testing.T) {
	g := stake(t, "10 s", "lower")
	pipe := filepath.Join(g.dir, "lower/west")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Skip(err)
	}
	writer, err := os.OpenFile(pipe, os.O_RDWR, 0)
	must(t, err)
	defer writer.Close()
	ctx, stop := context.WithCancel(t.Context())
	go func() {
		for {
			if text, err := os.ReadFile(filepath.Join(g.dir, "lower/east")); err == nil && string(text) == "0" {
				break
			}
			runtime.Gosched()
		}
		stop()
	}()
	c, err := New(ctx, g.s, Options{Clock: Scaled(1, from)})
	must(t, err)
	if ctx.Err() == nil {
		t.Error("the start did not wait for the fan")
		stop()
	}
	if err := c.Run(ctx); err != nil {
		t.Errorf("the stop said %v, want nothing: what never opened need not be closed", err)
	}
	if east := g.holds("lower/east"); east != "0" {
		t.Errorf("the fan that opened holds %s", east)
	}
	if len(c.View().Houses) != 0 {
		t.Error("a house has ticked")
	}
}

// TestStopWhileADeviceHangsInOpening has a fan that does not come back from being opened, whatever
// its context says.
func TestStopWhileADeviceHangsInOpening(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		hold := make(chan struct{})
		f := g.run(t, func(c *Controller) {
			fan := c.houses()[0].fans[1]
			fan.worker.close()
			synctest.Wait()
			fan.sure = false
			fan.worker = startWorker(func(order) error { <-hold; return nil }, func() error { return nil })
			fan.worker.begin(order{open: true})
			fan.since = time.Now()
		})
		must(t, f.Order("lower", "", decide.Order{Kind: decide.OrderRun, ForS: 600}, grower))
		pass(2 * time.Second)
		if g.holds("lower/east") != "1" {
			t.Fatal("the other fan does not run")
		}
		asked := time.Now()
		err := f.end()
		if took := time.Since(asked); took > 2*time.Second {
			t.Errorf("the stop took %v", took)
		}
		if !errors.Is(err, errHung) || !strings.Contains(err.Error(), "house lower: fan lower/beds/west: ") {
			t.Errorf("it said %v, want the fan named", err)
		}
		for _, name := range []string{"lower/east", "upper/east", "upper/west"} {
			if g.holds(name) != "0" {
				t.Errorf("%s holds %s", name, g.holds(name))
			}
		}
		close(hold)
	})
}

// TestStopBooksAndKeepsWhatTheLastTickLeftOpen stops between two ticks, with the disk as witness.
func TestStopBooksAndKeepsWhatTheLastTickLeftOpen(t *testing.T) {
	g := stake(t, "15 min", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(29*time.Minute + 30*time.Second)
		before := g.account("lower").Stores[0].Fans[0].RunTotalS()
		must(t, f.end())
		after := g.account("lower").Stores[0].Fans[0].RunTotalS()
		// It starts with the tick of 15 min, which books nothing of it yet.
		if before >= 60 || after != 14.5*60 {
			t.Errorf("the run time kept went from %v to %v s, want 870 s with the stop", before, after)
		}
	})
}

// TestOrdersToWhatIsNotThere names what there is.
func TestOrdersToWhatIsNotThere(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		run := decide.Order{Kind: decide.OrderRun, ForS: 60}
		tests := []struct {
			name string
			err  error
			want string
		}{
			{"an order for a house", f.Order("middle", "", decide.Order{Kind: decide.OrderAuto}, grower), `there is no house "middle"; there is lower, upper`},
			{"an order for a store", f.Order("lower", "cellar", decide.Order{Kind: decide.OrderAuto}, grower), `house lower has no store "cellar"; it has beds`},
			{"an order for one fan of a house", f.OrderOne("middle", "beds", "east", run, grower), `there is no house "middle"; there is lower, upper`},
			{"of a store", f.OrderOne("lower", "cellar", "east", run, grower), `house lower has no store "cellar"; a fan is named with its store`},
			{"and of its fans", f.OrderOne("lower", "beds", "north", run, grower), `store beds has no fan "north"; it has east, west`},
			{"a fault to clear", f.ClearFault("middle", grower), `there is no house "middle"; there is lower, upper`},
		}
		for _, tt := range tests {
			if tt.err == nil || tt.err.Error() != tt.want {
				t.Errorf("%s: got %v, want %s", tt.name, tt.err, tt.want)
			}
		}
		must(t, f.end())
	})
}
