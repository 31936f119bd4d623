package controller

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/drivers"
)

// TestHungProbeCostsItsReading has the air probe of one house hang for an hour.
func TestHungProbeCostsItsReading(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var air *sticky
		f := g.run(t, func(c *Controller) {
			air = swap(c, 0)
			air.stick()
		})
		pass(5 * time.Second) // to stand between the ticks
		for k := 1; k < 360 && !t.Failed(); k++ {
			pass(10 * time.Second)
			s := f.Snapshots()[0]
			if want := from.Add(time.Duration(10*k) * time.Second); !s.Time.Equal(want) {
				t.Errorf("in interval %d the last tick was at %v, want %v: no tick waits for the probe", k, s.Time, want)
			}
			if deep := s.Verdicts[1]; deep.Quality != judge.Good || deep.AgeS != 0 {
				t.Errorf("in interval %d the other probe is %+v", k, deep)
			}
		}
		s := f.Snapshots()[0]
		if n := len(air.calls()); n != 1 {
			t.Errorf("%d calls are under way to a probe that hangs, want 1", n)
		}
		if s.Account.Probes[0].Errors != 360 || s.Account.Probes[1].Errors != 0 {
			t.Errorf("errors are %v, want one for each of 360 ticks, and none", s.Account.Probes)
		}
		if s.Verdicts[0].Quality != judge.Bad || s.Decision.Stores[0].State != decide.Fallback {
			t.Errorf("the hung probe is %+v, the store in %v", s.Verdicts[0], s.Decision.Stores[0].State)
		}
		if n := f.log.with("probe is bad", "probe=lower/air", "no answer in time"); n != 1 {
			t.Errorf("the fault was logged %d times, want once", n)
		}
		air.free()
		pass(time.Minute)
		s = f.Snapshots()[0]
		if s.Verdicts[0].Quality != judge.Good || f.log.with("probe is back", "probe=lower/air") != 1 {
			t.Errorf("let go, the probe is %+v; its return was logged %d times", s.Verdicts[0], f.log.with("probe is back"))
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestSilentPipeIsNoReading reads a named pipe to which nobody writes.
func TestSilentPipeIsNoReading(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.remove("lower/air")
	if err := syscall.Mkfifo(filepath.Join(g.dir, "lower/air"), 0o644); err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(time.Minute + time.Second)
		s := f.Snapshots()[0]
		if s.Account.Probes[0].Errors != 7 || s.Verdicts[0].Quality != judge.Bad || s.Verdicts[1].Quality != judge.Good {
			t.Errorf("errors %v, verdicts %+v; want 7 ticks without air, soil good", s.Account.Probes, s.Verdicts)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestWhatABadProbeReads stands in the log beside what its place can be: a scale left out of the settings
// is seen at once.
func TestWhatABadProbeReads(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("humidity")
	g.put("lower/humidity", "60")
	g.put("lower/air", "150")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Second)
		for probe, want := range map[string]string{
			"humidity": `cause=out-of-range read=60 least=0 most=1`,
			"air":      `cause=out-of-range read="150 °C" least="−50 °C" most="70 °C"`,
		} {
			if n := f.log.with("probe is bad", "probe=lower/"+probe, want); n != 1 {
				t.Errorf("%s: logged %d times, want once with %s", probe, n, want)
			}
		}
		must(t, f.end())
	})
}

// TestProbeFileVanishes takes the air away while the fans run, and gives it back.
func TestProbeFileVanishes(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		verdict := func(after time.Duration) judge.Verdict {
			pass(after)
			return f.Snapshots()[0].Verdicts[0]
		}
		if v := verdict(6 * time.Minute); v.Quality != judge.Good || g.holds("lower/east") != "1" {
			t.Fatalf("the air is %+v, the fan %s; want good and running", v, g.holds("lower/east"))
		}
		g.remove("lower/air")
		if v := verdict(4 * time.Minute); v.Quality != judge.Good || f.log.with("probe is bad") != 0 {
			t.Errorf("silent for 4 min it is %+v; want its last reading to stand for 5", v)
		}
		if v := verdict(2 * time.Minute); v.Quality != judge.Bad || v.Cause != judge.Stale || v.Value != 3 {
			t.Errorf("silent for 6 min it is %+v; want stale", v)
		}
		g.put("lower/air", "3.1")
		if v := verdict(time.Minute); v.Quality != judge.Good || v.Value != 3.1 {
			t.Errorf("back, it is %+v", v)
		}
		if bad, back := f.log.with("probe is bad", "cause=stale", "the device is not there"), f.log.with("probe is back"); bad != 1 || back != 1 {
			t.Errorf("logged %d times as bad and %d times as back, want once each", bad, back)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestFanFileUnwritable puts a folder where the east fan's file was: the fan is named once, and
// nothing of it is booked, until it obeys again.
func TestFanFileUnwritable(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(*Controller) {
			g.remove("lower/east")
			if err := os.Mkdir(filepath.Join(g.dir, "lower/east"), 0o755); err != nil {
				t.Fatal(err)
			}
		})
		pass(30*time.Minute + time.Second)
		s := f.Snapshots()[0]
		east, west := s.Account.Stores[0].Fans[0], s.Account.Stores[0].Fans[1]
		if east.Starts != 0 || east.RunTotalS() != 0 || east.EnergyKWh != 0 {
			t.Errorf("a fan that does not obey was booked: %+v", east)
		}
		if west.Starts != 1 || west.RunTotalS() < 24*60 {
			t.Errorf("the other fan has %+v, want one start and most of half an hour", west)
		}
		if n := f.log.with("level=ERROR", "fan does not obey", "fan=lower/beds/east"); n != 1 {
			t.Errorf("its fault was logged %d times, want once", n)
		}
		if len(s.Down) != 1 || s.Down[0] != "lower/beds/east" || !strings.Contains(s.Sentence, "fan east of beds, which takes no orders") {
			t.Errorf("down are %v; told: %s", s.Down, s.Sentence)
		}
		g.remove("lower/east")
		pass(time.Minute)
		s = f.Snapshots()[0]
		if east := s.Account.Stores[0].Fans[0]; east.Starts != 1 || g.holds("lower/east") != "1" || len(s.Down) != 0 {
			t.Errorf("writable again it has %+v, its file holds %s, down are %v", east, g.holds("lower/east"), s.Down)
		}
		if n := f.log.with("fan obeys again", "fan=lower/beds/east"); n != 1 {
			t.Errorf("its return was logged %d times, want once", n)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestNoFanObeysIsToldAndNotBooked has both fans fail: no heat moves, whatever was decided.
func TestNoFanObeysIsToldAndNotBooked(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "1.0") // under the frost limit
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(*Controller) {
			for _, name := range []string{"lower/east", "lower/west"} {
				g.remove(name)
				if err := os.Mkdir(filepath.Join(g.dir, name), 0o755); err != nil {
					t.Fatal(err)
				}
			}
		})
		pass(10*time.Minute + time.Second)
		s := f.Snapshots()[0]
		if out := s.Account.Stores[0].Out.KWh(); out != 0 || s.Account.ElectricityMoney != 0 {
			t.Errorf("%v kWh and %v of money were booked for fans that do not obey", out, s.Account.ElectricityMoney)
		}
		if !strings.HasPrefix(s.Sentence, "CROP AT RISK: house 1.0 °C, the fans do not obey.") {
			t.Errorf("told: %s", s.Sentence)
		}
		if err := f.end(); err == nil || !strings.Contains(err.Error(), "lower/beds/east") || !strings.Contains(err.Error(), "lower/beds/west") {
			t.Errorf("the stop said %v, want both fans named that could not be put off", err)
		}
	})
}

// TestStopWithAHungProbe wants the fans off at once, and Run to end within two seconds naming
// the probe it leaves behind.
func TestStopWithAHungProbe(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var air *sticky
		f := g.run(t, func(c *Controller) { air = swap(c, 0) })
		pass(10*time.Minute + time.Second)
		if g.holds("lower/east") != "1" {
			t.Fatal("the fan does not run")
		}
		air.stick()
		pass(11 * time.Second)
		asked := time.Now()
		f.stop()
		synctest.Wait()
		if east, west := g.holds("lower/east"), g.holds("lower/west"); east != "0" || west != "0" {
			t.Errorf("the fan files hold %s and %s, want 0 at once", east, west)
		}
		err := <-f.stopped
		if took := time.Since(asked); took > 2*time.Second {
			t.Errorf("the stop took %v, want 2 s at most", took)
		}
		if !errors.Is(err, errHung) || !strings.Contains(err.Error(), "house lower: probe lower/air: ") {
			t.Errorf("it said %v, want the hung probe named", err)
		}
		air.free() // or its goroutine never ends
	})
}

// stiff is a fan that counts its orders, and can hang in one.
type stiff struct {
	drivers.Fan
	orders []drivers.Stage
	hold   chan struct{}
}

func (s *stiff) Set(ctx context.Context, stage drivers.Stage) error {
	s.orders = append(s.orders, stage)
	if s.hold != nil {
		<-s.hold
	}
	return s.Fan.Set(ctx, stage)
}

// TestAReadingCutShortDecidesNothing stops the farm in the middle of the reading after which the
// fans would have started.
func TestAReadingCutShortDecidesNothing(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "1.0") // frost: the first decision starts a fan, without a rest
	synctest.Test(t, func(t *testing.T) {
		var deep *sticky
		var fans []*stiff
		f := g.run(t, func(c *Controller) {
			deep = swap(c, 1)
			deep.stick()
			for _, fan := range c.houses()[0].fans {
				s := &stiff{Fan: fan.device}
				fan.device = s
				fans = append(fans, s)
			}
		})
		pass(500 * time.Millisecond)
		go func() { time.Sleep(100 * time.Millisecond); deep.free() }()
		if err := f.end(); err != nil {
			t.Error(err)
		}
		for i, fan := range fans {
			if len(fan.orders) > 0 {
				t.Errorf("fan %d was told %v while the program stopped", i, fan.orders)
			}
		}
		if len(f.Snapshots()) != 0 {
			t.Errorf("a tick was counted: %+v", f.Snapshots()[0])
		}
	})
}

// TestHungFanHoldsUpNobody has the east fan hang in its first order.
func TestHungFanHoldsUpNobody(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var east *stiff
		f := g.run(t, func(c *Controller) {
			fan := c.houses()[0].fans[0]
			east = &stiff{Fan: fan.device, hold: make(chan struct{})}
			fan.device = east
		})
		pass(10*time.Minute + time.Second)
		s := f.Snapshots()[0]
		if g.holds("lower/west") != "1" || len(s.Down) != 1 || len(east.orders) != 1 {
			t.Errorf("west holds %s, down are %v, east was told %v", g.holds("lower/west"), s.Down, east.orders)
		}
		if booked := s.Account.Stores[0].Fans[0]; booked.Starts != 0 || booked.RunTotalS() != 0 {
			t.Errorf("the hung fan was booked: %+v", booked)
		}
		err := f.end()
		if !errors.Is(err, errHung) || !strings.Contains(err.Error(), "fan lower/beds/east") || g.holds("lower/west") != "0" {
			t.Errorf("the stop said %v, west holds %s; want east named and west off", err, g.holds("lower/west"))
		}
		close(east.hold)
		synctest.Wait()
		if g.holds("lower/east") != "0" {
			t.Error("come back, the hung fan was not put off")
		}
	})
}
