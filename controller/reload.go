package controller

import (
	"context"
	"errors"
	"slices"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/ledger"
)

// reload is a request for other settings.
type reload struct {
	s      *config.Settings
	answer chan<- error
}

// ErrEnded says that the farm does not run any more.
var ErrEnded = errors.New("the farm has stopped")

// Reload lets the running farm go on under other settings. Devices whose stanza is the same stay
// open and untouched; the rest are put off, closed, and opened as they are now. What the houses
// remember follows their names. On an error nothing has changed. Another address or state
// directory takes a restart, and is said in the log.
func (c *Controller) Reload(s *config.Settings) error {
	answer := make(chan error, 1)
	select {
	case c.reloads <- reload{s, answer}:
	case <-c.ended:
		return ErrEnded
	}
	select {
	case err := <-answer:
		c.stale.Store(err != nil)
		return err
	case <-c.ended:
		return ErrEnded
	}
}

// KeptOld notes that a settings file could not be loaded, so that older settings are in force.
func (c *Controller) KeptOld() { c.stale.Store(true) }

// swap changes the settings while no house ticks.
func (c *Controller) swap(ctx context.Context, s *config.Settings) error {
	if c.board.clock.speed != 0 {
		if err := refuseHardware(s); err != nil {
			return err
		}
	}
	if s.Listen != c.s.Listen || s.StateDir != c.s.StateDir {
		c.log.Warn("another listen address or state directory takes a restart; the old ones stay")
	}
	before := map[string]*runner{}
	for _, r := range *c.runners.Load() {
		r.book()
		before[r.s.House.Name] = r
	}
	c.board.keeper.save(c.checkpoint)
	if err := c.build(ctx, s, before); err != nil {
		return err
	}
	c.board.keeper.change()
	c.log.Info("settings reloaded", "houses", len(s.Houses))
	return nil
}

// drop closes the houses of before that the settings no longer have, and keeps what they have done
// and remember.
func (c *Controller) drop(before map[string]*runner) {
	for name, r := range before {
		if slices.ContainsFunc(c.s.Houses, func(h config.House) bool { return h.House.Name == name }) {
			continue
		}
		c.gone[name] = r.memory.Load()
		if err := r.close(); err != nil {
			r.log.Error("device of a removed house does not close", keyError, err)
		}
	}
}

// follow lets r go on where was has stopped, under its own settings.
func (r *runner) follow(ctx context.Context, was *runner) {
	carried := carry(r.s, was.devices)
	saved := was.house.Save()
	for _, f := range was.fans { // those that are left
		store := &was.s.House.Decide.Stores[f.store]
		saved = saved.FansOff(store.Name, store.Fans[f.index].Name)
	}
	if err := was.close(); err != nil {
		r.log.Error("device does not close", keyError, err)
	}
	r.devices = wire(ctx, r.s, carried)

	l := was.know()
	r.learnt, r.savings.marks = l.of(r.s), l.Saving
	r.typed.Store(l.Low)
	r.recall()
	r.watch, r.watchedSince = l.Watch, l.WatchedSince
	r.trustSaved(&saved)
	r.house = house.Restore(&r.s.House, saved)
	r.begins(history.Reloaded, saved)
	r.account = ledger.Adopt(was.account, r.s.House.Name, &r.s.House.Decide)
	r.begun, r.last, r.bookedS, r.mended = was.begun, was.last, was.bookedS, was.mended
	r.snapshot.Store(was.snapshot.Load()) // until its first tick: an alarm must not break off
	r.inForce = r.house.State().Last
	r.inForce.Window = -1
	r.inherit(was)
	drawnW := 0.0
	for i := range r.s.House.Decide.Stores {
		for j, f := range r.s.House.Decide.Stores[i].Fans {
			drawnW += f.PowerAt(r.inForce.Stores[i].Stages[j])
		}
	}
	r.board.gate.draws(r.place, drawnW)
}

// inherit takes over orders that people gave since the last tick.
func (r *runner) inherit(was *runner) {
	var left house.Seen
	r.inbox.said = was.inbox.take(&left)
	for i, s := range was.s.House.Decide.Stores {
		j := slices.IndexFunc(r.s.House.Decide.Stores, func(o decide.Store) bool { return o.Name == s.Name })
		if j < 0 {
			continue
		}
		o := left.Orders[i]
		if n := int(o.Fan); n > 0 { // the fan that it runs may stand elsewhere, or be gone
			name := s.Fans[n-1].Name
			o.Fan = uint8(slices.IndexFunc(r.s.House.Decide.Stores[j].Fans, func(f decide.Fan) bool { return f.Name == name }) + 1)
			if o.Fan == 0 {
				continue
			}
		}
		r.inbox.orders[j] = o
	}
	r.inbox.clear = left.ClearFault
}
