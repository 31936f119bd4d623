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
	hands source    // of one that is not scaled; nil is the machine's
}

// source is where a clock has its time from.
type source interface {
	now() time.Time // whose differences are monotonic, whatever the wall time does
	set() bool      // whether somebody has set the wall time
}

// Scaled returns a clock that shows from now and runs speed times as fast as the machine's.
func Scaled(speed float64, from time.Time) Clock {
	return Clock{speed: speed, start: time.Now(), from: from}
}

// Now returns the wall time. Differences of two are monotonic.
func (c Clock) Now() time.Time {
	switch {
	case c.speed != 0:
		return c.from.Add(time.Duration(float64(time.Since(c.start)) * c.speed))
	case c.hands != nil:
		return c.hands.now()
	}
	return time.Now()
}

// oldest is a time before which no clock of this program can be right: it was not written yet.
var oldest = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// Believed reports whether the wall time may be used as a calendar: it is after since, which is
// known to have passed, and somebody has set it. A board without a battery clock boots in the past.
func (c Clock) Believed(since time.Time) bool {
	return c.speed != 0 || plausible(c.Now(), since) && c.wasSet()
}

func (c Clock) wasSet() bool {
	if c.hands != nil {
		return c.hands.set()
	}
	return clockWasSet()
}

// plausible reports whether a wall time can be right.
func plausible(now, since time.Time) bool { return now.After(oldest) && !now.Before(since) }

// machine is how long d takes by the machine's clock.
func (c Clock) machine(d time.Duration) time.Duration {
	if c.speed == 0 {
		return d
	}
	return time.Duration(float64(d) / c.speed)
}

// after is the time that the clock shows once d has passed by the machine's.
func (c Clock) after(d time.Duration) time.Time {
	if c.speed != 0 {
		d = time.Duration(float64(d) * c.speed)
	}
	return c.Now().Add(d)
}

// woken says why a sleep ended.
type woken uint8

const (
	slept   woken = iota // its time has come
	called               // somebody asks for a tick out of turn
	stopped              // the context is done
)

// Sleep waits until the clock shows until, or until ctx is done. It reports whether it slept it out.
func (c Clock) Sleep(ctx context.Context, until time.Time) bool {
	return c.sleep(ctx, until, nil) == slept
}

// sleep waits until the clock shows until, somebody calls, or ctx is done. A nil call never comes.
func (c Clock) sleep(ctx context.Context, until time.Time, call <-chan struct{}) woken {
	d := c.machine(until.Sub(c.Now()))
	if d <= 0 {
		if ctx.Err() != nil {
			return stopped
		}
		return slept
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return slept
	case <-call:
		return called
	case <-ctx.Done():
		return stopped
	}
}
