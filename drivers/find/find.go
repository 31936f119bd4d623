// Package find looks what a board shows: thermometers on its 1-Wire buses, chips on its I²C buses,
// the kernel's own sensor files, and its GPIO lines with who holds them.
//
// Each thing found carries the stanza by which package drivers opens it, so that what is shown is
// what a running farm would read. Where a kind of bus is missing, the report says what to do. Not
// here: readings, and which probe of a farm a thing is.
//
// Always: nothing is switched, no GPIO line is taken, no register of a chip is changed. A chip that
// the kernel drives, or that the caller asks to leave alone, is not touched; neither are buses for
// screens and mainboards. A machine without any bus is a report, not an error.
package find

import (
	"cmp"
	"context"
	"slices"
	"time"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/onewire"

	"loambank/drivers"
	"loambank/drivers/board"
	"loambank/drivers/device"
)

// Kind is where a thing was found.
type Kind string

// The kinds, in the order of a report.
const (
	Wire Kind = "1-Wire"
	Chip Kind = "I²C"
	File Kind = "file"
	Line Kind = "GPIO"
)

// Measure is what a thing tells. Nothing is the zero value.
type Measure uint8

// What things tell, and the unit that a probe opened by their stanza reads it in.
const (
	Nothing     Measure = iota
	Temperature         // °C
	Humidity            // relative, 0 to 1
	Pressure            // Pa
	CO2                 // ppm by volume
	Voltage             // V
	Light               // lux
)

// String returns the word for what is told.
func (m Measure) String() string {
	return [...]string{"nothing", "temperature", "humidity", "pressure", "co2", "voltage", "light"}[m]
}

// Found is one thing that may serve a farm: a chip that measures two quantities is found twice.
type Found struct {
	Kind    Kind
	Bus     string // "I2C1", "OneWire1"; of a line its chip and number, of a file ""
	At      string // id, address, path, or the name of a line, which may be ""
	Measure Measure
	// Stanza opens it; the name is empty, and so is the driver where nothing here can open it.
	Stanza drivers.Stanza
	How    string // how it was recognised
	Note   string // why it is of no use, or what to know of it
	Own    bool   // it tells of the machine itself, such as its processor's temperature
	Holder string // of a line that is in use: who holds it
	Input  int    // of a chip with several, from 0
}

// Advice is something that is missing, and what to do about it.
type Advice struct {
	Kind Kind
	Text string
}

// Report is all that was found, by kind, bus and place, and what is missing.
type Report struct {
	Found  []Found
	Advice []Advice
}

// Finder looks through one machine. Make it with New.
type Finder struct {
	sys, dev string
	// Leave says why the chip at an address of a bus must not be touched, "" where it may; nil is
	// always "".
	Leave func(bus string, addr uint16) string

	wires func(context.Context) ([]bus[onewire.BusCloser], error)
	chips func(context.Context) ([]bus[i2c.BusCloser], error)
	lines func(context.Context) ([]board.Line, error)
	sleep func(context.Context, time.Duration) error
}

// bus is one that the machine has.
type bus[B any] struct {
	name string
	open func(context.Context) (B, error)
}

// New returns a finder for the machine whose kernel shows itself in the folders sys and dev. Buses
// and lines are asked where these are the machine's own, /sys and /dev, since they are reached
// through the kernel and not by path.
func New(sys, dev string) *Finder {
	f := &Finder{
		sys: sys, dev: dev, sleep: device.Sleep,
		wires: func(context.Context) ([]bus[onewire.BusCloser], error) { return nil, nil },
		chips: func(context.Context) ([]bus[i2c.BusCloser], error) { return nil, nil },
		lines: func(context.Context) ([]board.Line, error) { return nil, nil },
	}
	if sys != "/sys" || dev != "/dev" {
		return f
	}
	all := board.NewBuses()
	f.lines = board.Lines
	f.wires = func(ctx context.Context) ([]bus[onewire.BusCloser], error) {
		return named(ctx, all.Wires, func(ctx context.Context, name string) (onewire.BusCloser, error) { return all.Open(ctx, name) })
	}
	f.chips = func(ctx context.Context) ([]bus[i2c.BusCloser], error) {
		return named(ctx, all.I2Cs, func(ctx context.Context, name string) (i2c.BusCloser, error) { return all.OpenI2C(ctx, name) })
	}
	return f
}

func named[B any](ctx context.Context, list func(context.Context) ([]string, error), open func(context.Context, string) (B, error)) ([]bus[B], error) {
	names, err := list(ctx)
	var all []bus[B]
	for _, name := range names {
		all = append(all, bus[B]{name, func(ctx context.Context) (B, error) { return open(ctx, name) }})
	}
	return all, err
}

// Find looks once. It takes a second or two where chips must be asked.
func (f *Finder) Find(ctx context.Context) Report {
	r := &Report{}
	f.findWires(ctx, r)
	f.findChips(ctx, r)
	f.findFiles(r)
	f.findLines(ctx, r)
	order := []Kind{Wire, Chip, File, Line}
	slices.SortStableFunc(r.Found, func(a, b Found) int {
		return cmp.Compare(slices.Index(order, a.Kind), slices.Index(order, b.Kind))
	})
	return *r
}

func (r *Report) add(found ...Found) { r.Found = append(r.Found, found...) }

func (r *Report) advise(k Kind, text string) { r.Advice = append(r.Advice, Advice{k, text}) }
