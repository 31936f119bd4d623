package controller

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/drivers"
)

// watched is a fan that notes what is done to it.
type watched struct {
	drivers.Fan
	mu     sync.Mutex
	orders []drivers.Stage
	closed time.Time
}

func (w *watched) Set(ctx context.Context, stage drivers.Stage) error {
	w.mu.Lock()
	w.orders = append(w.orders, stage)
	w.mu.Unlock()
	return w.Fan.Set(ctx, stage)
}

func (w *watched) Close() error {
	w.mu.Lock()
	w.closed = time.Now()
	w.mu.Unlock()
	return w.Fan.Close()
}

// done is what has been done to it.
func (w *watched) done() (orders []drivers.Stage, closed bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.orders), !w.closed.IsZero()
}

// watch puts a watched fan in the place of a house's fan.
func watch(c *Controller, house, fan int) *watched {
	f := c.houses()[house].fans[fan]
	w := &watched{Fan: f.device}
	f.device = w
	return w
}

// must ends the test on an error.
func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// TestReloadTouchesNoUnchangedDevice reloads other limits, with all devices as they were but on
// other lines of the file.
func TestReloadTouchesNoUnchangedDevice(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var fans []*watched
		var air *sticky
		f := g.run(t, func(c *Controller) {
			fans = append(fans, watch(c, 0, 0), watch(c, 0, 1))
			air = swap(c, 0)
		})
		pass(8*time.Minute + 5*time.Second)
		before := f.Snapshots()[0]
		g.edit("[[house]]", "\n\n[[house]]")
		s := g.edit(`margin = "4 K"`, `margin = "5 K"`)
		must(t, f.Reload(s))
		pass(time.Second)
		now := f.Snapshots()[0]
		if now.Settings.House.Decide.Policies[0].Stores[0].Margin != 5 {
			t.Error("the new settings are not in force")
		}
		if got := now.Settings.Probes[0].Where; f.houses()[0].probes[0].stanza.Where != got {
			t.Errorf("the probe's line is %s, want %s", f.houses()[0].probes[0].stanza.Where, got)
		}
		// 5 s of a tick passed, and then the first tick came at once.
		was, is := &before.State.Stores[0], &now.State.Stores[0]
		if got := is.RunS - was.RunS; got != 5 || is.Fans[0].Stage != 1 {
			t.Errorf("the run went on for %v s, want 5: %+v", got, is)
		}
		if got := now.Account.Stores[0].Fans[0].RunTotalS() - before.Account.Stores[0].Fans[0].RunTotalS(); got != 5 {
			t.Errorf("%v s were booked, want 5", got)
		}
		if got := is.Fans[0].StartWaitS - was.Fans[0].StartWaitS; got != -5 {
			t.Errorf("the wait for the next start went on by %v s, want -5", got)
		}
		if now.Account.Stores[0].Fans[0].Starts != 1 {
			t.Errorf("a start was counted: %+v", now.Account.Stores[0].Fans[0])
		}
		for i, fan := range fans {
			if orders, closed := fan.done(); closed || len(orders) != 1 || orders[0] != 1 {
				t.Errorf("fan %d was told %v, closed %v; want its one order", i, orders, closed)
			}
		}
		// At 6 min 55 s its minimum run of 10 min holds it, whatever the air says.
		if n := len(air.calls()); n < 49 {
			t.Errorf("the air was read %d times: another probe is in its place", n)
		}
		if f.log.with("state changed") != 3 {
			t.Errorf("%d changes of state were logged, want rest, the first fan and the second", f.log.with("state changed"))
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
		for i, fan := range fans {
			if _, closed := fan.done(); !closed {
				t.Errorf("fan %d was not closed at the end", i)
			}
		}
	})
}

// TestManyReloadsLetTimePass reloads every 3 s, sooner than a tick.
func TestManyReloadsLetTimePass(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		for range 200 {
			pass(3 * time.Second)
			must(t, f.Reload(g.s))
		}
		pass(time.Second)
		s := f.Snapshots()[0]
		// The minimum rest is 5 min, the time 601 s.
		if run, booked := s.State.Stores[0].RunS, s.Account.Stores[0].Fans[0].RunTotalS(); run < 295 || run > 301 || booked < 295 || booked > 301 {
			t.Errorf("after ten minutes of reloads the fans ran for %v s, booked are %v; want 300, give or take a reload", run, booked)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestReloadClosesTheOldFanBeforeTheNewOneOpens changes the stanza of a running fan, which stays at
// its path.
func TestReloadClosesTheOldFanBeforeTheNewOneOpens(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var east, west *watched
		f := g.run(t, func(c *Controller) { east, west = watch(c, 0, 0), watch(c, 0, 1) })
		pass(8 * time.Minute)
		if g.holds("lower/east") != "1" {
			t.Fatal("the fan does not run")
		}
		east.Fan = &lingering{Fan: east.Fan, before: func() {
			if text := g.holds("lower/east"); text != "1" {
				t.Errorf("before the old fan is closed its file holds %s: the new one was opened first", text)
			}
		}}
		path := filepath.Join(g.dir, "lower", "east")
		must(t, f.Reload(g.edit(fmt.Sprintf(`path = "%s",`, path), fmt.Sprintf(`path = "%s", active = "low",`, path))))
		synctest.Wait()
		if _, closed := east.done(); !closed {
			t.Error("the old fan is not closed")
		}
		if text := g.holds("lower/east"); text != "1" { // which is off now
			t.Errorf("the new fan's file holds %s, want 1: it is off", text)
		}
		if _, closed := west.done(); closed || g.holds("lower/west") != "1" {
			t.Errorf("the other fan holds %s, closed %v", g.holds("lower/west"), closed)
		}
		pass(13 * time.Minute) // four starts an hour let it start at 20 min
		if g.holds("lower/east") != "0" {
			t.Errorf("the new fan does not run: %s", f.Snapshots()[0].Sentence)
		}
		if fan := f.Snapshots()[0].Account.Stores[0].Fans[0]; fan.Starts != 2 {
			t.Errorf("its account is %+v, want two starts", fan)
		}
		if err := f.end(); err != nil || g.holds("lower/east") != "1" {
			t.Errorf("stopped it holds %s, %v", g.holds("lower/east"), err)
		}
	})
}

// lingering is a fan that takes a second to close.
type lingering struct {
	drivers.Fan
	before func()
}

func (l *lingering) Close() error {
	time.Sleep(time.Second)
	l.before()
	return l.Fan.Close()
}

// TestARemovedHouseIsPutOffAndComesBack takes a house out, and puts it in again later.
func TestARemovedHouseIsPutOffAndComesBack(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	g.contact("smoke")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		var fan *watched
		f := g.run(t, func(c *Controller) { fan = watch(c, 1, 0) })
		pass(10*time.Minute + 5*time.Second)
		g.put("upper/smoke", "1")
		pass(2 * time.Second)
		g.put("upper/smoke", "0")
		both := g.text
		before := *f.Snapshots()[1].Account.Clone()
		if before.Stores[0].Fans[0].RunTotalS() < 280 {
			t.Fatalf("it ran for %v s", before.Stores[0].Fans[0].RunTotalS())
		}
		g.write(both[:strings.LastIndex(both, "[[house]]")])
		must(t, f.Reload(g.s))
		pass(10 * time.Minute)
		if _, closed := fan.done(); !closed || g.holds("upper/east") != "0" || g.holds("lower/east") != "1" {
			t.Errorf("of the removed house the fan holds %s, closed %v; of the other %s", g.holds("upper/east"), closed, g.holds("lower/east"))
		}
		if n := len(f.View().Houses); n != 1 {
			t.Errorf("%d houses are shown", n)
		}
		if g.account("upper").Stores[0].Fans[0] != before.Stores[0].Fans[0] {
			t.Errorf("of the removed house is kept %+v, want %+v", g.account("upper").Stores[0].Fans[0], before.Stores[0].Fans[0])
		}
		g.write(both)
		must(t, f.Reload(g.s))
		pass(30 * time.Minute)
		s := f.View().Houses[1]
		if s.Account.Stores[0].Fans[0].RunTotalS() != before.Stores[0].Fans[0].RunTotalS() || !s.State.Smoke {
			t.Errorf("back, its smoke is latched: %v; it has run %v s, want %v", s.State.Smoke,
				s.Account.Stores[0].Fans[0].RunTotalS(), before.Stores[0].Fans[0].RunTotalS())
		}
		must(t, f.ClearFault("upper", grower))
		pass(30 * time.Minute)
		if now := f.View().Houses[1].Counted.Stores[0].Fans[0]; now.RunTotalS() <= before.Stores[0].Fans[0].RunTotalS() || now.Starts != 2 {
			t.Errorf("cleared, its counters are %+v, want them to go on from %+v", now, before.Stores[0].Fans[0])
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestARemovedFanComesBackWithItsCounters takes a fan out, over a restart too.
func TestARemovedFanComesBackWithItsCounters(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10*time.Minute + 5*time.Second)
		both := g.text
		line := both[strings.Index(both, `{ name = "west"`):]
		g.edit(line[:strings.Index(line, "\n")], "")
		must(t, f.Reload(g.s))
		pass(20 * time.Minute)
		if g.holds("lower/west") != "0" || g.holds("lower/east") != "1" {
			t.Errorf("the removed fan holds %s, the other %s", g.holds("lower/west"), g.holds("lower/east"))
		}
		ran := g.account("lower").Stores[0].Fan("west").RunTotalS()
		if ran < 290 || ran > 300 {
			t.Errorf("%v s are kept of it, want 5 min less the stagger, and a tick to spare", ran)
		}
		must(t, f.end())
		g.write(both)
		g.later(time.Hour)
		f = g.run(t, nil)
		pass(time.Second)
		if now := f.View().Houses[0].Counted.Stores[0].Fans[1]; now.Name != "west" || now.RunTotalS() != ran {
			t.Errorf("back, it has %+v, want %v s", now, ran)
		}
		must(t, f.end())
	})
}

// TestANewDeviceThatDoesNotOpenIsDownAlone reloads a fan in a folder that is not there.
func TestANewDeviceThatDoesNotOpenIsDownAlone(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10 * time.Minute)
		must(t, f.Reload(g.edit("/lower/east", "/lower/box/east")))
		pass(20 * time.Minute)
		lower, upper := f.Snapshots()[0], f.Snapshots()[1]
		if !slices.Equal(lower.Down, []string{"lower/beds/east"}) || len(upper.Down) != 0 {
			t.Errorf("down are %v and %v, want the new fan alone", lower.Down, upper.Down)
		}
		for _, name := range []string{"lower/west", "upper/east", "upper/west"} {
			if g.holds(name) != "1" {
				t.Errorf("%s does not run", name)
			}
		}
		if g.holds("lower/east") != "0" {
			t.Error("the old fan was left on")
		}
		if n := f.log.with("level=ERROR", "fan does not obey", "fan=lower/beds/east"); n != 1 || !f.View().Reloaded {
			t.Errorf("it was named %d times, want once; reloaded is %v", n, f.View().Reloaded)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestReloadWithAHungProbe takes a probe out that hangs.
func TestReloadWithAHungProbe(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var deep *sticky
		f := g.run(t, func(c *Controller) { deep = swap(c, 1) })
		pass(10 * time.Minute)
		deep.stick()
		pass(15 * time.Second)
		asked := time.Now()
		must(t, f.Reload(g.edit("/lower/deep", "/lower/deeper")))
		if took := time.Since(asked); took > 2*time.Second {
			t.Errorf("the reload took %v", took)
		}
		if n := f.log.with("level=ERROR", "device does not close", "probe lower/beds/deep", "no answer in time"); n != 1 {
			t.Errorf("the hung probe was named %d times, want once", n)
		}
		g.put("lower/deeper", "12.0")
		pass(time.Minute)
		s := f.Snapshots()[0]
		if v := s.Verdicts[1]; v.Quality != judge.Good || v.AgeS != 0 || g.holds("lower/east") != "1" {
			t.Errorf("the probe in its place is %+v, the fan holds %s", v, g.holds("lower/east"))
		}
		deep.free()
		must(t, f.end())
	})
}

// TestReloadWithAHungProbeThatStays waits for it no longer than for one that opens.
func TestReloadWithAHungProbeThatStays(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var deep *sticky
		f := g.run(t, func(c *Controller) { deep = swap(c, 1) })
		pass(10 * time.Minute)
		deep.stick()
		pass(time.Minute)
		asked := time.Now()
		must(t, f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)))
		if took := time.Since(asked); took > 2*time.Second {
			t.Errorf("the reload took %v", took)
		}
		pass(time.Minute)
		if n := len(deep.calls()); n == 0 || f.houses()[0].probes[1].device != drivers.Probe(deep) {
			t.Error("the probe was not carried over")
		}
		deep.free()
		pass(time.Minute)
		if v := f.Snapshots()[0].Verdicts[1]; v.AgeS != 0 {
			t.Errorf("let go, it is %+v", v)
		}
		must(t, f.end())
	})
}

// TestAFaultIsNotLoggedAnewByAReload has a probe and a fan that are down all the while.
func TestAFaultIsNotLoggedAnewByAReload(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.remove("lower/deep")
	g.must(os.Mkdir(filepath.Join(g.dir, "lower/east"), 0o755))
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		for range 5 {
			pass(5 * time.Minute)
			must(t, f.Reload(g.s))
		}
		pass(time.Minute)
		if probe, fan := f.log.with("probe is bad"), f.log.with("fan does not obey"); probe != 1 || fan != 1 {
			t.Errorf("the faults were logged %d and %d times, want once each", probe, fan)
		}
		g.remove("lower/east")
		must(t, f.end())
	})
}

// TestARefusedReloadChangesNothing has a scaled clock meet hardware.
func TestARefusedReloadChangesNothing(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var fan *watched
		f := g.run(t, func(c *Controller) { fan = watch(c, 0, 0) })
		pass(10 * time.Minute)
		must(t, f.Order("lower", "beds", decide.Order{Kind: decide.OrderRun, ForS: 3600}, grower))
		good := g.s
		err := f.Reload(g.edit(filepath.Join(g.dir, "lower", "deep"), "/sys/bus/w1/devices/28-0000075a1c02/w1_slave"))
		if err == nil || !strings.Contains(err.Error(), "probe lower/beds/deep may be real hardware") {
			t.Errorf("it said %v", err)
		}
		pass(10 * time.Minute)
		s := f.Snapshots()[0]
		if orders, closed := fan.done(); closed || !slices.Equal(orders, []drivers.Stage{1}) || s.Settings.Probes[1].Path != good.Houses[0].Probes[1].Path {
			t.Errorf("the fan was told %v, closed %v; the soil is read at %s", orders, closed, s.Settings.Probes[1].Path)
		}
		if s.State.Stores[0].Order != decide.OrderRun || s.Verdicts[1].Quality != judge.Good {
			t.Errorf("the order is %v, the soil %+v", s.State.Stores[0].Order, s.Verdicts[1])
		}
		if got := s.Account.Stores[0].Fans[0].RunTotalS(); got != 15*60 {
			t.Errorf("booked are %v s, want 15 min", got)
		}
		if f.View().Reloaded {
			t.Error("it says that the settings file is the one in force")
		}
		must(t, f.Reload(good))
		if !f.View().Reloaded {
			t.Error("after a good reload it says that older settings are in force")
		}
		f.KeptOld()
		if f.View().Reloaded {
			t.Error("with a file that does not load it says that it is in force")
		}
		must(t, f.end())
	})
}

// TestOrdersGivenJustBeforeAReloadCount gives them while a tick is under way, so that no tick
// before the reload can take them.
func TestOrdersGivenJustBeforeAReloadCount(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("smoke")
	synctest.Test(t, func(t *testing.T) {
		var deep *sticky
		f := g.run(t, func(c *Controller) { deep = swap(c, 2) })
		pass(6 * time.Minute)
		g.put("lower/smoke", "1")
		pass(2 * time.Second)
		g.put("lower/smoke", "0")
		pass(10 * time.Second)
		deep.stick()
		pass(8 * time.Second) // into the next tick, which waits for the probe
		must(t, f.ClearFault("lower", grower))
		must(t, f.Order("lower", "", decide.Order{Kind: decide.OrderOff, ForS: 1200}, grower))
		must(t, f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)))
		deep.free()
		pass(2 * time.Second)
		s := f.Snapshots()[0]
		if s.State.Smoke || s.State.Stores[0].Order != decide.OrderOff || s.State.Stores[0].OrderLeftS < 1190 {
			t.Errorf("smoke is latched: %v, the order is %v for %v s", s.State.Smoke, s.State.Stores[0].Order, s.State.Stores[0].OrderLeftS)
		}
		must(t, f.end())
	})
}

// TestReloadAfterTheEnd wants a word, not a wait.
func TestReloadAfterTheEnd(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(time.Second)
		must(t, f.end())
		if err := f.Reload(g.s); !errors.Is(err, ErrEnded) {
			t.Errorf("got %v, want %v", err, ErrEnded)
		}
	})
}

// TestReloadSaysWhatTakesARestart changes the addresses.
func TestReloadSaysWhatTakesARestart(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		must(t, f.Reload(g.s))
		if n := f.log.with("takes a restart"); n != 0 {
			t.Errorf("it was said %d times of the same addresses", n)
		}
		must(t, f.Reload(g.edit(`units  = "si"`, "units = \"si\"\nlisten = \"127.0.0.1:9799\"")))
		if n := f.log.with("level=WARN", "takes a restart"); n != 1 {
			t.Errorf("it was said %d times, want once", n)
		}
		must(t, f.end())
	})
}
