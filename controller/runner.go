package controller

import (
	"context"
	"log/slog"
	"runtime/debug"
	"sync/atomic"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/sentence"
)

// runner is one house with its devices. One goroutine owns it; others read its snapshot.
type runner struct {
	s        *config.House
	clock    Clock
	tick     time.Duration
	log      *slog.Logger
	speaker  sentence.Speaker
	currency string

	house   *house.House
	account *ledger.House
	probes  []*probe
	fans    []*fan
	raw     []judge.Raw

	begun    bool
	last     time.Time
	inForce  decide.Decision // what the fans really do since the last tick
	told     []bool          // a probe's fault has been logged
	snapshot atomic.Pointer[Snapshot]
}

// loop ticks until ctx is done.
func (r *runner) loop(ctx context.Context) {
	next := r.clock.Now()
	for r.clock.Sleep(ctx, next) {
		again := r.survive(ctx)
		next = next.Add(again)
		if now := r.clock.Now(); next.Before(now) {
			next = now // a late tick is not made up
		}
	}
}

// survive is step, but a programmer's mistake in one house costs that house its memory and its
// running fans, never the board: every fan goes off, and the house begins anew.
func (r *runner) survive(ctx context.Context) (again time.Duration) {
	defer func() {
		fault := recover()
		if fault == nil {
			return
		}
		r.log.Error("tick broke off; fans off, the house begins anew", keyError, fault, keyStack, string(debug.Stack()))
		drive(ctx, r.fans, func(*fan) uint8 { return 0 })
		r.house = house.New(&r.s.House, house.State{})
		r.begun, r.inForce, again = false, decide.Decision{Window: -1}, r.tick
	}()
	return r.step(ctx)
}

// step is one tick. It returns the time until the next.
func (r *runner) step(ctx context.Context) time.Duration {
	read(ctx, r.probes, r.raw)
	if ctx.Err() != nil {
		return 0 // readings cut short decide nothing, and no fan starts while the program stops
	}
	now := r.clock.Now()
	stepS := 0.0
	if r.begun {
		stepS = now.Sub(r.last).Seconds()
	}
	r.account.Add(&r.s.House.Decide, &r.inForce, stepS)
	result := r.house.Tick(house.Seen{StepS: stepS, Believed: r.clock.Believed(), Raw: r.raw}, now)
	r.logProbes(result.Verdicts)
	r.act(ctx, result.Decision)
	r.begun, r.last = true, now
	r.snapshot.Store(r.take(&result, now))

	again := r.tick
	if hurry := result.Decision.AgainS; hurry > 0 {
		again = min(again, max(time.Second, time.Duration(hurry*float64(time.Second))))
	}
	return again
}

// act drives the fans and books what they really took over.
func (r *runner) act(ctx context.Context, d decide.Decision) {
	drive(ctx, r.fans, func(f *fan) uint8 { return d.Stores[f.store].Stages[f.index] })
	really := d
	for _, f := range r.fans {
		if f.worker == nil || f.unsure {
			really.Stores[f.store].Stages[f.index] = 0
		}
	}
	for i := range r.s.House.Decide.Stores {
		if s := &really.Stores[i]; !s.Running() {
			s.HeatW, s.LatentW, s.CondensateKgS = 0, 0, 0
		}
	}
	r.account.Starts(&r.s.House.Decide, &r.inForce, &really)
	r.logChanges(&really)
	r.inForce = really
}

// logChanges writes a line for every store whose state or stages changed, and for every fan whose
// fault came or went.
func (r *runner) logChanges(d *decide.Decision) {
	for i := range r.s.House.Decide.Stores {
		is, was := &d.Stores[i], &r.inForce.Stores[i]
		if r.begun && is.State == was.State && is.Stages == was.Stages {
			continue
		}
		r.log.Info("state changed", keyStore, r.s.House.Decide.Stores[i].Name, keyState, is.State.String(),
			keyReason, is.Reason.Code.String(), keyWhy, r.speaker.Why(&r.s.House.Decide, is.Reason))
	}
	for _, f := range r.fans {
		switch {
		case f.err != nil && !f.told:
			r.log.Error("fan does not obey", keyFan, f.stanza.Name, keyError, f.err)
		case f.err == nil && f.told:
			r.log.Info("fan obeys again", keyFan, f.stanza.Name)
		}
		f.told = f.err != nil
	}
}

// logProbes writes a line when a probe goes bad and when it comes back.
func (r *runner) logProbes(verdicts []judge.Verdict) {
	for i, p := range r.probes {
		bad := !verdicts[i].Quality.Usable()
		switch {
		case bad && !r.told[i]:
			r.log.Warn("probe is bad", keyProbe, p.stanza.Name, keyCause, verdicts[i].Cause.String(), keyError, p.err)
		case !bad && r.told[i]:
			r.log.Info("probe is back", keyProbe, p.stanza.Name)
		}
		r.told[i] = bad
	}
}
