package controller

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// Order gives the next tick of a house a person's order for one store, or for all where store is
// empty, but for its Fan. who is kept in the journal. It is safe from any goroutine.
func (c *Controller) Order(house, store string, o decide.Order, who Person) error {
	o.Fan = 0
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(house)
	if err != nil {
		return err
	}
	stores := r.s.House.Decide.Stores
	var names []string
	given := false
	for i := range stores {
		names = append(names, stores[i].Name)
		if store == "" || store == stores[i].Name {
			r.inbox.order(i, o, stores[i].Name, who)
			given = true
		}
	}
	if !given {
		return fmt.Errorf("house %s has no store %q; it has %s", house, store, strings.Join(names, ", "))
	}
	return nil
}

// OrderOne is Order for one fan of a store, the others off: frost protection runs them all the same. It
// is safe from any goroutine.
func (c *Controller) OrderOne(house, store, fan string, o decide.Order, who Person) error {
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(house)
	if err != nil {
		return err
	}
	stores := r.s.House.Decide.Stores
	i := slices.IndexFunc(stores, func(s decide.Store) bool { return s.Name == store })
	if i < 0 {
		return fmt.Errorf("house %s has no store %q; a fan is named with its store", house, store)
	}
	j := slices.IndexFunc(stores[i].Fans, func(f decide.Fan) bool { return f.Name == fan })
	if j < 0 {
		return fmt.Errorf("store %s has no fan %q; it has %s", store, fan, fanNames(stores[i].Fans))
	}
	o.Fan = uint8(j) + 1
	r.inbox.order(i, o, store+", fan "+fan+" alone", who)
	return nil
}

func fanNames(fans []decide.Fan) string {
	var names []string
	for i := range fans {
		names = append(names, fans[i].Name)
	}
	return strings.Join(names, ", ")
}

// ClearFault clears the latched faults of a house in its next tick. It is safe from any goroutine.
func (c *Controller) ClearFault(house string, who Person) error {
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(house)
	if err != nil {
		return err
	}
	r.inbox.clearFault(who)
	return nil
}

// BelieveClock has the wall time believed until the program ends, as a person has set it: a board
// without a battery clock or a network cannot know. It is an error where the clock shows a time that
// has passed already. who is logged. It is safe from any goroutine.
func (c *Controller) BelieveClock(who Person) error {
	b := c.board
	now, since := b.clock.Now(), b.keeper.since()
	if since.Before(oldest) {
		since = oldest
	}
	if !plausible(now, since) {
		return fmt.Errorf("the clock shows %s, and %s has passed already; set it first, with date --set",
			now.UTC().Format(time.DateTime), since.UTC().Format(time.DateTime))
	}
	b.set.Store(true)
	c.log.Info("the clock is believed, as a person says", "who", who.String(), "shows", now.UTC().Format(time.DateTime))
	return nil
}

// ExpectLow tells a house how cold a person expects the coming night outside. It holds until the next
// noon at the site. who is kept in the journal. It is safe from any goroutine.
func (c *Controller) ExpectLow(house string, low unit.Celsius, who Person) error {
	c.swapping.RLock()
	defer c.swapping.RUnlock()
	r, err := c.find(house)
	if err != nil {
		return err
	}
	r.typed.Store(&typedLow{low, nextNoon(r.now())})
	r.inbox.say(who, fmt.Sprintf("a low of %s outside is expected", r.speaker.Display.Setting(low)))
	return nil
}

func (c *Controller) find(house string) (*runner, error) {
	var names []string
	for _, r := range *c.runners.Load() {
		if r.s.House.Name == house {
			return r, nil
		}
		names = append(names, r.s.House.Name)
	}
	return nil, fmt.Errorf("there is no house %q; there is %s", house, strings.Join(names, ", "))
}
