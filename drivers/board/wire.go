package board

import (
	"slices"

	"periph.io/x/conn/v3/onewire"
)

// wire is a 1-Wire bus with all its users.
type wire struct {
	*shared[onewire.BusCloser]
}

// Tx makes one transaction, alone on the bus.
func (w *wire) Tx(out, in []byte, power onewire.Pullup) error {
	// A call that is left behind must not touch what its caller goes on to use.
	out, got := slices.Clone(out), make([]byte, len(in))
	err := w.call(func(b onewire.BusCloser) error { return b.Tx(out, got, power) })
	if err == nil {
		copy(in, got)
	}
	return err
}

// Search returns the addresses of the devices on the bus.
func (w *wire) Search(alarmOnly bool) ([]onewire.Address, error) {
	found := make(chan []onewire.Address, 1)
	err := w.call(func(b onewire.BusCloser) error {
		all, err := b.Search(alarmOnly)
		found <- all
		return err
	})
	if err != nil {
		return nil, err
	}
	return <-found, nil
}
