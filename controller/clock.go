package controller

import (
	"context"
	"time"
)

// Clock is the shell's only source of time. Its zero value is the machine's own clock.
type Clock struct {
	speed float64   // of time; 0 is the machine's own clock
	start time.Time // when a scaled clock began, by the machine
	from  time.Time // and what it showed then
}

// Scaled returns a clock that shows from now and runs speed times as fast as the machine's.
func Scaled(speed float64, from time.Time) Clock {
	return Clock{speed: speed, start: time.Now(), from: from}
}

// Now returns the wall time. Differences of two are monotonic.
func (c Clock) Now() time.Time {
	if c.speed == 0 {
		return time.Now()
	}
	return c.from.Add(time.Duration(float64(time.Since(c.start)) * c.speed))
}

// oldest is a time before which no clock of this program can be right: it was not written yet.
var oldest = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// Believed reports whether the wall time may be used as a calendar. A board without a battery
// clock boots in the past.
func (c Clock) Believed() bool { return c.speed != 0 || c.Now().After(oldest) }

// Sleep waits until the clock shows until, or until ctx is done. It reports whether it slept it out.
func (c Clock) Sleep(ctx context.Context, until time.Time) bool {
	d := until.Sub(c.Now())
	if c.speed != 0 {
		d = time.Duration(float64(d) / c.speed)
	}
	if d <= 0 {
		return ctx.Err() == nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}
