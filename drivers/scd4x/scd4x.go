// Package scd4x reads carbon dioxide from chips of the SCD4x family (SCD40, SCD41) on an I²C bus.
//
// The chip measures by itself every five seconds, and hands each measurement out once. A Read waits
// for the next one that nobody has taken: with a tick of ten seconds there is one at once, and two
// probes on one chip wait for each other, five seconds at most. Not here: opening and sharing a
// bus, judging, retrying and smoothing.
//
// Always: all words have passed their checksums. The chip corrects itself weekly by taking its
// lowest value for outdoor air, as it does when it is delivered; a house that is never aired
// misleads it. It assumes the air pressure at sea level: scale the value where the house lies
// high. Its temperature and humidity are those of a warm chip. A probe may be unplugged and plugged
// back: it is started afresh after every fault, and goes on measuring after Close.
//
// Source: the data sheet of the SCD4x.
package scd4x

import (
	"context"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// Address is the only one that these chips have.
const Address = 0x62

// Opts describes a probe.
type Opts struct {
	Name     string                                     // for errors
	Quantity device.Quantity                            // CO2, Temperature or Humidity
	Sleep    func(context.Context, time.Duration) error // nil is a real wait
}

// Dev is one probe of a chip.
type Dev struct {
	chip *chip.Chip
	o    Opts
	met  bool // the use's: the chip measures
}

// New checks the options. The chip need not be there yet. The bus is the probe's from now on, and
// closed with it where it can be closed; after an error it is still the caller's.
func New(bus i2c.Bus, addr uint16, o Opts) (*Dev, error) {
	c, err := chip.New(bus, addr, chip.Options{What: "probe", Name: o.Name, Sleep: o.Sleep})
	if err != nil {
		return nil, err
	}
	switch o.Quantity {
	case device.CO2, device.Temperature, device.Humidity:
		return &Dev{chip: c, o: o}, nil
	}
	return nil, fmt.Errorf("%v: an SCD4x does not measure %v; it has co2, temperature and humidity", c, o.Quantity)
}

// String names the probe, its address and its bus.
func (d *Dev) String() string { return d.chip.String() }

// Orders, and how long the chip takes to carry each out.
var (
	start = order{[]byte{0x21, 0xb1}, 0}
	stop  = order{[]byte{0x3f, 0x86}, 500 * time.Millisecond}
	ready = order{[]byte{0xe4, 0xb8}, time.Millisecond}
	take  = order{[]byte{0xec, 0x05}, time.Millisecond}
)

type order struct {
	code  []byte
	takes time.Duration
}

const (
	look  = 250 * time.Millisecond // between two looks for a measurement
	looks = 24                     // as many as an interval of 5 s takes, and a second more
)

var errSilent = errors.New("it has not measured for 6 s; it is started afresh")

// Read returns the next measurement: ppm, °C, or the humidity, 0 to 1. It gives ErrAbsent where the
// chip does not answer, ErrCRC and ErrFormat for what it answers, and ErrBusy while an earlier Read
// hangs or another probe has the chip.
func (d *Dev) Read(ctx context.Context) (float64, error) {
	return d.chip.Do(ctx, func(ctx context.Context) (float64, error) {
		v, err := d.read(ctx)
		d.met = err == nil
		return v, err
	})
}

func (d *Dev) read(ctx context.Context) (float64, error) {
	if !d.met {
		// It takes no order to start while it measures, so it is stopped first, which it always takes.
		for _, o := range []order{stop, start} {
			if _, err := d.ask(ctx, o, 0); err != nil {
				return 0, err
			}
		}
	}
	if err := d.wait(ctx); err != nil {
		return 0, err
	}
	words, err := d.ask(ctx, take, 3)
	if err != nil {
		return 0, err
	}
	switch d.o.Quantity {
	case device.Temperature:
		return -45 + 175*float64(words[1])/65535, nil // T = −45 + 175 · word[1] / (2¹⁶ − 1), °C
	case device.Humidity:
		return float64(words[2]) / 65535, nil // RH = word[2] / (2¹⁶ − 1)
	}
	if words[0] == 0 {
		return 0, fmt.Errorf("it answers 0 ppm, which no air has: %w", device.ErrFormat)
	}
	return float64(words[0]), nil // CO₂ = word[0], ppm
}

// wait waits until there is a measurement.
func (d *Dev) wait(ctx context.Context) error {
	for range looks {
		state, err := d.ask(ctx, ready, 1)
		if err != nil {
			return err
		}
		if state[0]&0x07ff != 0 { // "the least significant 11 bits are 0: data not ready"
			return nil
		}
		if err := d.chip.Sleep(ctx, look); err != nil {
			return err
		}
	}
	return errSilent
}

// ask sends an order, waits and reads the words of the answer, of which there may be none.
func (d *Dev) ask(ctx context.Context, o order, words int) ([]uint16, error) {
	if err := d.chip.Tx(ctx, o.code, nil); err != nil {
		return nil, err
	}
	if o.takes > 0 {
		if err := d.chip.Sleep(ctx, o.takes); err != nil {
			return nil, err
		}
	}
	if words == 0 {
		return nil, nil
	}
	answer := make([]byte, 3*words)
	if err := d.chip.Tx(ctx, nil, answer); err != nil {
		return nil, err
	}
	return chip.Words(answer)
}

// Close lets the bus go.
func (d *Dev) Close() error { return d.chip.Close(nil) }
