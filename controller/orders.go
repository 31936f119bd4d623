package controller

import (
	"fmt"
	"strings"

	"loambank/controller/decide"
)

// Order gives the next tick of a house a person's order for one store, or for all where store is
// empty. who is kept in the journal. It is safe from any goroutine.
func (c *Controller) Order(house, store string, o decide.Order, who Person) error {
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
