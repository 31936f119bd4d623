package controller

import (
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/ledger"
)

// TestAnOrderOutlivesATickThatBreaksOff takes the account of a house away, without which no tick
// ends, while a person gives orders.
func TestAnOrderOutlivesATickThatBreaksOff(t *testing.T) {
	off := decide.Order{Kind: decide.OrderOff, ForS: 3600}
	auto := decide.Order{Kind: decide.OrderAuto}
	who := Person{UID: 1000, Name: "night shift"}
	for _, tt := range []struct {
		name  string
		later *decide.Order // a newer one, given after the first tick that broke off
		bad   int           // ticks that break off
		hand  bool          // the store is then in a person's hand
		lost  int           // lines that say an order was given up
	}{
		{"by the tick after one that broke off", nil, 1, true, 0},
		{"and after two, the second without readings", nil, 2, true, 0},
		{"but not after a third, lest the order itself break each tick off", nil, 3, false, 1},
		{"nor against a newer order", &auto, 1, false, 0},
		{"a newer one counts by itself", &auto, 3, false, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			synctest.Test(t, func(t *testing.T) {
				var log lines
				c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from), Log: slog.New(slog.NewTextHandler(&log, nil))})
				must(t, err)
				r := c.houses()[0]
				tick := func(account *ledger.House) {
					r.account = account
					time.Sleep(10 * time.Second)
					r.survive(t.Context(), false)
				}
				account := r.account
				tick(account)
				must(t, c.Order("lower", "beds", off, who))
				must(t, c.ClearFault("lower", who))
				for k := range tt.bad {
					tick(nil)
					if k == 0 && tt.later != nil {
						must(t, c.Order("lower", "beds", *tt.later, who))
					}
				}
				said := r.inbox.said
				tick(account)
				if got := r.snapshot.Load().Decision.Stores[0].State == decide.Hand; got != tt.hand {
					t.Errorf("the store is in %v", r.snapshot.Load().Decision.Stores[0].State)
				}
				if n := log.with("order is given up", "off for 3600 s"); n != tt.lost {
					t.Errorf("%d lines say that the order is given up, want %d", n, tt.lost)
				}
				want := 2
				if tt.later != nil {
					want++
				}
				if len(said) != want && tt.lost == 0 {
					t.Errorf("the journal is told of %d orders, want %d: %v", len(said), want, said)
				}
				tick(account)
				if len(r.inbox.out.said) != 0 || len(r.inbox.said) != 0 {
					t.Errorf("orders that were taken are kept: %v, %v", r.inbox.out.said, r.inbox.said)
				}
				must(t, r.close())
			})
		})
	}
}

// TestAnInboxGivesBack puts orders in while the tick is under way that has taken others.
func TestAnInboxGivesBack(t *testing.T) {
	off, auto := decide.Order{Kind: decide.OrderOff, ForS: 60}, decide.Order{Kind: decide.OrderAuto}
	b := inbox{called: make(chan struct{}, 1)}
	var seen house.Seen
	b.order(0, off, "beds", Person{})
	b.order(1, off, "path", Person{})
	b.clearFault(Person{})
	b.take(&seen)
	b.order(0, auto, "beds", Person{})
	if lost := b.giveBack(); lost != nil {
		t.Errorf("at once it gives up %v", lost)
	}
	said := b.take(&seen)
	if seen.Orders[0] != auto || seen.Orders[1] != off || !seen.ClearFault || len(said) != 4 {
		t.Errorf("the next tick is given %v, clear %v, and told %v; want the newer order of the first store", seen.Orders, seen.ClearFault, said)
	}
	b.done()
	b.giveBack() // a tick that broke off before it took anything
	if said := b.take(&seen); seen.Orders != (house.Seen{}).Orders || seen.ClearFault || said != nil {
		t.Errorf("what a tick has taken comes again: %v, %v", seen.Orders, said)
	}
}
