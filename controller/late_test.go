package controller

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/drivers"
)

// TestASlowProbeIsHeardATickLater has an air probe that is slower than a tick waits.
func TestASlowProbeIsHeardATickLater(t *testing.T) {
	for _, takes := range []time.Duration{3 * time.Second, 8 * time.Second} {
		t.Run(takes.String(), func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.put("lower/air", "15.0") // nothing to do, so that every tick is of 10 s
			synctest.Test(t, func(t *testing.T) {
				f := g.run(t, func(c *Controller) { slowProbe(c, 0, takes) })
				pass(12 * time.Second)
				for k := range 30 {
					want := 15 + float64(k%4)/10
					g.put("lower/air", fmt.Sprint(want)) // 2 s into the tick: asked last, not yet read
					pass(10 * time.Second)
					s := f.Snapshots()[0]
					if v := s.Verdicts[0]; v.Quality != judge.Good || v.Value != want || v.AgeS != 0 {
						t.Fatalf("tick %d has %+v, want what was read since the last tick, %v", k+2, v, want)
					}
				}
				if n := f.Snapshots()[0].Account.Probes[0].Errors; n != 1 {
					t.Errorf("%d errors are counted, want the one of the first tick", n)
				}
				if err := f.end(); err != nil {
					t.Error(err)
				}
			})
		})
	}
}

// TestASlowProbeIsNoFaultInATickOutOfTurn has a person give orders while the probe measures.
func TestASlowProbeIsNoFaultInATickOutOfTurn(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "15.0")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) { slowProbe(c, 0, 700*time.Millisecond) })
		pass(5 * time.Second)
		for range 10 {
			if err := f.Order("lower", "beds", decide.Order{Kind: decide.OrderAuto}, grower); err != nil {
				t.Fatal(err)
			}
			pass(5 * time.Second)
		}
		s := f.Snapshots()[0]
		if n := s.Account.Probes[0].Errors; n != 0 || s.Verdicts[0].Quality != judge.Good {
			t.Errorf("%d errors are counted of a probe that is only asked in a hurry, it is %+v", n, s.Verdicts[0])
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestAProbeThatComesLaterWorks plays a recording that is not there yet when the farm starts.
func TestAProbeThatComesLaterWorks(t *testing.T) {
	g := stake(t, "10 s", "lower")
	path := filepath.Join(g.dir, "lower", "air")
	g.edit(fmt.Sprintf(`driver = "file", path = "%s" }`, path), fmt.Sprintf(`driver = "recording", path = "%s.csv", column = "air_degC" }`, path))
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Minute)
		s := f.Snapshots()[0]
		if s.Verdicts[0].Quality != judge.Bad || s.Verdicts[1].Quality != judge.Good {
			t.Errorf("without its file it is %+v, the other %+v", s.Verdicts[0], s.Verdicts[1])
		}
		text := "time,air_degC\n"
		for k := range 120 {
			text += fmt.Sprintf("%s,3.0\n", f.board.clock.Now().Add(time.Duration(k-60)*time.Minute).Format(time.RFC3339))
		}
		g.put("lower/air.csv", text)
		pass(10 * time.Second)
		s = f.Snapshots()[0]
		if v := s.Verdicts[0]; v.Quality != judge.Good || v.Value != 3 {
			t.Errorf("come, it is %+v", v)
		}
		if n := f.log.with("probe is back", "probe=lower/air"); n != 1 {
			t.Errorf("its coming was logged %d times, want once", n)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestAFanThatComesLaterWorks has a fan in a folder that is not there yet.
func TestAFanThatComesLaterWorks(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.edit("/lower/east", "/lower/box/east")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Minute)
		if s := f.Snapshots()[0]; len(s.Down) != 1 || g.holds("lower/west") != "1" {
			t.Errorf("down are %v, the other fan holds %s", s.Down, g.holds("lower/west"))
		}
		g.must(os.Mkdir(filepath.Join(g.dir, "lower/box"), 0o755))
		pass(30 * time.Second)
		if s := f.Snapshots()[0]; len(s.Down) != 0 || g.holds("lower/box/east") != "1" || s.Account.Stores[0].Fans[0].Starts != 1 {
			t.Errorf("come, it holds %s, down are %v, its account is %+v", g.holds("lower/box/east"), s.Down, s.Account.Stores[0].Fans[0])
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// broken is a device whose driver makes a mistake in every call.
type broken struct {
	drivers.Probe
	drivers.Fan
}

func (broken) Read(context.Context) (float64, error) {
	var none []float64
	return none[3], nil
}
func (broken) Set(context.Context, drivers.Stage) error { panic("no such stage") }
func (broken) String() string                           { return "a broken device" }
func (broken) Close() error                             { panic("cannot close") }

// TestAMistakeInADriverCostsItsDevice breaks the drivers of a probe and of a fan.
func TestAMistakeInADriverCostsItsDevice(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) {
			c.houses()[0].probes[1].device = broken{}
			c.houses()[0].fans[0].device = broken{}
		})
		pass(10*time.Minute + time.Second)
		lower, upper := f.Snapshots()[0], f.Snapshots()[1]
		if lower.Verdicts[1].Quality != judge.Bad || lower.Verdicts[0].Quality != judge.Good {
			t.Errorf("the probes are %+v", lower.Verdicts)
		}
		if g.holds("upper/east") != "1" || len(upper.Down) != 0 {
			t.Errorf("the other house has %v down, its fan holds %s", upper.Down, g.holds("upper/east"))
		}
		if n := f.log.with("probe is bad", "probe=lower/beds/deep", "its driver broke off", "index out of range", "late_test.go"); n != 1 {
			t.Errorf("%d lines say where the probe's driver broke off, want one", n)
		}
		if f.log.with("tick broke off") != 0 {
			t.Error("the tick broke off")
		}
		if err := f.Order("lower", "beds", decide.Order{Kind: decide.OrderRun, ForS: 600}, grower); err != nil {
			t.Fatal(err)
		}
		pass(time.Minute)
		if lower = f.Snapshots()[0]; len(lower.Down) != 1 || lower.Down[0] != "lower/beds/east" || g.holds("lower/west") != "1" {
			t.Errorf("down are %v, the other fan holds %s", lower.Down, g.holds("lower/west"))
		}
		if err := f.end(); err == nil || f.log.with("fan does not obey", "no such stage") != 1 {
			t.Errorf("the stop said %v", err)
		}
		if g.holds("lower/west") != "0" || g.holds("upper/east") != "0" {
			t.Error("a fan was left on")
		}
	})
}

// TestASlowFanGetsOneOrder has fans that take 2 s to switch, as a soft starter does.
func TestASlowFanGetsOneOrder(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var east *slow
		f := g.run(t, func(c *Controller) { east = slowFan(c, 0, 2*time.Second) })
		pass(20*time.Minute + time.Second)
		at := east.set()
		if len(at) != 1 || at[0].stage != 1 {
			t.Fatalf("it was told %v, want on, once", at)
		}
		s := f.Snapshots()[0]
		ran := s.Time.Sub(from) - at[0].time.Sub(f.board.clock.start)
		booked := s.Account.Stores[0].Fans[0]
		if off := ran.Seconds() - booked.RunTotalS(); off < 0 || off > 10 || booked.Starts != 1 {
			t.Errorf("%v s and %d starts are booked, want %v s since it took over, less a tick at most, and one", booked.RunTotalS(), booked.Starts, ran.Seconds())
		}
		if len(s.Down) != 0 || f.log.with("does not obey") != 0 {
			t.Errorf("a fan that is only slow is down: %v", s.Down)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestAnOrderThatComesTooEarlyIsGivenAsSoonAsTheFanIsBack has smoke while a slow fan starts.
func TestAnOrderThatComesTooEarlyIsGivenAsSoonAsTheFanIsBack(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("smoke")
	synctest.Test(t, func(t *testing.T) {
		var east *slow
		f := g.run(t, func(c *Controller) { east = slowFan(c, 0, 2*time.Second) })
		pass(5*time.Minute + 500*time.Millisecond)
		g.put("lower/smoke", "1")
		pass(6 * time.Second)
		at := east.set()
		if len(at) != 2 || at[0].stage != 1 || at[1].stage != 0 || at[1].time.Sub(at[0].time) > 3500*time.Millisecond {
			t.Errorf("it took over %v, want on, and off 2 s after it was back, within a second and a half more", at)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestAFanDownAndBack takes the fan's file away and gives it back.
func TestAFanDownAndBack(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		var east *moody
		f := g.run(t, func(c *Controller) {
			fan := c.houses()[0].fans[0]
			east = &moody{Fan: fan.device}
			fan.device = east
		})
		pass(10*time.Minute + time.Second)
		ran := f.Snapshots()[0].Account.Stores[0].Fans[0].RunTotalS()
		if ran < 290 {
			t.Fatalf("it ran for %v s", ran)
		}
		east.sulks.Store(true)
		if err := f.Order("lower", "beds", decide.Order{Kind: decide.OrderOff, ForS: 60}, grower); err != nil {
			t.Fatal(err)
		}
		pass(12 * time.Minute) // four starts an hour let it start after 10
		s := f.Snapshots()[0]
		if len(s.Down) != 1 || f.log.with("fan does not obey", "it sulks") != 1 || g.holds("lower/west") != "1" {
			t.Errorf("down are %v, logged %d times, the other holds %s", s.Down, f.log.with("fan does not obey"), g.holds("lower/west"))
		}
		if now := s.Account.Stores[0].Fans[0]; now.Starts != 1 || now.RunTotalS() > ran+10 {
			t.Errorf("down it was booked: %+v, before %v s", now, ran)
		}
		east.sulks.Store(false)
		pass(10 * time.Minute)
		s = f.Snapshots()[0]
		if len(s.Down) != 0 || f.log.with("fan obeys again") != 1 || g.holds("lower/east") != "1" || s.Account.Stores[0].Fans[0].Starts != 2 {
			t.Errorf("back, it holds %s, down are %v: %+v", g.holds("lower/east"), s.Down, s.Account.Stores[0].Fans[0])
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// sulking is a moody fan that begins so.
func sulking(f drivers.Fan) *moody {
	m := &moody{Fan: f}
	m.sulks.Store(true)
	return m
}

// moody is a fan that takes no orders while it sulks.
type moody struct {
	drivers.Fan
	sulks atomic.Bool
}

func (m *moody) Set(ctx context.Context, stage drivers.Stage) error {
	if m.sulks.Load() {
		return fmt.Errorf("it sulks")
	}
	return m.Fan.Set(ctx, stage)
}

// TestHalfOfTheFansBookTheHeatOfHalf compares a house with one that has half of its fans. Half of
// the flow gives the air's heat better: with 0.6 of it at full flow and 1-0.4² at half, as the
// decision core reckons, that is 0.7 of the heat.
func TestHalfOfTheFansBookTheHeatOfHalf(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) {
			fan := c.houses()[0].fans[0]
			fan.device = sulking(fan.device)
		})
		pass(2 * time.Hour)
		half, full := f.Snapshots()[0].Account.Stores[0], f.Snapshots()[1].Account.Stores[0]
		if half.Fans[0].RunTotalS() != 0 || full.Fans[0].RunTotalS() < 100*60 {
			t.Fatalf("the fans ran for %v and %v s", half.Fans[0].RunTotalS(), full.Fans[0].RunTotalS())
		}
		// Of each hour of the fans: which house started first is chance. The 10 s in which one fan of
		// the other house ran alone are 0.2 % of its time.
		hour := half.Out.KWh() / half.Fans[1].RunTotalS()
		of := full.Out.KWh() / (full.Fans[0].RunTotalS() + full.Fans[1].RunTotalS()) * 2
		if got := hour / of; got < 0.69 || got > 0.71 {
			t.Errorf("%v of the heat is booked, want 0.7", got)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestWhatFansThatDoNotObeyTake wants of the heat that was expected in a tick the share of the flow
// that obeys.
func TestWhatFansThatDoNotObeyTake(t *testing.T) {
	one, two := decide.Fan{FlowM3s: 0.3, Levels: []float64{0.5, 1}}, decide.Fan{FlowM3s: 0.6, Levels: []float64{0.5, 1}}
	type stages = [decide.MaxFans]uint8
	tests := []struct {
		name           string
		wanted, really stages
		want           float64
	}{
		{"both obey", stages{2, 2}, stages{2, 2}, 1},
		{"the small one obeys", stages{2, 2}, stages{2, 0}, 1. / 3},
		{"the large one obeys", stages{2, 2}, stages{0, 2}, 2. / 3},
		{"the large one obeys at half speed, the small one was to stand", stages{0, 1}, stages{0, 1}, 1},
		{"of two at half speed the small one obeys", stages{1, 1}, stages{1, 0}, 1. / 3},
		{"none obeys", stages{2, 2}, stages{}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := decide.StoreDecision{Stages: tt.wanted, HeatW: -3000, LatentW: 600, CondensateKgS: 9e-4}
			really := d
			really.Stages = tt.really
			lessen(&really, &d, []decide.Fan{one, two})
			for _, got := range []float64{really.HeatW / -3000, really.LatentW / 600, really.CondensateKgS / 9e-4} {
				if math.Abs(got-tt.want) > 1e-12 {
					t.Errorf("left is %+v, want the share %v of %+v", really, tt.want, d)
				}
			}
		})
	}
}
