// Package relay switches a fan by a relay behind one GPIO line, on or off, or a fan of two or three
// speeds by a group of relays, one for each.
//
// Not here: finding and holding the line, pulse width, minimum run times.
//
// Always: the fan is off after New and after Close, and each order is read back where the line
// can be. When the program is killed, and on some boards when the line is let go, the wire keeps
// or loses its level as the board has it: wire a relay that is open while its input floats.
package relay

import (
	"context"
	"errors"
	"fmt"
	"os"

	"periph.io/x/conn/v3/gpio"

	"loambank/drivers/device"
)

// Options describes a relay.
type Options struct {
	Name string // for errors
	// ActiveLow says that the low level runs the fan, as on most opto-isolated relay boards.
	ActiveLow bool
}

// Level returns the level of the line that runs the fan, or puts it off.
func (o Options) Level(on bool) gpio.Level { return gpio.Level(on != o.ActiveLow) }

// Fan is one fan behind a relay.
type Fan struct {
	pin  gpio.PinOut
	o    Options
	gone bool
}

// reader is a line that can be read back and stays an output. A gpio.PinIn is not asked, since
// its Read may turn the line into an input.
type reader interface {
	Level() (gpio.Level, error)
}

// New puts the fan off and reads that back. The line is the fan's from now on, and closed with it
// where it can be closed; after an error it is still the caller's.
func New(pin gpio.PinOut, o Options) (*Fan, error) {
	f := &Fan{pin: pin, o: o}
	if err := f.put(false); err != nil {
		return nil, err
	}
	return f, nil
}

// String names the fan and its line.
func (f *Fan) String() string { return fmt.Sprintf("fan %s at %v", f.o.Name, f.pin) }

// Set switches the fan off at stage 0 and on at stage 1, and reads that back.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if f.gone {
		return fmt.Errorf("%v: %w", f, os.ErrClosed)
	}
	if stage > 1 {
		return fmt.Errorf("%v: no stage %d; a relay has 1", f, stage)
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("%v: %w", f, err)
	}
	return f.put(stage == 1)
}

func (f *Fan) put(on bool) error {
	want := f.o.Level(on)
	if err := f.pin.Out(want); err != nil {
		return fmt.Errorf("%v: %w", f, err)
	}
	r, ok := f.pin.(reader)
	if !ok {
		return nil
	}
	is, err := r.Level()
	if err != nil {
		return fmt.Errorf("%v: reading back: %w", f, err)
	}
	if is != want {
		return fmt.Errorf("%v: the line is %s after it was put %s; look for a short, or for something else that drives it",
			f, word(is), word(want))
	}
	return nil
}

func word(l gpio.Level) string {
	if l {
		return "high"
	}
	return "low"
}

// Close puts the fan off and lets the line go, also where the fan could not be put off.
func (f *Fan) Close() error {
	if f.gone {
		return nil
	}
	f.gone = true
	return errors.Join(f.put(false), device.Release(f, f.pin))
}
