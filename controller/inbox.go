package controller

import (
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
}

// order puts an order for a store in; the last one counts.
func (b *inbox) order(store int, o decide.Order) {
	b.mu.Lock()
	b.orders[store] = o
	b.mu.Unlock()
	b.call()
}

// clearFault asks that latched faults be cleared.
func (b *inbox) clearFault() {
	b.mu.Lock()
	b.clear = true
	b.mu.Unlock()
	b.call()
}

func (b *inbox) call() {
	select {
	case b.called <- struct{}{}:
	default: // called already
	}
}

// take hands all of it to a tick.
func (b *inbox) take(seen *house.Seen) {
	b.mu.Lock()
	defer b.mu.Unlock()
	seen.Orders, seen.ClearFault = b.orders, b.clear
	b.orders, b.clear = [decide.MaxStores]decide.Order{}, false
}
