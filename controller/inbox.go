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

	mu      sync.Mutex
	letters         // for the next tick
	out     letters // those of the tick under way
	back    int     // how often ticks in a row gave them back
}

// letters are what people asked.
type letters struct {
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

// say has something kept in the journal that no decision asks for.
func (b *inbox) say(who Person, what string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.said = append(b.said, said{who, what})
	b.call()
}

// call asks for a tick that takes what was put in. What is new deserves the tries of its own.
func (b *inbox) call() {
	b.back = 0
	select {
	case b.called <- struct{}{}:
	default: // called already
	}
}

// take hands all of it to a tick, which ends with done or giveBack.
func (b *inbox) take(seen *house.Seen) []said {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.out, b.letters = b.letters, letters{}
	seen.Orders, seen.ClearFault = b.out.orders, b.out.clear
	return b.out.said
}

// done forgets what the tick took: the house remembers it.
func (b *inbox) done() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.out, b.back = letters{}, 0
}

// mostGivenBack is how often letters come back: a tick that breaks off is followed by one without
// readings. What breaks that one off too may be the order itself.
const mostGivenBack = 2

// giveBack has the next tick take what one took that broke off, but for an order that was
// overtaken by a newer one. It returns what is given up, as it was said.
func (b *inbox) giveBack() (lost []said) {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := b.out
	b.out = letters{}
	if len(out.said) == 0 {
		return nil
	}
	if b.back++; b.back > mostGivenBack {
		b.back = 0
		return out.said
	}
	for i, o := range out.orders {
		if b.orders[i].Kind == decide.NoOrder {
			b.orders[i] = o
		}
	}
	b.clear = b.clear || out.clear
	b.said = append(out.said, b.said...)
	return nil
}
