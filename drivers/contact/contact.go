// Package contact reads a contact between one GPIO line and ground: a switch, a relay of a smoke
// alarm, a reed at a vent.
//
// The line is held high by a resistor, so a closed contact pulls it low. No program can tell a
// broken wire from an open contact: to one that is closed at rest it does what smoke does, to one
// that is open at rest it does nothing. Not here: finding the line, debouncing, judging.
package contact

import (
	"context"
	"fmt"
	"os"

	"periph.io/x/conn/v3/gpio"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// Line is an input that tells its level.
type Line interface {
	Level() (gpio.Level, error)
	String() string
}

// Options describes a contact.
type Options struct {
	Name string // for errors
	// NormallyClosed says that the contact is closed at rest and opens when it is on, as a smoke
	// loop that a cut wire must trip.
	NormallyClosed bool
}

// Probe is one contact.
type Probe struct {
	line Line
	o    Options
	slot bound.Slot
	gone bool
}

// New takes the line over, which is closed with the contact where it can be closed.
func New(line Line, o Options) *Probe {
	return &Probe{line: line, o: o, slot: bound.NewSlot()}
}

// String names the contact and its line.
func (p *Probe) String() string { return fmt.Sprintf("probe %s at %v", p.o.Name, p.line) }

// Read returns 0 where the contact is at rest and 1 where it is on. It gives ErrAbsent where the
// line has gone and ErrBusy while an earlier Read hangs.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if p.gone {
		return 0, fmt.Errorf("%v: %w", p, os.ErrClosed)
	}
	level, err := bound.Do(ctx, p.slot, func(context.Context) (gpio.Level, error) { return p.line.Level() })
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	if closed := level == gpio.Low; closed != p.o.NormallyClosed {
		return 1, nil
	}
	return 0, nil
}

// Close lets the line go.
func (p *Probe) Close() error {
	if p.gone {
		return nil
	}
	p.gone = true
	return device.Release(p, p.line)
}
