package controller

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// from is what scaled clocks start at.
var from = time.Date(2026, time.January, 20, 23, 0, 0, 0, time.UTC)

func TestClockShowsTheTime(t *testing.T) {
	tests := []struct {
		name  string
		clock func() Clock
		after time.Duration
		want  func(start time.Time) time.Time
	}{
		{"the machine's own", func() Clock { return Clock{} }, time.Minute, func(start time.Time) time.Time { return start.Add(time.Minute) }},
		{"sixty times as fast", func() Clock { return Scaled(60, from) }, time.Minute, func(time.Time) time.Time { return from.Add(time.Hour) }},
		{"half as fast", func() Clock { return Scaled(0.5, from) }, time.Minute, func(time.Time) time.Time { return from.Add(30 * time.Second) }},
		{"a scaled one starts where it is told", func() Clock { return Scaled(60, from) }, 0, func(time.Time) time.Time { return from }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				start := time.Now()
				c := tt.clock()
				time.Sleep(tt.after)
				if got, want := c.Now(), tt.want(start); !got.Equal(want) {
					t.Errorf("it shows %v, want %v", got, want)
				}
			})
		})
	}
}

func TestClockSleeps(t *testing.T) {
	tests := []struct {
		name  string
		speed float64
		until time.Duration // from what the clock shows
		stop  time.Duration // 0 is never
		slept bool
		took  time.Duration
	}{
		{"until its time", 0, time.Minute, 0, true, time.Minute},
		{"a sixtieth of it at sixty times the speed", 60, time.Minute, 0, true, time.Second},
		{"twice as long at half the speed", 0.5, time.Minute, 0, true, 2 * time.Minute},
		{"not at all for a time that is past", 0, -time.Hour, 0, true, 0},
		{"nor for now", 60, 0, 0, true, 0},
		{"no longer than it may", 0, time.Minute, 10 * time.Second, false, 10 * time.Second},
		{"and not for the past once it must not", 60, -time.Hour, -1, false, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ctx, stop := context.WithCancel(t.Context())
				defer stop()
				if tt.stop > 0 {
					timer := time.AfterFunc(tt.stop, stop)
					defer timer.Stop()
				} else if tt.stop < 0 {
					stop()
				}
				var c Clock
				if tt.speed != 0 {
					c = Scaled(tt.speed, from)
				}
				start := time.Now()
				if slept := c.Sleep(ctx, c.Now().Add(tt.until)); slept != tt.slept {
					t.Errorf("slept it out: %v, want %v", slept, tt.slept)
				}
				if took := time.Since(start); took != tt.took {
					t.Errorf("it took %v, want %v", took, tt.took)
				}
			})
		})
	}
}

// TestASleepIsCalledOff lets a sleeper be called before its time.
func TestASleepIsCalledOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		call := make(chan struct{}, 1)
		timer := time.AfterFunc(10*time.Second, func() { call <- struct{}{} })
		defer timer.Stop()
		start := time.Now()
		if why := (Clock{}).sleep(t.Context(), start.Add(time.Minute), call); why != called || time.Since(start) != 10*time.Second {
			t.Errorf("woken for reason %d after %v", why, time.Since(start))
		}
	})
}

func TestATimeIsPlausible(t *testing.T) {
	kept := time.Date(2026, time.November, 3, 4, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		name  string
		now   time.Time
		since time.Time
		want  bool
	}{
		{"a board that boots in 1970", time.Unix(30, 0), time.Time{}, false},
		{"the first second of the year of this program", oldest, time.Time{}, false},
		{"after it, where nothing is known", oldest.Add(time.Second), time.Time{}, true},
		{"before what was believed when the program last ran", kept.Add(-time.Second), kept, false},
		{"from then on", kept, kept, true},
	} {
		if got := plausible(tt.now, tt.since); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
	if !Scaled(60, time.Unix(0, 0)).Believed(kept) {
		t.Error("a scaled clock is not believed, whose time was given by a person")
	}
	if (Clock{}).Believed(time.Now().Add(time.Hour)) {
		t.Error("a time that was passed already is believed")
	}
}
