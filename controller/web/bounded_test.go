package web

import (
	"errors"
	"net"
	"testing"
	"time"
)

func TestConnectionsAreBounded(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b := newBounded(l, 2)
	for range 4 {
		c, err := net.Dial("tcp", l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
	}
	accepted := make(chan net.Conn)
	ended := make(chan error)
	go func() {
		for {
			c, err := b.Accept()
			if err != nil {
				ended <- err
				return
			}
			accepted <- c
		}
	}()
	first, second := <-accepted, <-accepted
	if len(b.slots) != 2 {
		t.Errorf("%d slots are taken by two connections", len(b.slots))
	}
	select {
	case <-accepted:
		t.Fatal("a third connection was accepted while two are open")
	default:
	}
	for range 2 { // closing again frees nothing more
		_ = first.Close()
	}
	third := <-accepted
	select {
	case <-accepted:
		t.Fatal("a fourth connection was accepted while two are open")
	default:
	}
	if err := b.Close(); err != nil { // while the fourth waits for a slot
		t.Error(err)
	}
	if err := <-ended; !errors.Is(err, net.ErrClosed) {
		t.Errorf("the end is %v", err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	second.Close()
	third.Close()
	if len(b.slots) != 0 {
		t.Errorf("%d slots are taken at the end", len(b.slots))
	}
}

func TestAPersonsPace(t *testing.T) {
	start := time.Date(2026, 1, 21, 5, 0, 0, 0, time.UTC)
	now := start
	o := Orders(OrderOptions{Now: func() time.Time { return now }}).(*orders)
	steps := []struct {
		name  string
		after time.Duration // since the start
		want  int           // orders that may come then
	}{
		{"six at once", 0, 6},
		{"none for ten seconds", orderEvery - time.Millisecond, 0},
		{"then one", orderEvery, 1},
		{"an hour does not save up more than six", time.Hour, 6},
		{"a clock that goes back gives none", 0, 0},
		{"nor takes any", orderEvery, 1},
	}
	for _, step := range steps {
		now = start.Add(step.after)
		got := 0
		for o.may() {
			got++
		}
		if got != step.want {
			t.Errorf("%s: %d, want %d", step.name, got, step.want)
		}
	}
}
