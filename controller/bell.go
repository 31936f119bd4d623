package controller

import (
	"context"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"loambank/config"
	"loambank/controller/alarm"
	"loambank/controller/decide"
)

// bell holds the alarm output: energised while all is well. The zero value has none.
type bell struct {
	mu       sync.Mutex // for the settings and the output, which a reload changes
	settings alarm.Settings
	output   *fan // nil where none is stated

	acknowledged atomic.Bool // a person has heard it
}

// next puts other settings in force. An output whose stanza is the same is carried over.
func (b *bell) next(ctx context.Context, s *config.Settings, log *slog.Logger) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.settings = s.Alarm.Settings
	if b.output != nil && s.Alarm.Present && b.output.stanza.Same(s.Alarm.Output) {
		return
	}
	if f := b.output; f != nil {
		closed, cancel := context.WithTimeout(ctx, stopTimeout)
		defer cancel()
		f.worker.close()
		if err := closing(closed, f.worker.closed, "alarm output"); err != nil {
			log.Error("alarm output does not close", keyError, err)
		}
		b.output = nil
	}
	if s.Alarm.Present {
		b.output = newFan(s.Alarm.Output)
		b.output.worker.begin(order{ctx: ctx, open: true})
		b.output.since = time.Now()
	}
}

// ring asks every second what sounds, and holds the output, until ctx is done.
func (c *Controller) ring(ctx context.Context) {
	clock, last := c.board.clock, c.board.clock.Now()
	var st alarm.State
	told := *c.sounding.Load()
	for clock.sleep(ctx, clock.after(time.Second), nil) != stopped {
		now := clock.Now()
		dtS := now.Sub(last).Seconds()
		last = now
		var houses []decide.Alarms
		for _, r := range *c.runners.Load() {
			if s := r.snapshot.Load(); s != nil {
				houses = append(houses, s.Decision.Alarms)
			}
		}
		sounds, next := c.bell.step(ctx, st, houses, dtS)
		st = next
		c.sounding.Store(&sounds)
		for cause, on := range sounds {
			switch {
			case on && !told[cause]:
				c.log.Error("alarm", keyCause, alarm.Cause(cause).String())
			case !on && told[cause]:
				c.log.Info("alarm is over or acknowledged", keyCause, alarm.Cause(cause).String())
			}
		}
		told = sounds
		c.bell.report(c)
	}
}

// step finds what sounds and drives the output.
func (b *bell) step(ctx context.Context, st alarm.State, houses []decide.Alarms, dtS float64) ([alarm.Causes]bool, alarm.State) {
	b.mu.Lock()
	defer b.mu.Unlock()
	sounds, st := alarm.Step(&b.settings, st, houses, b.acknowledged.Swap(false), dtS)
	if b.output == nil {
		return sounds, st
	}
	var well uint8 = 1
	if sounds != [alarm.Causes]bool{} {
		well = 0
	}
	drive(ctx, []*fan{b.output}, func(*fan) uint8 { return well })
	return sounds, st
}

// report logs when the output stops obeying and when it obeys again.
func (b *bell) report(c *Controller) {
	b.mu.Lock()
	defer b.mu.Unlock()
	f := b.output
	if f == nil {
		return
	}
	switch {
	case f.err != nil && !f.told:
		c.log.Error("alarm output does not obey", keyError, f.err)
	case f.err == nil && f.told:
		c.log.Info("alarm output obeys again")
	}
	f.told = f.err != nil
}

// close lets the output fall, which sounds the bell: nobody watches any more.
func (b *bell) close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.output == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), stopTimeout)
	defer cancel()
	b.output.worker.close()
	return closing(ctx, b.output.worker.closed, "alarm output")
}

// Acknowledge silences what sounds now for a time. who is logged. It is safe from any goroutine.
func (c *Controller) Acknowledge(who Person) {
	c.bell.acknowledged.Store(true)
	c.log.Info("alarm acknowledged", "who", who.String())
}
