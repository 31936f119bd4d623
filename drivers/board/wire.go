package board

import (
	"context"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewirereg"

	"loambank/drivers/device"
)

const (
	longest  = time.Second // of a transaction; a search of 20 devices takes a third of that
	mostLost = 3           // calls that may hang in the kernel at one time
)

// wire is a bus with all its users.
type wire struct {
	name  string
	open  onewirereg.Opener
	users int // guarded by Buses.mu

	turn chan struct{}     // held by the one who uses bus
	bus  onewire.BusCloser // nil after a fault
	lost atomic.Int32      // calls that hang
}

func newWire(name string, open onewirereg.Opener) *wire {
	return &wire{name: name, open: open, turn: make(chan struct{}, 1)}
}

// String names the bus.
func (w *wire) String() string { return w.name }

// Tx makes one transaction, alone on the bus.
func (w *wire) Tx(out, in []byte, power onewire.Pullup) error {
	// A call that is left behind must not touch what its caller goes on to use.
	out, got := slices.Clone(out), make([]byte, len(in))
	err := w.call(func(b onewire.Bus) error { return b.Tx(out, got, power) })
	if err == nil {
		copy(in, got)
	}
	return err
}

// Search returns the addresses of the devices on the bus.
func (w *wire) Search(alarmOnly bool) ([]onewire.Address, error) {
	found := make(chan []onewire.Address, 1)
	err := w.call(func(b onewire.Bus) error {
		all, err := b.Search(alarmOnly)
		found <- all
		return err
	})
	if err != nil {
		return nil, err
	}
	return <-found, nil
}

// call uses the bus alone. After a fault the bus is closed and the next call opens it afresh: an
// answer that came too late would otherwise be taken for the next one's.
func (w *wire) call(use func(onewire.Bus) error) error {
	w.turn <- struct{}{} // comes, since each holder is bound
	defer func() { <-w.turn }()
	if w.lost.Load() >= mostLost {
		return device.ErrBusy
	}
	if err := w.ready(); err != nil {
		return err
	}
	bus := w.bus
	done := make(chan error, 1)
	go func() { done <- use(bus) }()
	late := time.NewTimer(longest)
	defer late.Stop()
	select {
	case err := <-done:
		if err != nil {
			w.bus = nil
			bus.Close() // the fault is told already
		}
		return err
	case <-late.C:
	}
	w.bus = nil
	w.lost.Add(1)
	go func() { // waited for by nobody, but there are never more than mostLost
		<-done //nolint:errcheck // the caller has been told of the timeout
		bus.Close()
		w.lost.Add(-1)
	}()
	return fmt.Errorf("no answer in %v: %w", longest, context.DeadlineExceeded)
}

// ready opens the bus where it is not open.
func (w *wire) ready() error {
	if w.bus != nil {
		return nil
	}
	bus, err := w.open()
	if err != nil {
		return fmt.Errorf("1-Wire bus %s: %w", w.name, err)
	}
	w.bus = bus
	return nil
}

func (w *wire) close() error {
	w.turn <- struct{}{}
	defer func() { <-w.turn }()
	if w.bus == nil {
		return nil
	}
	bus := w.bus
	w.bus = nil
	if err := bus.Close(); err != nil {
		return fmt.Errorf("1-Wire bus %s: %w", w.name, err)
	}
	return nil
}
