// Package sht reads air temperature and humidity from chips of the SHT3x and SHT4x families on an
// I²C bus.
//
// A Read tells the chip to measure once with its best repeatability, waits for as long as that
// takes, and reads temperature and humidity, of which it returns the one that was asked for. Two
// probes may share a chip, one for each quantity: each measures for itself, so that no value is
// older than its Read. Not here: opening and sharing a bus, judging, retrying and smoothing.
//
// Always: both words have passed their checksums and were measured by this Read; humidity is in
// 0..1 and is stated over water, also below 0 °C. A probe may be unplugged and plugged back.
//
// Sources: the data sheets of the SHT3x-DIS and of the SHT4x.
package sht

import (
	"context"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// Family is a family of chips. SHT3x is the zero value.
type Family uint8

// The families.
const (
	SHT3x Family = iota
	SHT4x
)

// String returns the family as its data sheet writes it.
func (f Family) String() string {
	if f == SHT4x {
		return "SHT4x"
	}
	return "SHT3x"
}

// Address is the one that most boards have, 0x44. Others have 0x45, and an SHT4x also 0x46.
const Address = 0x44

// Opts describes a probe.
type Opts struct {
	Name     string // for errors
	Family   Family
	Quantity device.Quantity // Temperature or Humidity
	// Burst lets an SHT4x heat itself dry, at most once in that time, from 10 min; 0, the zero value,
	// never heats. See Read. Such a chip must serve one probe of humidity alone.
	Burst time.Duration
	Sleep func(context.Context, time.Duration) error // nil is a real wait
	Now   func() time.Time                           // nil is the machine's clock
}

const (
	// saturated is the humidity from which a chip may be wet. Common practice, no source.
	saturated = 0.99
	// cooling is how long a chip is warmer than the air after a burst. Common practice, no source.
	cooling = 2 * time.Minute
	// leastBurst keeps the heater far under the tenth of the time that its data sheet allows.
	leastBurst = 10 * time.Minute
)

// Dev is one probe of a chip.
type Dev struct {
	chip   *chip.Chip
	o      Opts
	met    bool      // the use's: an SHT3x is idle and its heater is off
	heated time.Time // the use's: when the last burst began; zero for none
}

// New checks the address and the options. The chip need not be there yet. The bus is the probe's
// from now on, and closed with it where it can be closed; after an error it is still the caller's.
func New(bus i2c.Bus, addr uint16, o Opts) (*Dev, error) {
	c, err := chip.New(bus, addr, chip.Options{What: "probe", Name: o.Name, Sleep: o.Sleep})
	if err != nil {
		return nil, err
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	switch {
	case o.Quantity != device.Temperature && o.Quantity != device.Humidity:
		return nil, fmt.Errorf("%v: an %v does not measure %v; it has temperature and humidity", c, o.Family, o.Quantity)
	case o.Burst == 0:
	case o.Family != SHT4x:
		return nil, fmt.Errorf("%v: the heater of an SHT3x is too weak to dry it; use an SHT4x or no burst", c)
	case o.Quantity != device.Humidity:
		return nil, fmt.Errorf("%v: a chip that heats itself cannot serve for the air's temperature; leave the burst out", c)
	case o.Burst < leastBurst:
		return nil, fmt.Errorf("%v: a burst every %v is too often; %v is the least", c, o.Burst, leastBurst)
	}
	return &Dev{chip: c, o: o}, nil
}

// String names the probe, its address and its bus.
func (d *Dev) String() string { return d.chip.String() }

// Read measures once and returns °C or the humidity, 0 to 1. It gives ErrAbsent where the chip does
// not answer, ErrCRC for what was damaged on its way and ErrBusy while an earlier Read hangs.
//
// Where a burst is allowed and the humidity is 99 % or more, the chip is heated for a second after
// it was read. For the two minutes after that it is warmer than the air, and Read gives an error
// instead of a value.
func (d *Dev) Read(ctx context.Context) (float64, error) {
	return d.chip.Do(ctx, func(ctx context.Context) (float64, error) {
		v, err := d.read(ctx)
		d.met = err == nil
		return v, err
	})
}

func (d *Dev) read(ctx context.Context) (float64, error) {
	if !d.heated.IsZero() {
		if left := cooling - d.o.Now().Sub(d.heated); left > 0 {
			return 0, fmt.Errorf("it was heated dry and cools for another %v", left.Round(time.Second))
		}
	}
	if d.o.Family == SHT3x && !d.met {
		if err := d.meet(ctx); err != nil {
			return 0, err
		}
	}
	words, err := d.ask(ctx, d.measure(), d.takes(), 2)
	if err != nil {
		return 0, err
	}
	if d.o.Quantity == device.Temperature {
		return celsius(words[0]), nil
	}
	share := humidity(d.o.Family, words[1])
	if d.o.Burst > 0 && share >= saturated && (d.heated.IsZero() || d.o.Now().Sub(d.heated) >= d.o.Burst) {
		d.heated = d.o.Now()
		if err := d.burst(ctx); err != nil {
			return 0, fmt.Errorf("heating it dry: %w", err)
		}
	}
	return share, nil
}

// measure is the order for one measurement of high repeatability; an SHT3x then does not hold the
// clock.
func (d *Dev) measure() []byte {
	if d.o.Family == SHT4x {
		return []byte{0xfd}
	}
	return []byte{0x24, 0x00}
}

// takes is how long such a measurement takes at most: 8.3 ms and 15.5 ms.
func (d *Dev) takes() time.Duration {
	if d.o.Family == SHT4x {
		return 10 * time.Millisecond
	}
	return 17 * time.Millisecond
}

const heaterOn = 1 << 13 // in the status of an SHT3x

// meet ends what an SHT3x may have been doing for an earlier program: measuring by itself, when it
// takes no orders, or heating itself.
func (d *Dev) meet(ctx context.Context) error {
	if err := d.chip.Tx(ctx, []byte{0x30, 0x93}, nil); err != nil {
		return err
	}
	status, err := d.ask(ctx, []byte{0xf3, 0x2d}, time.Millisecond, 1)
	if err != nil {
		return err
	}
	if status[0]&heaterOn == 0 {
		return nil
	}
	if err := d.chip.Tx(ctx, []byte{0x30, 0x66}, nil); err != nil {
		return err
	}
	return errors.New("its heater was on and is off now; it reads again once it has cooled")
}

// burst heats an SHT4x with 200 mW for a second, and takes what it measured hot, which nobody wants.
func (d *Dev) burst(ctx context.Context) error {
	_, err := d.ask(ctx, []byte{0x39}, 1100*time.Millisecond, 2)
	return err
}

// ask sends an order, waits and reads the words of the answer.
func (d *Dev) ask(ctx context.Context, order []byte, wait time.Duration, words int) ([]uint16, error) {
	if err := d.chip.Tx(ctx, order, nil); err != nil {
		return nil, err
	}
	if err := d.chip.Sleep(ctx, wait); err != nil {
		return nil, err
	}
	answer := make([]byte, 3*words)
	if err := d.chip.Tx(ctx, nil, answer); err != nil {
		return nil, err
	}
	return chip.Words(answer)
}

// Close lets the bus go.
func (d *Dev) Close() error { return d.chip.Close(nil) }

// celsius is T = −45 + 175 · S_T / (2¹⁶ − 1), °C, of both families.
func celsius(raw uint16) float64 { return -45 + 175*float64(raw)/65535 }

// humidity is RH = S_RH / (2¹⁶ − 1) of an SHT3x, and RH = −0.06 + 1.25 · S_RH / (2¹⁶ − 1) of an
// SHT4x, which may leave 0..1 at its ends and is cropped as its data sheet says.
func humidity(f Family, raw uint16) float64 {
	share := float64(raw) / 65535
	if f == SHT4x {
		share = -0.06 + 1.25*share
	}
	return min(max(share, 0), 1)
}
