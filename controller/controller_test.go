package controller

import (
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/drivers"
)

// TestAHouseWithoutDevicesTouchesNoOther has one house whose whole folder is missing.
func TestAHouseWithoutDevicesTouchesNoOther(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	if err := os.RemoveAll(g.dir + "/upper"); err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10*time.Minute + time.Second)
		all := f.Snapshots()
		if len(all) != 2 {
			t.Fatalf("%d houses tick, want both", len(all))
		}
		lower, upper := all[0], all[1]
		if lower.Decision.Stores[0].State != decide.Discharge || g.holds("lower/east") != "1" || len(lower.Down) != 0 {
			t.Errorf("the other house is in %v, its fan holds %s, down are %v",
				lower.Decision.Stores[0].State, g.holds("lower/east"), lower.Down)
		}
		if len(upper.Down) != 2 || upper.Account.Probes[0].Errors != 61 || upper.Decision.Stores[0].Running() {
			t.Errorf("down are %v, errors %v", upper.Down, upper.Account.Probes)
		}
		if !strings.HasPrefix(upper.Sentence, "CROP NOT WATCHED") {
			t.Errorf("the grower is told: %s", upper.Sentence)
		}
		for _, fan := range []string{"upper/beds/east", "upper/beds/west"} {
			if n := f.log.with("level=ERROR", "house=upper", "fan does not obey", "fan="+fan, "farm.toml:", "the device is not there"); n != 1 {
				t.Errorf("%s was named %d times, want once", fan, n)
			}
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
		if g.holds("lower/east") != "0" {
			t.Error("the fan was left on")
		}
	})
}

// TestScaledClockIsRefusedNearHardware changes one stanza of a farm of plain files.
func TestScaledClockIsRefusedNearHardware(t *testing.T) {
	probe := func(s *config.Settings, path string) { s.Houses[1].Probes[1].Path = path }
	fan := func(s *config.Settings, path string) { s.Houses[1].Fans[0][1].Path = path }
	bell := func(s *config.Settings, path string) {
		s.Alarm = config.Alarm{Present: true, Output: drivers.Stanza{Where: "farm.toml:9", Name: "alarm", Driver: "file", Path: path}}
	}
	tests := []struct {
		name string
		set  func(*config.Settings, string)
		path string
		want string
	}{
		{"a probe in the kernel's tree", probe, "/sys/bus/w1/devices/28-0000075a1c02/w1_slave", "probe upper/beds/deep may be real hardware"},
		{"a probe that is a device", probe, "/dev/ttyUSB0", "probe upper/beds/deep may be real hardware"},
		{"a fan in the kernel's tree", fan, "/sys/class/leds/west/brightness", "fan upper/beds/west may be real hardware"},
		{"a fan that is a device", fan, "/dev/ttyUSB0", "fan upper/beds/west may be real hardware"},
		{"an alarm output that is a device", bell, "/dev/ttyUSB0", "the alarm's output may be real hardware"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower", "upper")
			tt.set(g.s, tt.path)
			c, err := New(t.Context(), g.s, Options{Clock: Scaled(60, from)})
			if c != nil || err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "farm.toml:") {
				t.Errorf("got %v, %v; want it refused: %s", c, err, tt.want)
			}
			if _, err := os.Stat(g.dir + "/lower/east"); err == nil {
				t.Error("a device was opened all the same")
			}
		})
	}
}

// TestFansFollowTheirStaggerNotTheTick has ticks of ten minutes: the second fan starts as soon as
// the stagger after the first lets it.
func TestFansFollowTheirStaggerNotTheTick(t *testing.T) {
	g := stake(t, "10 min", "lower")
	stagger := time.Duration(g.s.Houses[0].House.Decide.StaggerS * float64(time.Second))
	if stagger < 2*time.Second {
		t.Fatalf("the stagger is %v: too short to see", stagger)
	}
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(10*time.Minute + time.Second) // the second tick, after the minimum rest
		if east, west := g.holds("lower/east"), g.holds("lower/west"); east != "1" || west != "0" {
			t.Errorf("the fans hold %s and %s, want only the first on", east, west)
		}
		pass(stagger)
		if west := g.holds("lower/west"); west != "1" {
			t.Errorf("after the stagger the second fan holds %s, want 1", west)
		}
		pass(5 * time.Minute)
		if s := f.Snapshots()[0]; s.Time.After(from.Add(11 * time.Minute)) {
			t.Errorf("the last tick was at %v: there is no hurry any more", s.Time)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestALateTickIsNotMadeUp has ticks of 0.6 s, the first of which waits a second for a probe.
func TestALateTickIsNotMadeUp(t *testing.T) {
	g := stake(t, "1 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		const tick = 600 * time.Millisecond
		var air, deep *sticky
		f := g.run(t, func(c *Controller) {
			air, deep = swap(c, 0), swap(c, 1)
			air.stick()
			c.houses()[0].tick = tick
		})
		pass(10*time.Second + 100*time.Millisecond)
		at := deep.calls()
		if len(at) != 17 {
			t.Errorf("%d ticks in ten seconds, want 17: the one that was missed stays missed", len(at))
		}
		for i := 1; i < len(at); i++ {
			if gap := at[i].Sub(at[i-1]); gap < tick {
				t.Errorf("ticks %d and %d are %v apart", i-1, i, gap)
			}
		}
		air.free()
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestSnapshotsAreNeverChanged keeps one while the house goes on.
func TestSnapshotsAreNeverChanged(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, func(c *Controller) {
			if len(c.View().Houses) != 0 {
				t.Error("there is a snapshot before the first tick")
			}
		})
		pass(10*time.Minute + time.Second)
		kept := f.Snapshots()[0]
		run, verdict, missed := kept.Account.Stores[0].Fans[0].RunTotalS(), kept.Verdicts[0], kept.Account.Probes[0].Errors
		g.remove("lower/air")
		pass(20 * time.Minute)
		if now := f.Snapshots()[0]; now == kept || now.Account.Probes[0].Errors == missed || now.Account.Stores[0].Fans[0].RunTotalS() == run {
			t.Error("the house did not go on: nothing is proven")
		}
		if kept.Account.Stores[0].Fans[0].RunTotalS() != run || kept.Verdicts[0] != verdict || kept.Account.Probes[0].Errors != missed {
			t.Error("a snapshot changed after it was given out")
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}
