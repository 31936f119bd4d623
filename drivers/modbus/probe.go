package modbus

import (
	"context"
	"fmt"
	"os"

	wire "github.com/simonvetter/modbus"
)

// ProbeOptions describes a probe.
type ProbeOptions struct {
	Name     string // for errors
	Unit     uint8  // of the station, 0 to 255
	Register Register
}

// Probe is one register of a station. It is used by one goroutine at a time.
type Probe struct {
	bus  *Bus
	o    ProbeOptions
	gone bool
}

// NewProbe returns a probe. The station need not be there yet. The bus is the probe's from now on,
// and closed with it.
func NewProbe(bus *Bus, o ProbeOptions) *Probe { return &Probe{bus: bus, o: o} }

// String names the probe, its register and its bus.
func (p *Probe) String() string {
	return fmt.Sprintf("probe %s at %v unit %d %v", p.o.Name, p.bus, p.o.Unit, p.o.Register)
}

// Read asks for the register once; a bit is 0 or 1. It gives ErrAbsent where nobody answers and
// ErrBusy where others keep the bus all the time.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if p.gone {
		return 0, fmt.Errorf("%v: %w", p, os.ErrClosed)
	}
	v, err := use(ctx, p.bus.shared, p.o.Unit, false, func(_ context.Context, c *wire.ModbusClient) (float64, error) {
		words, err := p.o.Register.read(c)
		if err != nil {
			return 0, err
		}
		v, err := p.o.Register.Decode(words)
		if err != nil {
			return 0, &ownFault{err}
		}
		return v, nil
	})
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	return v, nil
}

// Close lets the bus go. It may be called twice.
func (p *Probe) Close() error {
	p.gone = true
	return p.bus.Close()
}
