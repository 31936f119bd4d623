package ds18b20

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"periph.io/x/conn/v3/onewire"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// Commands that follow the address.
const (
	convert         = 0x44
	writeScratchpad = 0x4e
	readPowerSupply = 0xb4
	readScratchpad  = 0xbe
)

// Opts describes a thermometer.
type Opts struct {
	Name string // for errors
	// Resolution in bits, 9 to 12; 0 is 12. A measurement takes 750 ms at 12 bits and half as long
	// with each bit less. A DS18S20 has 12 only.
	Resolution int
}

// Dev is one thermometer.
type Dev struct {
	dev  onewire.Dev
	name string
	bits int
	slot bound.Slot
	gone bool
	met  bool // the slot's: the chip is there, is powered and has its resolution
}

// New checks the address and the options. The chip need not be there yet: the first Read meets
// it. The bus is the thermometer's from now on, and closed with it where it can be closed.
func New(bus onewire.Bus, addr onewire.Address, o Opts) (*Dev, error) {
	d := &Dev{dev: onewire.Dev{Bus: bus, Addr: addr}, name: o.Name, bits: o.Resolution, slot: bound.NewSlot()}
	if d.bits == 0 {
		d.bits = 12
	}
	switch {
	case d.family() != ds18b20 && d.family() != ds1822 && d.family() != ds18s20:
		return nil, fmt.Errorf("%v: family %02x is no thermometer of this kind; the id of a DS18B20 begins with 28, of a DS1822 with 22, of a DS18S20 with 10",
			d, d.family())
	case !onewire.CheckCRC(wire(uint64(addr))):
		return nil, fmt.Errorf("%v: address %016x: %w", d, uint64(addr), device.ErrCRC)
	case d.bits < 9 || d.bits > 12:
		return nil, fmt.Errorf("%v: no resolution of %d bits; it has 9 to 12", d, d.bits)
	case d.family() == ds18s20 && d.bits != 12:
		return nil, fmt.Errorf("%v: no resolution of %d bits; a DS18S20 has 12 only", d, d.bits)
	}
	return d, nil
}

func (d *Dev) family() byte { return byte(d.dev.Addr) }

// String names the thermometer, its id and its bus.
func (d *Dev) String() string {
	return fmt.Sprintf("probe %s at %s on %v", d.name, FormatID(d.dev.Addr), d.dev.Bus)
}

// Read measures once and returns °C. It gives ErrAbsent where the chip does not answer, ErrCRC,
// ErrFormat and ErrPowerOn for what it answers, and ErrBusy while an earlier Read hangs.
func (d *Dev) Read(ctx context.Context) (float64, error) {
	if d.gone {
		return 0, fmt.Errorf("%v: %w", d, os.ErrClosed)
	}
	t, err := bound.Do(ctx, d.slot, func(ctx context.Context) (float64, error) {
		t, err := d.measure(ctx)
		d.met = err == nil
		return t, err
	})
	if err != nil {
		return 0, fmt.Errorf("%v: %w", d, err)
	}
	return t, nil
}

func (d *Dev) measure(ctx context.Context) (float64, error) {
	if !d.met {
		if err := d.meet(ctx); err != nil {
			return 0, err
		}
	}
	if err := d.tx(ctx, []byte{convert}, nil); err != nil {
		return 0, err
	}
	if err := device.Sleep(ctx, 750*time.Millisecond>>(12-d.bits)); err != nil {
		return 0, err
	}
	s, bits, err := d.scratchpad(ctx)
	if err != nil {
		return 0, err
	}
	if bits != d.bits {
		return 0, fmt.Errorf("it answers in %d bits where %d were set, so it lost power or cannot be set: %w", bits, d.bits, device.ErrPowerOn)
	}
	return s.celsius(d.family(), bits)
}

// meet looks whether the chip is there and powered, and sets its resolution where it has another.
func (d *Dev) meet(ctx context.Context) error {
	// First, because a shorted wire also answers 0 to the question of power.
	s, bits, err := d.scratchpad(ctx)
	if err != nil {
		return err
	}
	power := []byte{0xff}
	if err := d.tx(ctx, []byte{readPowerSupply}, power); err != nil {
		return err
	}
	if power[0]&1 == 0 {
		return errors.New("it takes its power from the data wire, which does not carry enough to measure; connect its supply pin to 3.3 V or 5 V")
	}
	if bits == d.bits {
		return nil
	}
	// Not copied to its EEPROM, which wears out: after a loss of power it is met again.
	return d.tx(ctx, []byte{writeScratchpad, s[2], s[3], config(d.bits)}, nil)
}

func (d *Dev) scratchpad(ctx context.Context) (scratchpad, int, error) {
	var s scratchpad
	if err := d.tx(ctx, []byte{readScratchpad}, s[:]); err != nil {
		return s, 0, err
	}
	bits, err := s.check(d.family())
	return s, bits, err
}

// tx makes one transaction with the chip and says ErrAbsent where the bus knows that it is not
// there.
func (d *Dev) tx(ctx context.Context, w, r []byte) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	err := d.dev.Tx(w, r)
	var none onewire.NoDevicesError
	var short onewire.ShortedBusError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &none) && none.NoDevices():
		return fmt.Errorf("%w: %w", device.ErrAbsent, err)
	case errors.As(err, &short) && short.IsShorted():
		return fmt.Errorf("the data wire is shorted to ground: %w", err)
	case errors.Is(err, device.ErrBusy), errors.Is(err, context.DeadlineExceeded):
		return err // a search would hang as well
	}
	// The kernel reports a bus without devices by a bare number. A search tells.
	if there, failed := d.dev.Bus.Search(false); failed == nil && !slices.Contains(there, d.dev.Addr) {
		return fmt.Errorf("%w: a search of the bus finds %d others: %w", device.ErrAbsent, len(there), err)
	}
	return err
}

// Close lets the bus go.
func (d *Dev) Close() error {
	if d.gone {
		return nil
	}
	d.gone = true
	return device.Release(d, d.dev.Bus)
}
