package controller

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/sentence"
)

// Controller is a farm with its devices open. Use New, Run, and nothing after Run.
type Controller struct {
	runners []*runner
	log     *slog.Logger
}

// New opens the devices of every house. A device that does not open is named in the log and is
// down; a scaled clock is refused where one may be real hardware.
func New(ctx context.Context, s *config.Settings, clock Clock, log *slog.Logger) (*Controller, error) {
	if clock.speed != 0 {
		if err := refuseHardware(s); err != nil {
			return nil, err
		}
	}
	c := &Controller{log: log}
	for i := range s.Houses {
		r, err := c.open(ctx, s, i, clock)
		if err != nil {
			return nil, err // a model that lacks a probe: nothing real was opened with it
		}
		c.runners = append(c.runners, r)
	}
	return c, nil
}

func refuseHardware(s *config.Settings) error {
	for i := range s.Houses {
		h := &s.Houses[i]
		for _, p := range h.Probes {
			if p.Hardware() {
				return fmt.Errorf("%s: probe %s may be real hardware; --speed is for files and models only", p.Where, p.Name)
			}
		}
		for _, fans := range h.Fans {
			for _, f := range fans {
				if f.Hardware() {
					return fmt.Errorf("%s: fan %s may be real hardware; --speed is for files and models only", f.Where, f.Name)
				}
			}
		}
	}
	return nil
}

func (c *Controller) open(ctx context.Context, s *config.Settings, i int, clock Clock) (*runner, error) {
	h, err := simulated(&s.Houses[i], clock)
	if err != nil {
		return nil, err
	}
	r := &runner{
		s: h, clock: clock, tick: time.Duration(s.TickS * float64(time.Second)),
		log:      c.log.With(keyHouse, h.House.Name),
		speaker:  sentence.Speaker{Display: s.Display, Currency: unit.Symbol(s.Currency)},
		currency: s.Currency,
		house:    house.New(&h.House, house.State{}),
		account:  ledger.New(h.House.Name, &h.House.Decide),
		probes:   openProbes(ctx, h),
		fans:     openFans(ctx, h),
		raw:      make([]judge.Raw, len(h.House.Probes)),
		told:     make([]bool, len(h.House.Probes)),
		inForce:  decide.Decision{Window: -1},
	}
	return r, nil
}

// Run ticks every house until ctx is done, then puts every fan off and closes the devices. A
// device that hangs is left behind and named in the error.
func (c *Controller) Run(ctx context.Context) error {
	var houses sync.WaitGroup
	faults := make([]error, len(c.runners))
	for i, r := range c.runners {
		houses.Go(func() {
			r.loop(ctx)
			if err := shut(r.probes, r.fans); err != nil {
				faults[i] = fmt.Errorf("house %s: %w", r.s.House.Name, err)
			}
		})
	}
	houses.Wait()
	return errors.Join(faults...)
}

// Snapshots returns the latest snapshot of every house that has ticked.
func (c *Controller) Snapshots() []*Snapshot {
	var all []*Snapshot
	for _, r := range c.runners {
		if s := r.snapshot.Load(); s != nil {
			all = append(all, s)
		}
	}
	return all
}
