package modbus

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	wire "github.com/simonvetter/modbus"

	"loambank/drivers/device"
)

// FanOptions describes a fan.
type FanOptions struct {
	Name     string // for errors
	Unit     uint8  // of the station, 0 to 255
	Register Register
	// Values are what is written for each stage, that of off first; no two are alike.
	Values []float64
}

// Fan is a coil or holding register of a station. It is used by one goroutine at a time.
type Fan struct {
	bus    *Bus
	o      FanOptions
	stages [][]uint16
	gone   bool
}

// NewFan puts the fan off and reads that back. The bus is the fan's from now on, and closed with
// it; after an error it is still the caller's.
func NewFan(ctx context.Context, bus *Bus, o FanOptions) (*Fan, error) {
	f := &Fan{bus: bus, o: o}
	if t := o.Register.Table; t != Holding && t != Coil {
		return nil, fmt.Errorf("%v: %v is only read; a fan needs a coil or a holding register", f, t)
	}
	if len(o.Values) < 2 {
		return nil, fmt.Errorf("%v: %d values are not one for off and one for each stage", f, len(o.Values))
	}
	for _, v := range o.Values {
		words, err := o.Register.Encode(v)
		if err != nil {
			return nil, fmt.Errorf("%v: %w", f, err)
		}
		if slices.ContainsFunc(f.stages, func(other []uint16) bool { return slices.Equal(other, words) }) {
			return nil, fmt.Errorf("%v: the values %v are not all different", f, o.Values)
		}
		f.stages = append(f.stages, words)
	}
	if err := f.put(ctx, 0); err != nil {
		return nil, err
	}
	return f, nil
}

// String names the fan, its register and its bus.
func (f *Fan) String() string {
	return fmt.Sprintf("fan %s at %v unit %d %v", f.o.Name, f.bus, f.o.Unit, f.o.Register)
}

// Set writes the value of a stage and reads it back. It gives ErrAbsent where nobody answers and
// ErrBusy where others keep the bus all the time. An order whose time is over is not sent.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if f.gone {
		return fmt.Errorf("%v: %w", f, os.ErrClosed)
	}
	return f.put(ctx, stage)
}

func (f *Fan) put(ctx context.Context, stage device.Stage) error {
	if int(stage) >= len(f.stages) {
		return fmt.Errorf("%v: no stage %d; it has %d", f, stage, len(f.stages)-1)
	}
	words := f.stages[stage]
	_, err := use(ctx, f.bus.shared, f.o.Unit, true, func(_ context.Context, c *wire.ModbusClient) (struct{}, error) {
		if err := f.o.Register.write(c, words); err != nil {
			return struct{}{}, err
		}
		got, err := f.o.Register.read(c)
		if err != nil {
			return struct{}{}, fmt.Errorf("reading back: %w", err)
		}
		if !slices.Equal(got, words) {
			return struct{}{}, &ownFault{fmt.Errorf("it holds %d after %d was written; look for another master, or a drive that takes no orders from the bus", got, words)}
		}
		return struct{}{}, nil
	})
	if err != nil {
		return fmt.Errorf("%v: %w", f, err)
	}
	return nil
}

// Close puts the fan off, within 5 s, says so where it could not, and lets the bus go.
func (f *Fan) Close() error {
	if f.gone {
		return nil
	}
	f.gone = true
	return errors.Join(f.put(context.Background(), 0), f.bus.Close())
}
