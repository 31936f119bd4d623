package controller

import (
	"fmt"
	"sync"

	"loambank/controller/decide"
	"loambank/controller/house"
)

// inbox holds what people asked of a house until its next tick. It is safe from any goroutine.
type inbox struct {
	called chan struct{} // somebody asks for a tick out of turn

	mu     sync.Mutex
	orders [decide.MaxStores]decide.Order
	clear  bool
	said   []said
}

// said is who asked for what, for the journal.
type said struct {
	who  Person
	what string
}

// order puts an order for a store in; the last one counts.
func (b *inbox) order(store int, o decide.Order, name string, who Person) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.orders[store] = o
	b.said = append(b.said, said{who, fmt.Sprintf("%s: %s", name, o)})
	b.call()
}

// clearFault asks that latched faults be cleared.
func (b *inbox) clearFault(who Person) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.clear = true
	b.said = append(b.said, said{who, "faults cleared"})
	b.call()
}

func (b *inbox) call() {
	select {
	case b.called <- struct{}{}:
	default: // called already
	}
}

// take hands all of it to a tick.
func (b *inbox) take(seen *house.Seen) []said {
	b.mu.Lock()
	defer b.mu.Unlock()
	said := b.said
	seen.Orders, seen.ClearFault = b.orders, b.clear
	b.orders, b.clear, b.said = [decide.MaxStores]decide.Order{}, false, nil
	return said
}
