package board

import (
	"context"
	"sync"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewirereg"
	_ "periph.io/x/host/v3/netlink" // registers the kernel's 1-Wire buses
)

// Open returns the 1-Wire bus of that name, alias or number, "" the first. The caller closes it.
func (b *Buses) Open(ctx context.Context, name string) (*Bus, error) {
	if err := b.ask(ctx, "1-Wire"); err != nil {
		return nil, err
	}
	s, release, err := b.wires.take(name)
	if err != nil {
		return nil, err
	}
	return &Bus{wire: &wire{s}, release: release}, nil
}

func oneWires() []listed[onewire.BusCloser] {
	var all []listed[onewire.BusCloser]
	for _, r := range onewirereg.All() {
		all = append(all, listed[onewire.BusCloser]{r.Name, r.Aliases, r.Number, r.Open})
	}
	return all
}

// Bus is one user's hold on a 1-Wire bus. It is safe for concurrent use.
type Bus struct {
	*wire
	once    sync.Once
	release func() error
}

// Close lets the bus go. It may be called twice; the bus must not be used afterwards.
func (b *Bus) Close() (err error) {
	b.once.Do(func() { err = b.release() })
	return err
}
