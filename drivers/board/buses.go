package board

import (
	"context"
	"fmt"

	"periph.io/x/conn/v3/driver/driverreg"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/onewire"

	"loambank/drivers/bound"
)

// Buses are the buses in use, 1-Wire and I²C. One is opened for its first user and closed after
// its last. Make them with NewBuses, once for a process, since the wires are there once.
type Buses struct {
	asking bound.Slot // held while the kernel is asked for its buses, which may hang
	wires  table[onewire.BusCloser]
	i2cs   table[i2c.BusCloser]
}

// NewBuses returns buses that are all closed.
func NewBuses() *Buses {
	return &Buses{
		asking: bound.NewSlot(),
		wires: table[onewire.BusCloser]{
			kind: "1-Wire", listed: oneWires, used: map[string]*shared[onewire.BusCloser]{},
			none: "switch it on in the board's device tree (overlay w1-gpio) or plug its adapter in, and start again",
		},
		i2cs: table[i2c.BusCloser]{
			kind: "I²C", listed: i2cBuses, used: map[string]*shared[i2c.BusCloser]{},
			none: "switch it on in the board's device tree, load the module i2c-dev or plug its adapter in, and start again",
		},
	}
}

func (b *Buses) ask(ctx context.Context, kind string) error {
	if _, err := bound.InTurn(ctx, b.asking, func(context.Context) (*driverreg.State, error) { return driverreg.Init() }); err != nil {
		return fmt.Errorf("asking for the %s buses: %w", kind, err)
	}
	return nil
}
