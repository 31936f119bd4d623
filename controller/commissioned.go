package controller

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"loambank/controller/commission"
	"loambank/controller/commission/shelf"
	"loambank/controller/house"
	"loambank/controller/sentence"
)

// Commissioned is how a house stands to the round that a person made through it.
type Commissioned struct {
	Kept   bool                    // rounds can be kept; where not, nothing below is known
	Whole  *commission.Baseline    // of the newest round that is complete; nil is that none was ever made
	Due    bool                    // the season has turned since
	Strays []commission.Comparison // fans that have run off the baseline for an hour
}

// rounds are the baselines of a house. They are never changed.
type rounds struct{ whole, begun *commission.Baseline }

// errNotKept is that nothing is kept on disk.
var errNotKept = errors.New("this farm keeps nothing: it has no state directory")

// recall reads the baselines of a house.
func (r *runner) recall() {
	r.rounds.Store(&rounds{})
	k := r.board.keeper
	if k == nil {
		return
	}
	whole, begun, err := shelf.Newest(k.dir, r.s.House.Name)
	if err != nil {
		r.log.Error("a baseline cannot be read and is passed over", keyError, err)
	}
	r.rounds.Store(&rounds{whole, begun})
}

// watchFans holds what ran up to this tick against the baseline.
func (r *runner) watchFans(result *house.Result, stepS float64) {
	whole := r.rounds.Load().whole
	if whole == nil {
		r.watch = commission.Watch{}
		return
	}
	if !r.watchedSince.Equal(whole.Begun) { // what was seen was held against another baseline
		r.watch, r.watchedSince = commission.Watch{}, whole.Begun
	}
	l := r.look(result, &r.inForce)
	r.watch = r.watch.Update(whole, &l, stepS)
}

// commissioned is how the house stands to its baseline.
func (r *runner) commissioned(l *commission.Look, now time.Time) Commissioned {
	kept := r.rounds.Load()
	c := Commissioned{Kept: r.board.keeper != nil, Whole: kept.whole}
	if c.Whole != nil {
		c.Due = r.board.believed() && c.Whole.Finished.Before(r.turn.SeasonBegan(now))
		c.Strays = r.watch.Strays(c.Whole, l)
	}
	r.logStrays(c.Strays)
	return c
}

// logStrays writes a line when a fan begins to stray, and when it does no more.
func (r *runner) logStrays(now []commission.Comparison) {
	in := func(all []commission.Comparison, c *commission.Comparison) bool {
		return slices.ContainsFunc(all, func(x commission.Comparison) bool {
			return x.Store == c.Store && x.Fan == c.Fan && x.What == c.What
		})
	}
	for i := range now {
		if c := &now[i]; !in(r.strays, c) {
			said := sentence.Strayed(*c, r.speaker.Display)
			r.log.Warn("fan strays from its baseline", keyStore, c.Store, keyFan, c.Fan, keyWhy, said.Text, "do", said.Do)
			r.fault("%s %s", said.Text, said.Do)
		}
	}
	for i := range r.strays {
		if c := &r.strays[i]; !in(now, c) {
			r.log.Info("fan is as its baseline again", keyStore, c.Store, keyFan, c.Fan, "what", c.What.String())
			r.fault("fan %s of %s is as it was commissioned again: %s", c.Fan, c.Store, c.What)
		}
	}
	r.strays = now
}

// KeepBaseline keeps a round through a house, whole or as far as it has come, and holds its fans against
// the one that is whole. who made it stands in it, whatever b says, and is logged. It is safe from any goroutine.
func (c *Controller) KeepBaseline(b *commission.Baseline, who Person) error {
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(b.House)
	if err != nil {
		return err
	}
	k := c.board.keeper
	if k == nil {
		return errNotKept
	}
	own := *b
	own.By = who.Name
	b = &own
	if err := shelf.Save(k.dir, b); err != nil {
		return err
	}
	now := *r.rounds.Load()
	if b.Finished.IsZero() {
		now.begun = b
	} else {
		now = rounds{whole: b}
		c.log.Info("commissioned", keyHouse, b.House, "who", who.String())
		r.inbox.say(who, fmt.Sprintf("commissioned: %d fans, %d interlocks, %d probes tried", len(b.Fans), len(b.Interlocks), len(b.Probes)))
	}
	r.rounds.Store(&now)
	return nil
}

// Baselines are the rounds kept of a house: the newest that is complete, and one begun since that is
// not; nil is none. What KeepBaseline has just kept is among them. It is safe from any goroutine.
func (c *Controller) Baselines(house string) (whole, begun *commission.Baseline, err error) {
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(house)
	if err != nil {
		return nil, nil, err
	}
	kept := r.rounds.Load()
	return kept.whole, kept.begun, nil
}
