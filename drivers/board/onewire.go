package board

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"periph.io/x/conn/v3/driver/driverreg"
	"periph.io/x/conn/v3/onewire/onewirereg"
	_ "periph.io/x/host/v3/netlink" // registers the kernel's 1-Wire buses

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// Buses are the 1-Wire buses in use. One is opened for its first user and closed after its last.
// Make them with NewBuses, once for a process, since the wires are there once.
type Buses struct {
	asking bound.Slot // held while the kernel is asked for its buses, which may hang

	mu   sync.Mutex
	used map[string]*wire // by the registry's name
}

// NewBuses returns buses that are all closed.
func NewBuses() *Buses {
	return &Buses{asking: bound.NewSlot(), used: map[string]*wire{}}
}

// Open returns the bus of that name, alias or number, "" the first. The caller closes it.
func (b *Buses) Open(ctx context.Context, name string) (*Bus, error) {
	if _, err := bound.InTurn(ctx, b.asking, func(context.Context) (*driverreg.State, error) { return driverreg.Init() }); err != nil {
		return nil, fmt.Errorf("asking for the 1-Wire buses: %w", err)
	}
	ref, err := findBus(name, onewirereg.All())
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	w := b.used[ref.Name]
	if w == nil {
		w = newWire(short(ref), ref.Open)
		if err := w.ready(); err != nil {
			return nil, err
		}
		b.used[ref.Name] = w
	}
	w.users++
	return &Bus{wire: w, release: func() error { return b.release(ref.Name, w) }}, nil
}

func (b *Buses) release(key string, w *wire) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if w.users--; w.users > 0 {
		return nil
	}
	delete(b.used, key)
	return w.close()
}

func findBus(name string, all []*onewirereg.Ref) (*onewirereg.Ref, error) {
	if len(all) == 0 {
		return nil, fmt.Errorf("%w: no 1-Wire bus; switch it on in the board's device tree (overlay w1-gpio) or plug its adapter in, and start again", device.ErrAbsent)
	}
	if name == "" {
		return slices.MinFunc(all, func(a, b *onewirereg.Ref) int {
			return cmp.Compare(uint(a.Number), uint(b.Number)) // a bus without number, -1, comes last
		}), nil
	}
	var names []string
	for _, r := range all {
		if name == r.Name || slices.Contains(r.Aliases, name) || r.Number >= 0 && name == strconv.Itoa(r.Number) {
			return r, nil
		}
		names = append(names, short(r))
	}
	return nil, fmt.Errorf("%w: no 1-Wire bus %.40q; there is %s", device.ErrAbsent, name, strings.Join(names, ", "))
}

// short returns the name of a bus for people.
func short(r *onewirereg.Ref) string {
	if len(r.Aliases) > 0 {
		return r.Aliases[0]
	}
	return r.Name
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
