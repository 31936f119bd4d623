package controller

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/alarm"
	"loambank/controller/decide"
	"loambank/drivers"
)

// bellTable is an alarm output in a file. %s is the farm's folder.
const bellTable = `
[alarm]
output = { driver = "file", path = "%s/bell" }
delay  = { frost = "2 min", smoke = "0 s", air = "5 min", hand = "5 min", fan = "1 min" }
ack    = "30 min"
`

// hang gives the farm a bell.
func (g *ground) hang() { g.write(g.text + fmt.Sprintf(bellTable, g.dir)) }

// TestTheBellRingsAfterItsDelay lets a house freeze that no store can help, and has a person hear
// of it.
func TestTheBellRingsAfterItsDelay(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	g.hang()
	g.put("lower/air", "6.5")
	g.put("lower/deep", "1.0") // the soil has nothing to give
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		rings := func(after time.Duration, want bool, when string) {
			t.Helper()
			pass(after)
			text := "1" // energised
			if want {
				text = "0"
			}
			v := f.View()
			if g.holds("bell") != text || v.Alarm[alarm.Frost] != want || v.Sounds() != want {
				t.Errorf("%s the output holds %s, shown is %v; want ringing %v", when, g.holds("bell"), v.Alarm, want)
			}
		}
		rings(2*time.Second, false, "all well")
		rings(10*time.Minute, false, "ten minutes on")
		g.put("lower/air", "1.0")
		for range 30 { // until it is believed
			if s := f.Snapshots()[0]; s.Decision.Alarms.FrostNoHelp {
				break
			}
			pass(time.Second)
		}
		rings(118*time.Second, false, "just before the delay is over")
		rings(4*time.Second, true, "after the delay")
		f.Acknowledge(grower)
		rings(2*time.Second, false, "acknowledged")
		rings(29*time.Minute+50*time.Second, false, "half an hour later")
		rings(15*time.Second, true, "the acknowledgement over")
		must(t, f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)))
		rings(time.Second, true, "reloaded")
		g.put("lower/air", "6.5")
		rings(2*time.Minute, false, "the frost over")
		if came, went := f.log.with("level=ERROR", "msg=alarm", "cause=frost"), f.log.with("alarm is over or acknowledged"); came != 2 || went != 2 {
			t.Errorf("it was logged %d and %d times, want twice each", came, went)
		}
		if f.log.with("alarm acknowledged", `who="grower (uid 1000)"`) != 1 {
			t.Error("who acknowledged is not in the log")
		}
		must(t, f.end())
		if g.holds("bell") != "0" {
			t.Error("nobody watches any more, and the output is still energised")
		}
	})
}

// TestAReloadDoesNotBreakOffAnAlarm reloads with a probe that takes its time, so that the house is
// long in its first tick.
func TestAReloadDoesNotBreakOffAnAlarm(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	g.put("lower/air", "1.0")
	g.put("lower/deep", "1.0")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) { slowProbe(c, 1, 900*time.Millisecond) })
		pass(5 * time.Minute)
		if g.holds("bell") != "0" {
			t.Fatal("it does not ring")
		}
		f.Acknowledge(grower)
		pass(2 * time.Second)
		for range 20 {
			must(t, f.Reload(g.s))
			for range 30 {
				pass(100 * time.Millisecond)
				if g.holds("bell") != "1" || len(f.View().Houses) != 1 {
					t.Fatalf("after a reload the bell holds %s, %d houses are shown; want the acknowledgement to hold", g.holds("bell"), len(f.View().Houses))
				}
			}
		}
		if !f.Snapshots()[0].Decision.Alarms.FrostNoHelp {
			t.Error("the frost is over: nothing is proven")
		}
		must(t, f.end())
	})
}

// TestSmokeRingsAtOnce is one cause without a delay.
func TestSmokeRingsAtOnce(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("smoke")
	g.hang()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10 * time.Minute)
		g.put("lower/smoke", "1")
		pass(3 * time.Second)
		if v := f.View(); g.holds("bell") != "0" || !v.Alarm[alarm.Smoke] {
			t.Errorf("the output holds %s, shown is %v", g.holds("bell"), v.Alarm)
		}
		g.put("lower/smoke", "0")
		pass(time.Hour)
		if g.holds("bell") != "0" {
			t.Error("it fell silent before a person cleared the smoke")
		}
		must(t, f.ClearFault("lower", grower))
		pass(2 * time.Second)
		if g.holds("bell") != "1" {
			t.Error("cleared, it rings on")
		}
		must(t, f.end())
	})
}

// TestAFanThatIsDownAndAHandThatFreezesRing are the causes a person makes.
func TestAFanThatIsDownAndAHandThatFreezesRing(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	g.put("lower/air", "1.0")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) {
			fan := c.houses()[0].fans[0]
			fan.device = sulking(fan.device)
		})
		pass(45 * time.Second)
		if v := f.View(); v.Sounds() {
			t.Errorf("before its delay it rings: %v", v.Alarm)
		}
		pass(time.Minute)
		if v := f.View(); v.Alarm != [alarm.Causes]bool{alarm.Fan: true} || g.holds("bell") != "0" {
			t.Errorf("with a fan down it sounds %v", v.Alarm)
		}
		must(t, f.Order("lower", "beds", decide.Order{Kind: decide.OrderOff, ForS: 3600}, grower))
		pass(4 * time.Minute)
		if v := f.View(); v.Alarm[alarm.Hand] {
			t.Errorf("before its delay it rings: %v", v.Alarm)
		}
		pass(2 * time.Minute)
		if v := f.View(); !v.Alarm[alarm.Hand] || v.Alarm[alarm.Frost] {
			t.Errorf("with the fans kept off in frost it sounds %v", v.Alarm)
		}
		must(t, f.end())
	})
}

// TestABellThatDoesNotObey takes no orders for a while.
func TestABellThatDoesNotObey(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	synctest.Test(t, func(t *testing.T) {
		var bell *moody
		f := g.run(t, func(c *Controller) {
			synctest.Wait() // until it has opened
			bell = sulking(c.bell.output.device)
			c.bell.output.device = bell
		})
		pass(10 * time.Minute)
		if n := f.log.with("level=ERROR", "alarm output does not obey", "it sulks"); n != 1 {
			t.Errorf("it was logged %d times, want once", n)
		}
		bell.sulks.Store(false)
		pass(2 * time.Second)
		if n := f.log.with("alarm output obeys again"); n != 1 || g.holds("bell") != "1" {
			t.Errorf("its return was logged %d times, it holds %s", n, g.holds("bell"))
		}
		must(t, f.end())
	})
}

// TestABellThatIsNotThereYet is opened once it can be, and named once.
func TestABellThatIsNotThereYet(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	g.edit(g.dir+"/bell", g.dir+"/box/bell")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Minute)
		if n := f.log.with("alarm output does not obey"); n != 1 {
			t.Errorf("it was named %d times, want once", n)
		}
		must(t, f.Reload(g.edit(g.dir+"/box/bell", g.dir+"/bell")))
		pass(2 * time.Second)
		if g.holds("bell") != "1" {
			t.Errorf("the one in its place holds %s", g.holds("bell"))
		}
		must(t, f.end())
	})
}

// TestReloadOfTheBell leaves one that is the same alone, and lets one go that is not.
func TestReloadOfTheBell(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	synctest.Test(t, func(t *testing.T) {
		var old *watched
		f := g.run(t, func(c *Controller) {
			synctest.Wait() // until it has opened
			old = &watched{Fan: c.bell.output.device}
			c.bell.output.device = old
		})
		pass(time.Minute)
		must(t, f.Reload(g.edit(`ack    = "30 min"`, `ack    = "20 min"`)))
		pass(time.Minute)
		if orders, closed := old.done(); closed || len(orders) != 1 || orders[0] != 1 || f.bell.settings.AckS != 1200 {
			t.Errorf("the bell was told %v, closed %v, its acknowledgement lasts %v s", orders, closed, f.bell.settings.AckS)
		}
		must(t, f.Reload(g.edit(g.dir+"/bell", g.dir+"/gong")))
		pass(2 * time.Second)
		if _, closed := old.done(); !closed || g.holds("bell") != "0" || g.holds("gong") != "1" {
			t.Errorf("the old one holds %s, closed %v; the new one %s", g.holds("bell"), closed, g.holds("gong"))
		}
		bell := g.text[len(g.text)-len(fmt.Sprintf(bellTable, filepath.Join(g.dir))):]
		g.edit(bell, "")
		must(t, f.Reload(g.s))
		pass(2 * time.Second)
		if g.holds("gong") != "0" || f.bell.output != nil {
			t.Errorf("taken out it holds %s", g.holds("gong"))
		}
		must(t, f.end())
	})
}

// TestABellThatHangsHoldsUpNoHouse hangs in its first order.
func TestABellThatHangsHoldsUpNoHouse(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.hang()
	synctest.Test(t, func(t *testing.T) {
		var bell *stuck
		f := g.run(t, func(c *Controller) {
			synctest.Wait() // until it has opened
			bell = &stuck{Fan: c.bell.output.device, hold: make(chan struct{})}
			c.bell.output.device = bell
		})
		pass(10*time.Minute + time.Second)
		if s := f.Snapshots()[0]; !s.Time.Equal(from.Add(10*time.Minute)) || g.holds("lower/east") != "1" {
			t.Errorf("the last tick was at %v, the fan holds %s", s.Time, g.holds("lower/east"))
		}
		if n := f.log.with("alarm output does not obey", "no answer in time"); n != 1 || bell.calls() != 1 {
			t.Errorf("it was named %d times and called %d times, want once each", n, bell.calls())
		}
		asked := time.Now()
		if err := f.end(); !errors.Is(err, errHung) || time.Since(asked) > 3*time.Second {
			t.Errorf("the stop took %v and said %v", time.Since(asked), err)
		}
		close(bell.hold)
	})
}

// stuck is a fan that hangs in every order until hold is closed, whatever its context.
type stuck struct {
	drivers.Fan
	hold chan struct{}
	mu   sync.Mutex
	n    int
}

func (s *stuck) Set(ctx context.Context, stage drivers.Stage) error {
	s.mu.Lock()
	s.n++
	s.mu.Unlock()
	<-s.hold
	return s.Fan.Set(ctx, stage)
}

func (s *stuck) calls() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.n
}
