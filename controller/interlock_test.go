package controller

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/drivers"
)

// slow is a device that takes its time with each call.
type slow struct {
	drivers.Probe
	drivers.Fan
	takes time.Duration

	mu sync.Mutex
	at []moment
}

// moment is when a call came back, and what it had been told.
type moment struct {
	time  time.Time
	stage drivers.Stage
}

func (s *slow) Read(ctx context.Context) (float64, error) {
	select {
	case <-time.After(s.takes):
	case <-ctx.Done():
		return 0, ctx.Err()
	}
	return s.Probe.Read(ctx)
}

func (s *slow) Set(ctx context.Context, stage drivers.Stage) error {
	time.Sleep(s.takes)
	err := s.Fan.Set(ctx, stage)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at = append(s.at, moment{time.Now(), stage})
	return err
}

func (s *slow) String() string { return "a slow device" }

func (s *slow) Close() error {
	if s.Probe != nil {
		return s.Probe.Close()
	}
	return s.Fan.Close()
}

// set returns which orders the fan took over, and when.
func (s *slow) set() []moment {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]moment(nil), s.at...)
}

func slowProbe(c *Controller, probe int, takes time.Duration) {
	p := c.houses()[0].probes[probe]
	p.device = &slow{Probe: p.device, takes: takes}
}

func slowFan(c *Controller, fan int, takes time.Duration) *slow {
	f := c.houses()[0].fans[fan]
	s := &slow{Fan: f.device, takes: takes}
	f.device = s
	return s
}

// TestSmokePutsTheFansOff lets smoke come in many phases of a tick of 10 s, in every condition of
// the other devices. The probes are air, smoke, soil.
func TestSmokePutsTheFansOff(t *testing.T) {
	const air, smoke, deep = 0, 1, 2
	tests := []struct {
		name string
		is   func(*Controller) (free func())
	}{
		{"all devices are quick", func(*Controller) func() { return nil }},
		{"the soil probe hangs", func(c *Controller) func() {
			hung := swap(c, deep)
			hung.stick()
			return hung.free
		}},
		{"the air probe takes 900 ms", func(c *Controller) func() { slowProbe(c, air, 900*time.Millisecond); return nil }},
		{"the air probe takes 3 s", func(c *Controller) func() { slowProbe(c, air, 3*time.Second); return nil }},
		{"one hangs and one takes 1.5 s", func(c *Controller) func() {
			hung := swap(c, deep)
			hung.stick()
			slowProbe(c, air, 1500*time.Millisecond)
			return hung.free
		}},
		{"the smoke contact itself takes 200 ms", func(c *Controller) func() { slowProbe(c, smoke, 200*time.Millisecond); return nil }},
		{"the smoke contact takes 100 ms and the air probe 1.2 s", func(c *Controller) func() {
			slowProbe(c, smoke, 100*time.Millisecond)
			slowProbe(c, air, 1200*time.Millisecond)
			return nil
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for phase := 50 * time.Millisecond; phase < 10*time.Second; phase += 450 * time.Millisecond {
				g := stake(t, "10 s", "lower")
				g.contact("smoke")
				synctest.Test(t, func(t *testing.T) {
					g.t = t
					var free func()
					f := g.run(t, func(c *Controller) { free = tt.is(c) })
					if err := f.Order("lower", "beds", decide.Order{Kind: decide.OrderRun, ForS: 7200}, grower); err != nil {
						t.Fatal(err)
					}
					pass(30*time.Second + phase)
					if g.holds("lower/east") != "1" || g.holds("lower/west") != "1" {
						t.Fatal("the fans do not run")
					}
					g.put("lower/smoke", "1")
					pass(2 * time.Second)
					if east, west := g.holds("lower/east"), g.holds("lower/west"); east != "0" || west != "0" {
						t.Errorf("2 s after smoke %v into a tick the fans hold %s and %s", phase, east, west)
					}
					if free != nil {
						free()
					}
					if err := f.end(); err != nil {
						t.Error(err)
					}
				})
			}
		})
	}
}

// TestSmokeIsHeldUntilAPersonClearsIt has the smoke gone after a while.
func TestSmokeIsHeldUntilAPersonClearsIt(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	g.contact("smoke")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10 * time.Minute)
		held := func(when string) {
			t.Helper()
			if s := f.Snapshots()[0]; s.Decision.Stores[0].State != decide.Hold || !s.Decision.Alarms.Smoke || g.holds("lower/east") != "0" {
				t.Errorf("%s the store is in %v, the fan holds %s", when, s.Decision.Stores[0].State, g.holds("lower/east"))
			}
			if g.holds("upper/east") != "1" {
				t.Errorf("%s the fan of the other house does not run", when)
			}
		}
		g.put("lower/smoke", "1")
		pass(2 * time.Second)
		held("in the smoke")
		must := func(err error) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
		}
		must(f.ClearFault("lower", grower))
		pass(20 * time.Minute)
		held("cleared too early")
		g.put("lower/smoke", "0")
		pass(20 * time.Minute)
		held("when the smoke is gone")
		must(f.Order("lower", "beds", decide.Order{Kind: decide.OrderRun, ForS: 60}, grower))
		pass(30 * time.Second)
		held("told to run")
		must(f.ClearFault("upper", grower))
		pass(time.Minute)
		held("with the other house cleared")
		must(f.ClearFault("lower", grower))
		pass(time.Second)
		if s := f.Snapshots()[0]; s.Decision.Alarms.Smoke || g.holds("lower/east") != "1" {
			t.Errorf("cleared, the fan holds %s, alarms are %+v", g.holds("lower/east"), s.Decision.Alarms)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestWaterInThePipesEndsCharging has a warm house, and water in a phase of the tick.
func TestWaterInThePipesEndsCharging(t *testing.T) {
	for phase := time.Second; phase < 10*time.Second; phase += 1700 * time.Millisecond {
		g := stake(t, "10 s", "lower")
		g.contact("pipe-water")
		g.put("lower/air", "26")
		synctest.Test(t, func(t *testing.T) {
			f := g.run(t, nil)
			pass(10*time.Minute + phase)
			if s := f.Snapshots()[0]; s.Decision.Stores[0].State != decide.Charge || g.holds("lower/east") != "1" {
				t.Fatalf("the store is in %v: %s", s.Decision.Stores[0].State, s.Sentence)
			}
			g.put("lower/pipe-water", "1")
			pass(2 * time.Second)
			if s := f.Snapshots()[0]; s.Decision.Stores[0].State != decide.Hold || g.holds("lower/east") != "0" || g.holds("lower/west") != "0" {
				t.Errorf("2 s after water %v into a tick the store is in %v, the fan holds %s", phase, s.Decision.Stores[0].State, g.holds("lower/east"))
			}
			g.put("lower/pipe-water", "0") // water is not latched
			pass(30 * time.Minute)
			if s := f.Snapshots()[0]; s.Decision.Stores[0].State != decide.Charge {
				t.Errorf("with the water gone the store is in %v: %s", s.Decision.Stores[0].State, s.Sentence)
			}
			if err := f.end(); err != nil {
				t.Error(err)
			}
		})
	}
}

// TestALostSmokeContactWarnsAndDoesNotTrip takes its file away.
func TestALostSmokeContactWarnsAndDoesNotTrip(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("smoke")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(6 * time.Minute)
		g.remove("lower/smoke")
		pass(time.Hour)
		s := f.Snapshots()[0]
		if g.holds("lower/east") != "1" || s.Decision.Alarms.Smoke || s.Inputs.Smoke != decide.Lost {
			t.Errorf("the fan holds %s, the contact is %v, alarms are %+v", g.holds("lower/east"), s.Inputs.Smoke, s.Decision.Alarms)
		}
		if v := s.Verdicts[1]; v.Quality != judge.Bad {
			t.Errorf("the contact is %+v", v)
		}
		if n := f.log.with("level=WARN", "probe is bad", "probe=lower/smoke"); n != 1 {
			t.Errorf("it was logged %d times, want once", n)
		}
		g.put("lower/smoke", "1")
		pass(3 * time.Second)
		if g.holds("lower/east") != "0" {
			t.Error("back with smoke it does not trip")
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestInterlocksAreReadByTheMachinesClock runs a farm ten times as fast.
func TestInterlocksAreReadByTheMachinesClock(t *testing.T) {
	g := stake(t, "100 s", "lower") // 10 s by the machine
	g.contact("smoke")
	synctest.Test(t, func(t *testing.T) {
		g.clock = Scaled(10, from)
		f := g.run(t, nil)
		pass(2*time.Minute + 3*time.Second)
		if g.holds("lower/east") != "1" {
			t.Fatal("the fan does not run")
		}
		g.put("lower/smoke", "1")
		pass(2 * time.Second)
		if g.holds("lower/east") != "0" {
			t.Error("2 s after the smoke the fan runs")
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}
