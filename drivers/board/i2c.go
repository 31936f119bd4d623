package board

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"syscall"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2creg"
	"periph.io/x/conn/v3/physic"
	_ "periph.io/x/host/v3/gpioioctl" // sysfs asks for it; no line is taken by it
	_ "periph.io/x/host/v3/sysfs"     // registers the kernel's I²C buses

	"loambank/drivers/device"
)

// OpenI2C returns the I²C bus of that name, alias or number, "" the first. The caller closes it.
func (b *Buses) OpenI2C(ctx context.Context, name string) (*I2C, error) {
	if err := b.ask(ctx, "I²C"); err != nil {
		return nil, err
	}
	s, release, err := b.i2cs.take(name)
	if err != nil {
		return nil, reasonI2C(err)
	}
	return &I2C{shared: s, release: release}, nil
}

func i2cBuses() []listed[i2c.BusCloser] {
	var all []listed[i2c.BusCloser]
	for _, r := range i2creg.All() {
		all = append(all, listed[i2c.BusCloser]{r.Name, r.Aliases, r.Number, r.Open})
	}
	return all
}

// I2C is one user's hold on an I²C bus. It is safe for concurrent use.
//
// A transfer has the bus to itself, and only for as long as it takes. Where a chip needs several
// that belong together, an order, a wait and the answer, its address is held meanwhile: the chip
// hears nobody else, and other chips are served during the wait.
type I2C struct {
	*shared[i2c.BusCloser]
	once    sync.Once
	release func() error
}

var _ i2c.BusCloser = (*I2C)(nil)

// Tx makes one transfer, alone on the bus: writes w, then reads r. It gives ErrAbsent where no
// chip acknowledges.
func (b *I2C) Tx(addr uint16, w, r []byte) error {
	// A call that is left behind must not touch what its caller goes on to use.
	w, got := slices.Clone(w), make([]byte, len(r))
	err := b.call(func(bus i2c.BusCloser) error { return bus.Tx(addr, w, got) })
	if err == nil {
		copy(r, got)
	}
	return reasonI2C(err)
}

// reasonI2C says what an error of the kernel means. The package that speaks to it keeps only the
// words of the number.
func reasonI2C(err error) error {
	is := func(numbers ...syscall.Errno) bool {
		return slices.ContainsFunc(numbers, func(n syscall.Errno) bool {
			return errors.Is(err, n) || strings.HasSuffix(err.Error(), n.Error())
		})
	}
	switch {
	case err == nil, errors.Is(err, device.ErrAbsent):
		return err
	case is(syscall.EREMOTEIO, syscall.ENXIO): // by the controller, one or the other
		return fmt.Errorf("%w: no chip acknowledges: %w", device.ErrAbsent, err)
	case is(syscall.ENODEV, syscall.ENOENT):
		return fmt.Errorf("%w: the bus has gone: %w", device.ErrAbsent, err)
	case is(syscall.ETIMEDOUT):
		return fmt.Errorf("a wire of the bus stays low; look for a short, for missing pull-up resistors or a chip that hangs: %w", err)
	}
	return err
}

// Hold waits until nobody else uses the chip at an address, and keeps it until release is called,
// once. It gives ErrBusy where ctx ends first.
func (b *I2C) Hold(ctx context.Context, addr uint16) (release func(), err error) {
	b.mu.Lock()
	turn := b.chips[addr]
	if turn == nil {
		turn = make(chan struct{}, 1)
		if b.chips == nil {
			b.chips = map[uint16]chan struct{}{}
		}
		b.chips[addr] = turn
	}
	b.mu.Unlock()
	select {
	case turn <- struct{}{}:
		return func() { <-turn }, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("another probe of this chip: %w", device.ErrBusy)
	}
}

// SetSpeed is refused, since others share the bus.
func (b *I2C) SetSpeed(physic.Frequency) error {
	return fmt.Errorf("the speed of %v is the board's; set it in the device tree", b)
}

// Close lets the bus go. It may be called twice; the bus must not be used afterwards.
func (b *I2C) Close() (err error) {
	b.once.Do(func() { err = b.release() })
	return err
}
