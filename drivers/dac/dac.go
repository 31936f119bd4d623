// Package dac sets the speed of a fan by an MCP4725, a digital to analogue converter on an I²C bus,
// whose output an amplifier brings to the 0–10 V that fans listen to.
//
// Not here: opening and sharing a bus, the relay that cuts a fan from the mains, minimum run times.
// A speed is taken to follow the voltage. Many fans run slowly, or not at all, under 1 or 2 V.
//
// Always: the fan is off after New and after Close, and each order is read back. The voltage after
// a power cut is off too: New looks what the chip's own memory holds for then, writes it once where
// it is anything else, as it is in a new chip, and reads that back. When the program is killed the
// voltage stays.
//
// Source: the data sheet of the MCP4725.
package dac

import (
	"context"
	"fmt"
	"math"
	"os"
	"slices"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// Address is the one that most boards have, 0x60. The others are 0x61 to 0x67.
const Address = 0x60

const full = 4095 // code of the highest voltage

// Opts describes a fan.
type Opts struct {
	Name string // for errors
	// ActiveLow says that 0 V runs the fan at full speed and the highest voltage is off.
	ActiveLow bool
	// Levels are the speeds as fractions of full flow, rising, in (0, 1], the last 1; none is the same
	// as [1].
	Levels []float64
	Sleep  func(context.Context, time.Duration) error // nil is a real wait
}

// Fan is one fan behind the converter.
type Fan struct {
	chip  *chip.Chip
	codes []uint16 // of each stage, off first
	gone  bool
}

// New checks the options, puts the fan off, reads that back, and sees to it that the fan is off
// after a power cut. A chip that is not there is an error. The bus is the fan's from now on, and
// closed with it where it can be closed; after an error it is still the caller's.
func New(ctx context.Context, bus i2c.Bus, addr uint16, o Opts) (*Fan, error) {
	c, err := chip.New(bus, addr, chip.Options{What: "fan", Name: o.Name, Sleep: o.Sleep})
	if err != nil {
		return nil, err
	}
	f := &Fan{chip: c}
	if f.codes, err = codes(o.Levels, o.ActiveLow); err != nil {
		return nil, fmt.Errorf("%v: %w", c, err)
	}
	if _, err := c.Do(ctx, f.takeOver); err != nil {
		return nil, err
	}
	return f, nil
}

// codes returns what each stage writes, off first.
func codes(levels []float64, low bool) ([]uint16, error) {
	if len(levels) == 0 {
		levels = []float64{1}
	}
	var all []uint16
	last := 0.0
	for _, l := range append([]float64{0}, levels...) {
		code := uint16(math.Round(l * full))
		if low {
			code = full - code
		}
		if len(all) > 0 && !(l > last && l <= 1) || slices.Contains(all, code) {
			return nil, fmt.Errorf("levels %v must rise from above 0 to 1, in steps that %d codes can tell apart", levels, full+1)
		}
		all, last = append(all, code), l
	}
	if last != 1 || len(levels) > math.MaxUint8 {
		return nil, fmt.Errorf("levels %v must end in 1 and be 255 at most", levels)
	}
	return all, nil
}

// String names the fan, the address and the bus.
func (f *Fan) String() string { return f.chip.String() }

// Set puts out the voltage of a stage and reads it back. It gives ErrAbsent where the chip does not
// answer and ErrBusy while an earlier Set hangs.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if int(stage) >= len(f.codes) {
		return fmt.Errorf("%v: no stage %d; it has %d", f, stage, len(f.codes)-1)
	}
	if f.gone {
		return fmt.Errorf("%v: %w", f, os.ErrClosed)
	}
	_, err := f.chip.Do(ctx, func(ctx context.Context) (float64, error) { return 0, f.put(ctx, f.codes[stage]) })
	return err
}

// state is what the chip holds: its output and what that will be after a power cut.
type state struct {
	writing     bool // its memory, which takes no orders meanwhile
	code, later uint16
	down, cut   byte // power-down bits of both; not 0 is a resistor to ground instead of a voltage
}

func (f *Fan) state(ctx context.Context) (state, error) {
	b := make([]byte, 5)
	if err := f.chip.Tx(ctx, nil, b); err != nil {
		return state{}, err
	}
	return state{
		writing: b[0]&0x80 == 0,
		code:    uint16(b[1])<<4 | uint16(b[2])>>4,
		later:   uint16(b[3]&0x0f)<<8 | uint16(b[4]),
		down:    b[0] >> 1 & 3, cut: b[3] >> 5 & 3,
	}, nil
}

// put writes a code in fast mode, which leaves the memory alone, and reads it back.
func (f *Fan) put(ctx context.Context, code uint16) error {
	if err := f.chip.Tx(ctx, []byte{byte(code >> 8), byte(code)}, nil); err != nil {
		return err
	}
	s, err := f.state(ctx)
	if err != nil {
		return fmt.Errorf("reading back: %w", err)
	}
	if s.code != code || s.down != 0 {
		return fmt.Errorf("it holds code %d, power-down %d, after %d was written; something else may be driving it", s.code, s.down, code)
	}
	return nil
}

const (
	writeBoth = 0x60 // output and memory
	wears     = 60 * time.Millisecond
	looks     = 4
)

// takeOver puts the fan off, now and for after a power cut.
func (f *Fan) takeOver(ctx context.Context) (float64, error) {
	off := f.codes[0]
	if err := f.put(ctx, off); err != nil {
		return 0, err
	}
	s, err := f.state(ctx)
	if err != nil || f.offLater(s) {
		return 0, err
	}
	if err := f.chip.Tx(ctx, []byte{writeBoth, byte(off >> 4), byte(off << 4)}, nil); err != nil {
		return 0, err
	}
	for range looks { // 50 ms at most, data sheet
		if err := f.chip.Sleep(ctx, wears); err != nil {
			return 0, err
		}
		if s, err = f.state(ctx); err != nil {
			return 0, err
		}
		if !s.writing {
			break
		}
	}
	if s.writing || !f.offLater(s) || s.code != off {
		return 0, fmt.Errorf("its memory holds code %d for after a power cut, and does not take %d; the fan would run then: %w", s.later, off, device.ErrFormat)
	}
	return 0, nil
}

// offLater reports whether the fan will be off after a power cut.
func (f *Fan) offLater(s state) bool { return s.later == f.codes[0] && s.cut == 0 }

// Close puts the fan off and lets the bus go, also where the fan could not be put off. It waits for
// a call that is under way, 5 s at most.
func (f *Fan) Close() error {
	f.gone = true
	return f.chip.Close(func(ctx context.Context) (float64, error) { return 0, f.put(ctx, f.codes[0]) })
}
