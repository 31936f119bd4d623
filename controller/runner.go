package controller

import (
	"context"
	"errors"
	"log/slog"
	"runtime/debug"
	"sync/atomic"
	"time"

	"loambank/config"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/sentence"
)

// runner is one house with its devices. One goroutine owns it; others read its snapshot.
type runner struct {
	place    int // in the gate
	s        *config.House
	board    *board
	tick     time.Duration
	log      *slog.Logger
	speaker  sentence.Speaker
	currency string
	turn     config.Turn
	source   []byte // the settings file

	*devices
	simulation *simulation
	learns     learn.Settings
	learnt     learn.Params
	coldNight  learn.Temp               // the climate's one-in-ten night
	typed      atomic.Pointer[typedLow] // nil where nobody said how cold tonight gets
	savings    savings
	nights     night
	house      *house.House
	account    *ledger.House
	raw        []judge.Raw

	begun    bool
	last     time.Time       // of a tick, with the monotonic reading that the site's time has not
	bookedS  float64         // of the time since, s
	inForce  decide.Decision // what the fans really do since the last tick
	mended   mending
	inbox    inbox
	snapshot atomic.Pointer[Snapshot]
	memory   atomic.Pointer[memory]

	rounds       atomic.Pointer[rounds]
	watch        commission.Watch
	strays       []commission.Comparison // as they were logged
	watchedSince time.Time               // the beginning of the round that watch is held against
}

// board is what the houses of a farm share.
type board struct {
	clock Clock
	// set says that the clock was believed once, or that a person says it is right: it runs on from
	// there and is off by seconds a day, also when its time service is gone.
	set    atomic.Bool
	began  time.Time
	gate   *gate
	keeper *keeper // nil keeps nothing
	// history is nil where none is kept.
	history *history.DB
}

// monotonicS is the time from the start of the program to now, which the clock itself gave, s.
func (b *board) monotonicS(now time.Time) float64 { return now.Sub(b.began).Seconds() }

// believed reports whether the wall time is a calendar.
func (b *board) believed() bool {
	since := b.keeper.since()
	if b.clock.Believed(since) {
		b.set.Store(true)
		return true
	}
	return b.set.Load() && plausible(b.clock.Now(), since)
}

// loop ticks until ctx is done. It leaves the fans as they are.
func (r *runner) loop(ctx context.Context) {
	next, early := r.board.clock.Now(), false
	for {
		again := r.survive(ctx, early)
		if early {
			next = r.board.clock.Now()
		}
		next = next.Add(again)
		if now := r.board.clock.Now(); next.Before(now) {
			next = now // a late tick is not made up
		}
		switch r.rest(ctx, next) {
		case stopped:
			return
		case called:
			early = true
		case slept:
			early = false
		}
	}
}

// rest sleeps until the next tick, unless an interlock trips or a person gives an order.
func (r *runner) rest(ctx context.Context, next time.Time) woken {
	clock := r.board.clock
	for {
		until := next
		poll := clock.machine(next.Sub(clock.Now())) > interlockEvery && r.interlocked()
		if poll {
			until = clock.after(interlockEvery)
		}
		if why := clock.sleep(ctx, until, r.inbox.called); why != slept || !poll {
			return why
		}
		if r.tripped(ctx) {
			return called
		}
	}
}

// survive is step, but a programmer's mistake in one house costs that house its eyes for a while,
// never the board: it does its fallback duty.
func (r *runner) survive(ctx context.Context, early bool) (again time.Duration) {
	defer func() {
		if fault := recover(); fault != nil {
			r.mend(ctx, fault, debug.Stack())
			again = r.tick
		}
	}()
	return r.step(ctx, early)
}

// step is one tick. It returns the time until the next.
func (r *runner) step(ctx context.Context, early bool) time.Duration {
	began := time.Now()
	wait := readWait
	if early {
		wait = quickWait
	}
	read(ctx, r.probes, r.raw, wait)
	if ctx.Err() != nil {
		return 0 // readings cut short decide nothing, and no fan starts while the program stops
	}
	for i, p := range r.probes {
		if p.err != nil && !(early && errors.Is(p.err, errHung)) { // it had no time to answer
			r.account.Probes[i].Errors++
		}
	}
	at := r.board.clock.Now()
	now := r.s.House.Decide.Season.Site.Local(at) // the calendar alone: what passes goes by at
	stepS := 0.0
	if r.begun {
		stepS = at.Sub(r.last).Seconds()
	}
	seen, said := r.see(stepS, at)
	result := r.house.Tick(seen, now)
	r.account.Add(&r.s.House.Decide, &result.Inputs, &r.inForce, stepS-r.bookedS)
	r.learn(&result, stepS)
	r.watchFans(&result, stepS)
	r.tellSaved(result.Decision.Prices, now)
	r.logProbes(result.Verdicts)
	changed := r.act(ctx, &result, at)
	r.begun, r.last, r.bookedS = true, at, 0
	r.remember()
	r.snapshot.Store(r.take(&result, now, time.Since(began)))
	r.journal(now, &seen, &result, said)
	r.inbox.done()
	if changed || len(said) > 0 {
		r.board.keeper.change()
	}
	return r.again(&result.Decision)
}

// see is what this tick is given, and what people said. It asks the gate, which waits for act to tell.
func (r *runner) see(stepS float64, at time.Time) (house.Seen, []said) {
	settle(r.fans)
	seen := house.Seen{StepS: stepS, Believed: r.board.believed(), Raw: r.raw}
	if r.mended.blind(stepS) {
		seen.Raw = nil
	}
	said := r.inbox.take(&seen)
	for _, f := range r.fans {
		seen.Down[f.store][f.index] = f.err != nil
	}
	seen.Grant = r.board.gate.ask(r.place, r.board.monotonicS(at))
	return seen, said
}

// again is the time until the next tick.
func (r *runner) again(d *decide.Decision) time.Duration {
	const least = time.Second
	again := r.tick
	if d.AgainS > 0 {
		again = min(again, time.Duration(d.AgainS*float64(time.Second)))
	}
	for i := range d.Stores {
		if d.Stores[i].Waiting.Code == decide.WaitGrant {
			again = least
		}
	}
	for _, f := range r.fans {
		if f.worker.busy && f.err == nil && f.asked != d.Stores[f.store].Stages[f.index] {
			// It is only slow, and waits for another order than the one that is out.
			again = least
		}
	}
	return max(again, min(least, r.tick))
}

// act drives the fans and settles what they really do. It reports whether that has changed.
func (r *runner) act(ctx context.Context, result *house.Result, at time.Time) bool {
	d := &result.Decision
	drive(ctx, r.fans, func(f *fan) uint8 { return d.Stores[f.store].Stages[f.index] })
	really := *d
	for _, f := range r.fans {
		if !f.sure {
			really.Stores[f.store].Stages[f.index] = 0
		}
	}
	s := &r.s.House.Decide
	for i := range s.Stores {
		lessen(&really.Stores[i], &d.Stores[i], s.Stores[i].Fans)
	}
	r.tell(result, at)
	r.account.Starts(s, &r.inForce, &really)
	changed := r.logChanges(&really)
	r.inForce = really
	return changed
}

// lessen takes from what was expected of a store's fans the share of those that do not obey.
func lessen(really, d *decide.StoreDecision, fans []decide.Fan) {
	if really.Stages == d.Stages {
		return
	}
	wanted, obeyed := 0.0, 0.0
	for j := range fans {
		wanted += fans[j].FlowAt(d.Stages[j])
		obeyed += fans[j].FlowAt(really.Stages[j])
	}
	share := 0.0
	if wanted > 0 {
		share = obeyed / wanted
	}
	really.HeatW *= share
	really.LatentW *= share
	really.CondensateKgS *= share
}

// tell tells the gate what the house now draws and waits for. A fan whose stage is not known is
// taken to draw what it was told.
func (r *runner) tell(result *house.Result, at time.Time) {
	s, d := &r.s.House.Decide, &result.Decision
	c := claim{frost: overFrost(s, &result.Inputs, d), onGenerator: result.Inputs.OnGenerator == decide.On}
	started := false
	for i := range s.Stores {
		code := d.Stores[i].Waiting.Code
		c.wants = c.wants || code == decide.WaitGrant || code == decide.WaitPower
		for j := range s.Stores[i].Fans {
			stage := d.Stores[i].Stages[j]
			c.drawnW += s.Stores[i].Fans[j].PowerAt(stage)
			started = started || stage > 0 && r.inForce.Stores[i].Stages[j] == 0
		}
	}
	r.board.gate.tell(r.place, r.board.monotonicS(at), c, started)
}
