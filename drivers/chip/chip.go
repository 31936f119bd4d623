// Package chip holds what every driver of an I²C chip does alike: it bounds each use in time, keeps
// the transfers of one use together, names the device in its errors and lets its bus go.
//
// Here is also the form in which some chips send their numbers, words with a checksum each. What a
// chip is told and answers is its own driver's. Not here: opening and sharing a bus, retrying.
//
// Always: a use returns by its deadline, or after 5 s where it has none, and there is never a
// second one of the same device beside one that hangs. Where the bus can keep a chip for one user
// it does so for the whole use, waits included; the bus itself is only taken for each transfer, so
// that other chips are served during the waits.
package chip

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// Options describes a device behind a chip.
type Options struct {
	What string // "probe" or "fan", for errors
	Name string // for errors
	// Sleep waits, or returns the error of ctx once that is done; nil is a real wait.
	Sleep func(ctx context.Context, d time.Duration) error
}

// Chip is one device's access to a chip. It is used by one goroutine at a time.
type Chip struct {
	dev  i2c.Dev
	o    Options
	slot bound.Slot
	gone bool
}

// holder is a bus that keeps a chip for one user.
type holder interface {
	Hold(ctx context.Context, addr uint16) (release func(), err error)
}

// New checks that the address is one that a chip may have, 0x08 to 0x77. The chip is not asked.
// The bus is the device's from now on, and closed with it where it can be closed; after an error
// it is still the caller's.
func New(bus i2c.Bus, addr uint16, o Options) (*Chip, error) {
	c := &Chip{dev: i2c.Dev{Bus: bus, Addr: addr}, o: o, slot: bound.NewSlot()}
	if o.Sleep == nil {
		c.o.Sleep = device.Sleep
	}
	if addr < 0x08 || addr > 0x77 { // what is outside the bus keeps for itself, I²C specification
		return nil, fmt.Errorf("%v: no chip has that address; write one from 0x08 to 0x77", c)
	}
	return c, nil
}

// String names the device, its address and its bus.
func (c *Chip) String() string {
	return fmt.Sprintf("%s %s at 0x%02x on %v", c.o.What, c.o.Name, c.dev.Addr, c.dev.Bus)
}

// Do makes one use of the chip and returns what it returns, with the device named in the error. It
// gives ErrBusy while an earlier use hangs, and ErrClosed after Close.
func (c *Chip) Do(ctx context.Context, use func(context.Context) (float64, error)) (float64, error) {
	if c.gone {
		return 0, fmt.Errorf("%v: %w", c, os.ErrClosed)
	}
	v, err := bound.Do(ctx, c.slot, c.alone(use))
	if err != nil {
		return 0, fmt.Errorf("%v: %w", c, err)
	}
	return v, nil
}

// alone is a use that has the chip for itself.
func (c *Chip) alone(use func(context.Context) (float64, error)) func(context.Context) (float64, error) {
	return func(ctx context.Context) (float64, error) {
		if h, ok := c.dev.Bus.(holder); ok {
			release, err := h.Hold(ctx, c.dev.Addr)
			if err != nil {
				return 0, err
			}
			defer release()
		}
		return use(ctx)
	}
}

// Tx makes one transfer within a use: writes w, then reads r.
func (c *Chip) Tx(ctx context.Context, w, r []byte) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return c.dev.Tx(w, r)
}

// Sleep waits within a use.
func (c *Chip) Sleep(ctx context.Context, d time.Duration) error { return c.o.Sleep(ctx, d) }

// Close makes a last use of the chip, which may be nil, and lets the bus go. It waits for a use
// that is under way, 5 s at most. It may be called twice.
func (c *Chip) Close(last func(context.Context) (float64, error)) error {
	if c.gone {
		return nil
	}
	c.gone = true
	var err error
	if last != nil {
		_, err = bound.InTurn(context.Background(), c.slot, c.alone(last))
	}
	if b, ok := c.dev.Bus.(io.Closer); ok {
		if failed := b.Close(); err == nil {
			err = failed
		}
	}
	if err != nil {
		return fmt.Errorf("%v: %w", c, err)
	}
	return nil
}
