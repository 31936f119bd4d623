package board

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"loambank/drivers/device"
)

const (
	longest  = time.Second // of a transaction; a search of 20 1-Wire devices takes a third of that
	mostLost = 3           // calls that may hang in the kernel at one time
)

// closer is an open bus, of either kind.
type closer interface {
	comparable
	Close() error
}

// shared is a bus with all its users. B is what the kernel opens; its zero value is a closed bus.
type shared[B closer] struct {
	kind, name string // "1-Wire", "OneWire1"
	open       func() (B, error)
	users      int // guarded by table.mu

	turn chan struct{} // held by the one who uses bus
	bus  B             // zero after a fault
	lost atomic.Int32  // calls that hang

	mu    sync.Mutex
	chips map[uint16]chan struct{} // of an I²C bus, each held by the one who uses that address
}

func newShared[B closer](kind, name string, open func() (B, error)) *shared[B] {
	return &shared[B]{kind: kind, name: name, open: open, turn: make(chan struct{}, 1)}
}

// String names the bus.
func (s *shared[B]) String() string { return s.name }

// call uses the bus alone. After a fault the bus is closed and the next call opens it afresh: an
// answer that came too late would otherwise be taken for the next one's.
func (s *shared[B]) call(use func(B) error) error {
	s.turn <- struct{}{} // comes, since each holder is bound
	defer func() { <-s.turn }()
	if s.lost.Load() >= mostLost {
		return device.ErrBusy
	}
	if err := s.ready(); err != nil {
		return err
	}
	var none B
	bus := s.bus
	done := make(chan error, 1)
	go func() { done <- use(bus) }()
	late := time.NewTimer(longest)
	defer late.Stop()
	select {
	case err := <-done:
		if err != nil {
			s.bus = none
			bus.Close() // the fault is told already
		}
		return err
	case <-late.C:
	}
	s.bus = none
	s.lost.Add(1)
	go func() { // waited for by nobody, but there are never more than mostLost
		<-done //nolint:errcheck // the caller has been told of the timeout
		bus.Close()
		s.lost.Add(-1)
	}()
	return fmt.Errorf("no answer in %v: %w", longest, context.DeadlineExceeded)
}

// ready opens the bus where it is not open.
func (s *shared[B]) ready() error {
	var none B
	if s.bus != none {
		return nil
	}
	bus, err := s.open()
	if err != nil {
		return fmt.Errorf("%s bus %s: %w", s.kind, s.name, err)
	}
	s.bus = bus
	return nil
}

func (s *shared[B]) close() error {
	s.turn <- struct{}{}
	defer func() { <-s.turn }()
	var none B
	if s.bus == none {
		return nil
	}
	bus := s.bus
	s.bus = none
	if err := bus.Close(); err != nil {
		return fmt.Errorf("%s bus %s: %w", s.kind, s.name, err)
	}
	return nil
}
