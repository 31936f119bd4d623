package controller

import (
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
)

// TestWhatWasLearnedSurvives runs two days, ends, and begins again; then the file is damaged.
func TestWhatWasLearnedSurvives(t *testing.T) {
	g := stake(t, "5 min", "lower")
	g.keep()
	path := filepath.Join(g.state, "learned.json")
	synctest.Test(t, func(t *testing.T) {
		const speed = 600
		g.clock = Scaled(speed, from)
		f := g.run(t, nil)
		pass(30 * time.Minute / speed)
		if _, err := os.Stat(path); err != nil {
			t.Errorf("nothing is written at the start: %v", err)
		}
		first, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		g.put("lower/air", "2.5") // decisions change, but not an hour has passed
		pass(10 * time.Minute / speed)
		if now, err := os.ReadFile(path); err != nil || string(now) != string(first) {
			t.Errorf("it is written again within the hour: %v", err)
		}
		pass(2 * 24 * time.Hour / speed)
		s := f.Snapshots()[0]
		if low := s.Tonight.Low; !s.Tonight.Known || s.Tonight.Stores[0].UsefulKWh <= 0 {
			t.Errorf("nothing is told of tonight: %+v, low %+v", s.Tonight, low)
		}
		must(t, f.end())
		want := f.houses()[0].learnt
		if flow := want.Values(&f.houses()[0].learns, 0).FlowM3s; flow.Value <= 0 {
			t.Errorf("the flow is told as %+v", flow)
		}
		if !want.Begun {
			t.Fatal("nothing was learned")
		}
		f = g.run(t, func(c *Controller) { // before it ticks, which learns
			if diff := cmp.Diff(want, c.houses()[0].learnt); diff != "" {
				t.Errorf("after a restart (-before +after):\n%s", diff)
			}
		})
		// What was learned follows the store's name through a reload.
		must(t, f.Reload(g.edit(`name   = "beds"`, `name   = "path"`)))
		must(t, f.end())
		if got := f.houses()[0].learnt; got.Stores[0].RanS != 0 || cmp.Diff(want.House, got.House) != "" {
			t.Errorf("another store has learned for %v s, the house (-before +after):\n%s", got.Stores[0].RanS, cmp.Diff(want.House, got.House))
		}
		for name, damaged := range map[string]string{"a damaged file": "{", "one of an older form": `{"schema":1,"houses":{}}`} {
			must(t, os.WriteFile(path, []byte(damaged), 0o600))
			f = g.run(t, nil)
			if f.log.with("level=ERROR", "learn anew") != 1 {
				t.Errorf("%s is not told", name)
			}
			pass(time.Hour / speed)
			must(t, f.end())
			if text, err := os.ReadFile(path); err != nil || len(text) < 100 {
				t.Errorf("%s was not written anew: %d bytes, %v", name, len(text), err)
			}
		}
	})
}

func TestTheNightThatIsLeft(t *testing.T) {
	g := stake(t, "5 min", "lower")
	site := g.s.Houses[0].House.Decide.Season.Site
	// At 43.1 °N on 20 January the sun sets at 16:55 and rises at 7:22 solar time (NOAA's equations).
	at := func(day, hour, minute int) time.Time {
		return time.Date(2026, time.January, day, hour, minute, 0, 0, time.UTC)
	}
	for _, tt := range []struct {
		name string
		now  time.Time
		low  float64 // h
		high float64
	}{
		{"in the evening", at(20, 22, 0), 10.2, 10.8},
		{"before sunrise", at(21, 5, 0), 3.2, 3.8},
		{"after sunrise the house is cold for an hour", at(21, 8, 0), 0.2, 0.8},
		{"by day the whole night is to come", at(20, 12, 0), 15, 16},
	} {
		if h := new(night).leftS(site, tt.now) / 3600; h < tt.low || h > tt.high {
			t.Errorf("%s: %.2f h", tt.name, h)
		}
	}
}

// TestTheNightIsAskedForOnce: what is kept of the almanac tells the same as asking it each time, also
// after the clock was set.
func TestTheNightIsAskedForOnce(t *testing.T) {
	g := stake(t, "5 min", "lower")
	site := g.s.Houses[0].House.Decide.Season.Site
	var kept night
	now := from
	for range 3 * 24 * 12 {
		now = now.Add(5 * time.Minute)
		if got, want := kept.leftS(site, now), new(night).leftS(site, now); got != want {
			t.Fatalf("at %v the night is told as %v s, want %v", now, got, want)
		}
	}
	for _, jump := range []time.Duration{-30 * 24 * time.Hour, 200 * 24 * time.Hour, -26 * time.Hour, -90 * time.Minute} {
		now = now.Add(jump)
		if got, want := kept.leftS(site, now), new(night).leftS(site, now); got != want {
			t.Errorf("after a jump of %v the night is told as %v s, want %v", jump, got, want)
		}
	}
}
