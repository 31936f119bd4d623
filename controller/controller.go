package controller

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/alarm"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/lesson"
	"loambank/controller/sentence"
)

// Controller is a farm with its devices open. Use New, Run, and nothing after Run.
type Controller struct {
	s     *config.Settings
	log   *slog.Logger
	board *board
	bell  bell
	gone  map[string]*memory // of houses that a reload took out

	swapping sync.RWMutex // held while a reload hands orders over
	runners  atomic.Pointer[[]*runner]
	reloads  chan reload
	ended    chan struct{} // closed when Run returns
	stale    atomic.Bool   // the settings file does not load; older settings are in force
	sounding atomic.Pointer[[alarm.Causes]bool]
}

// Options says how a farm is run. The zero value is in real time, silent, and keeps nothing.
type Options struct {
	Clock    Clock
	Log      *slog.Logger
	StateDir string // where accounts and what the houses remember are kept; empty keeps nothing
}

// New opens the devices of every house, which puts its fans off, and takes up what the state
// directory keeps. A device that does not open is named in the log, is down, and is tried again;
// a state directory that cannot be had is said in the log. It is an error when another process has
// that directory (ledger.ErrHeld), and when a scaled clock would meet real hardware.
func New(ctx context.Context, s *config.Settings, o Options) (*Controller, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Clock.speed != 0 {
		if err := refuseHardware(s); err != nil {
			return nil, err
		}
	}
	c := &Controller{
		log: o.Log, board: &board{clock: o.Clock, began: o.Clock.Now()},
		gone: map[string]*memory{}, reloads: make(chan reload), ended: make(chan struct{}),
	}
	c.runners.Store(new([]*runner))
	c.sounding.Store(new([alarm.Causes]bool))
	if o.StateDir != "" {
		k, err := openKeeper(o.StateDir, o.Clock, o.Log)
		if err != nil {
			return nil, err
		}
		c.board.keeper = k
		c.openHistory(o.StateDir)
	}
	if err := c.build(ctx, s, nil); err != nil {
		return nil, errors.Join(err, c.closeHistory(), c.board.keeper.close()) // a model that lacks a probe: nothing was opened
	}
	return c, nil
}

func refuseHardware(s *config.Settings) error {
	const only = "--speed is for files and models only"
	if s.Alarm.Present && s.Alarm.Output.Hardware() {
		return fmt.Errorf("%s: the alarm's output may be real hardware; %s", s.Alarm.Output.Where, only)
	}
	for i := range s.Houses {
		h := &s.Houses[i]
		for _, p := range h.Probes {
			if p.Hardware() {
				return fmt.Errorf("%s: probe %s may be real hardware; %s", p.Where, p.Name, only)
			}
		}
		for _, fans := range h.Fans {
			for _, f := range fans {
				if f.Hardware() {
					return fmt.Errorf("%s: fan %s may be real hardware; %s", f.Where, f.Name, only)
				}
			}
		}
	}
	return nil
}

// build makes the houses of s the farm, each out of the one of its name in before.
func (c *Controller) build(ctx context.Context, s *config.Settings, before map[string]*runner) error {
	houses := make([]*config.House, len(s.Houses))
	simulations := make([]*simulation, len(s.Houses))
	for i := range s.Houses {
		var was *simulation
		if r := before[s.Houses[i].House.Name]; r != nil {
			was = r.simulation
		}
		var err error
		if houses[i], simulations[i], err = simulated(played(&s.Houses[i], c.board.clock), c.board.clock, was); err != nil {
			return err
		}
	}
	c.s = s
	c.board.gate = c.board.gate.next(s)
	c.swapping.Lock()
	defer c.swapping.Unlock()
	c.drop(before)
	var all []*runner
	for i, h := range houses {
		r := c.runner(i, h, simulations[i])
		if was := before[h.House.Name]; was != nil {
			r.follow(ctx, was)
		} else {
			c.begin(ctx, r)
		}
		r.account.Watch(probeNames(&h.House))
		r.remember()
		all = append(all, r)
	}
	opening, cancel := context.WithTimeout(ctx, openTimeout)
	defer cancel()
	for _, r := range all {
		r.opened(opening)
	}
	c.bell.next(ctx, s, c.log)
	c.runners.Store(&all)
	c.board.keeper.keepSettings(s.Source)
	return nil
}

// runner is a house without a past.
func (c *Controller) runner(i int, h *config.House, sim *simulation) *runner {
	s := c.s
	return &runner{
		place: i, s: h, board: c.board, tick: time.Duration(s.TickS * float64(time.Second)),
		log:      c.log.With(keyHouse, h.House.Name),
		speaker:  sentence.Speaker{Display: s.Display, Currency: unit.Symbol(s.Currency)},
		currency: s.Currency, turn: s.Turn, coldNight: learn.Temp{C: s.ColdNight, Known: s.ColdNightIs}, source: s.Source, simulation: sim, learns: lesson.Settings(h),
		raw:     make([]judge.Raw, len(h.House.Probes)),
		inForce: decide.Decision{Window: -1},
		inbox:   inbox{called: make(chan struct{}, 1)},
	}
}

// begin gives a house the past that is on disk, or none.
func (c *Controller) begin(ctx context.Context, r *runner) {
	h := &r.s.House
	account, saved := c.board.keeper.house(h.Name, c.board.believed())
	l := c.board.keeper.learnedOf(h.Name)
	if gone := c.gone[h.Name]; gone != nil {
		account, saved, l = gone.account, gone.saved.Restarted(0, false), gone.learned
		delete(c.gone, h.Name)
	}
	r.learnt, r.savings.marks = l.of(r.s), l.Saving
	r.typed.Store(l.Low)
	r.recall()
	r.watch, r.watchedSince = l.Watch, l.WatchedSince
	r.trustSaved(&saved)
	r.house = house.Restore(h, saved)
	r.begins(history.Started, saved)
	r.account = ledger.Adopt(account, h.Name, &h.Decide)
	r.devices = wire(ctx, r.s, carry(r.s, &devices{}))
}

func probeNames(h *house.Settings) []string {
	names := make([]string, len(h.Probes))
	for i := range h.Probes {
		names[i] = h.Probes[i].Name
	}
	return names
}

// Run ticks every house until ctx is done, then puts every fan off, keeps what must be kept and
// closes the devices. A device that hangs is left behind and named in the error.
func (c *Controller) Run(ctx context.Context) error {
	defer close(c.ended)
	var others sync.WaitGroup
	background, stop := context.WithCancel(context.Background())
	if c.board.keeper != nil {
		others.Go(func() { c.board.keeper.loop(background, c.checkpoint) })
	}
	others.Go(func() { c.ring(background) })
	zone := c.s.Site.Zone // of the start: a reload changes c.s
	others.Go(func() { c.lookBacks(background, zone) })
	for {
		request, asked := c.tick(ctx)
		if !asked {
			break
		}
		request.answer <- c.swap(ctx, request.s)
	}
	err := c.closeHouses()
	stop()
	others.Wait()
	c.board.keeper.end()
	c.board.keeper.save(c.checkpoint)
	return errors.Join(err, c.bell.close(), c.closeHistory(), c.board.keeper.close())
}

// tick lets every house tick until ctx is done, or until a reload is asked for.
func (c *Controller) tick(ctx context.Context) (request reload, asked bool) {
	ticking, pause := context.WithCancel(ctx)
	defer pause()
	var houses sync.WaitGroup
	for _, r := range *c.runners.Load() {
		houses.Go(func() { r.loop(ticking) })
	}
	select {
	case request = <-c.reloads:
		asked = true
	case <-ctx.Done():
	}
	pause()
	houses.Wait()
	return request, asked
}

// closeHouses books what the last ticks left open, and closes every device, all houses at once.
func (c *Controller) closeHouses() error {
	runners := *c.runners.Load()
	faults := make([]error, len(runners))
	var houses sync.WaitGroup
	for i, r := range runners {
		houses.Go(func() {
			r.book()
			if err := r.close(); err != nil {
				faults[i] = fmt.Errorf("house %s: %w", r.s.House.Name, err)
			}
		})
	}
	houses.Wait()
	return errors.Join(faults...)
}

// checkpoint is what the farm's houses have done and remember, as of their last ticks.
func (c *Controller) checkpoint() (ledger.Checkpoint, map[string]learned) {
	now := ledger.Checkpoint{Unix: c.board.clock.Now().Unix(), Believed: c.board.believed()}
	know := map[string]learned{}
	for _, r := range *c.runners.Load() {
		m := r.memory.Load()
		now.Houses = append(now.Houses, m.entry(c.log))
		know[r.s.House.Name] = m.learned
	}
	return now, know
}
