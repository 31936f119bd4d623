// Package bme280 reads temperature, humidity and air pressure from a BME280 on an I²C bus, and
// temperature and pressure from its brother without humidity, the BMP280.
//
// A Read wakes the chip for one measurement of all it has, waits, and reads it together with the
// registers that say how it was made. Two or three probes may share a chip, one for each quantity:
// each measures for itself. Not here: opening and sharing a bus, judging, retrying and smoothing.
//
// Always: what is returned was measured by this Read, by a chip whose own calibration was read
// since the last fault; the chip has no checksum. Humidity is in 0..1, over water. A probe may be
// unplugged and plugged back.
//
// Source: the data sheet of the BME280.
package bme280

import (
	"context"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// Address is the one that most boards have, 0x76. The other is 0x77.
const Address = 0x76

// Opts describes a probe.
type Opts struct {
	Name     string                                     // for errors
	Quantity device.Quantity                            // Temperature, Humidity or Pressure
	Sleep    func(context.Context, time.Duration) error // nil is a real wait
}

// Dev is one probe of a chip.
type Dev struct {
	chip *chip.Chip
	o    Opts
	met  bool // the use's: trim is that of the chip
	trim trim // the use's
}

// New checks the address and the options. The chip need not be there yet. The bus is the probe's
// from now on, and closed with it where it can be closed; after an error it is still the caller's.
func New(bus i2c.Bus, addr uint16, o Opts) (*Dev, error) {
	c, err := chip.New(bus, addr, chip.Options{What: "probe", Name: o.Name, Sleep: o.Sleep})
	if err != nil {
		return nil, err
	}
	switch o.Quantity {
	case device.Temperature, device.Humidity, device.Pressure:
		return &Dev{chip: c, o: o}, nil
	}
	return nil, fmt.Errorf("%v: a BME280 does not measure %v; it has temperature, humidity and pressure", c, o.Quantity)
}

// String names the probe, its address and its bus.
func (d *Dev) String() string { return d.chip.String() }

// Registers.
const (
	firstTrim  = 0x88 // to 0xa1
	idRegister = 0xd0
	secondTrim = 0xe1 // to 0xe7
	ctrlHum    = 0xf2 // and on to the last byte of the data, 0xfe
	ctrlMeas   = 0xf4
)

const (
	idBME280 = 0x60
	idBMP280 = 0x58

	onceEach   = 0x24 // one sample of temperature and of pressure, asleep
	forced     = 0x01 // measure once and sleep again
	oneSample  = 0x01 // of humidity
	measuring  = 1 << 3
	copying    = 1 << 0
	wait       = 10 * time.Millisecond // 9.3 ms at most for one sample each, appendix B
	looks      = 5
	nothing    = 0x80000 // of temperature and pressure that were left out, section 4
	nothingHum = 0x8000
)

// Read measures once and returns °C, Pa, or the humidity, 0 to 1. It gives ErrAbsent where the chip
// does not answer, ErrFormat for an answer that cannot be and ErrBusy while an earlier Read hangs.
func (d *Dev) Read(ctx context.Context) (float64, error) {
	return d.chip.Do(ctx, func(ctx context.Context) (float64, error) {
		v, err := d.read(ctx)
		d.met = err == nil
		return v, err
	})
}

func (d *Dev) read(ctx context.Context) (float64, error) {
	if !d.met {
		if err := d.meet(ctx); err != nil {
			return 0, err
		}
	}
	// The number of samples of humidity counts from the next writing of the other register on.
	if err := d.chip.Tx(ctx, []byte{ctrlHum, oneSample, ctrlMeas, onceEach | forced}, nil); err != nil {
		return 0, err
	}
	raw, err := d.measured(ctx)
	if err != nil {
		return 0, err
	}
	tFine := d.trim.tFine(raw.temperature)
	tC := tFine / 5120
	if tC < -40 || tC > 85 {
		return 0, fmt.Errorf("it answers %g °C, outside -40..85 °C: %w", tC, device.ErrFormat)
	}
	switch d.o.Quantity {
	case device.Humidity:
		return d.trim.humidity(raw.humidity, tFine), nil
	case device.Pressure:
		return d.trim.pressurePa(raw.pressure, tFine)
	}
	return tC, nil
}

// meet looks which chip is there and reads its calibration.
func (d *Dev) meet(ctx context.Context) error {
	id := make([]byte, 1)
	if err := d.chip.Tx(ctx, []byte{idRegister}, id); err != nil {
		return err
	}
	switch {
	case id[0] == idBMP280 && d.o.Quantity == device.Humidity:
		return errors.New("it is a BMP280, which has no humidity; use a BME280")
	case id[0] != idBME280 && id[0] != idBMP280:
		return fmt.Errorf("it says it is %02x where a BME280 says 60: %w", id[0], device.ErrFormat)
	}
	first, second := make([]byte, 26), make([]byte, 7)
	if err := d.chip.Tx(ctx, []byte{firstTrim}, first); err != nil {
		return err
	}
	if id[0] == idBME280 {
		if err := d.chip.Tx(ctx, []byte{secondTrim}, second); err != nil {
			return err
		}
	}
	var err error
	d.trim, err = readTrim(first, second)
	return err
}

// rawData is what the chip counts.
type rawData struct{ pressure, temperature, humidity float64 }

// measured reads the measurement once it is there, and checks how it was made: a chip that lost its
// power meanwhile has forgotten.
func (d *Dev) measured(ctx context.Context) (rawData, error) {
	for range looks {
		if err := d.chip.Sleep(ctx, wait); err != nil {
			return rawData{}, err
		}
		b := make([]byte, 13) // in one transfer, since the chip keeps the data still for as long
		if err := d.chip.Tx(ctx, []byte{ctrlHum}, b); err != nil {
			return rawData{}, err
		}
		if b[1]&(measuring|copying) != 0 || b[2] == onceEach|forced {
			continue
		}
		return d.data(b)
	}
	return rawData{}, fmt.Errorf("it has not measured in %v: %w", looks*wait, device.ErrFormat)
}

// data reads the registers from 0xf2 to 0xfe.
func (d *Dev) data(b []byte) (rawData, error) {
	if b[2] != onceEach || d.o.Quantity == device.Humidity && b[0]&7 != oneSample {
		return rawData{}, fmt.Errorf("its registers say % x where 01 and %02x were set, so it lost power or another program uses it: %w", b[:3], onceEach, device.ErrFormat)
	}
	twenty := func(b []byte) uint32 { return uint32(b[0])<<12 | uint32(b[1])<<4 | uint32(b[2])>>4 }
	p, t, h := twenty(b[5:]), twenty(b[8:]), uint32(b[11])<<8|uint32(b[12])
	if t == nothing || p == nothing && d.o.Quantity == device.Pressure || h == nothingHum && d.o.Quantity == device.Humidity {
		return rawData{}, fmt.Errorf("it answers % x, which says that nothing was measured: %w", b[5:], device.ErrFormat)
	}
	return rawData{float64(p), float64(t), float64(h)}, nil
}

// Close lets the bus go. The chip sleeps between measurements.
func (d *Dev) Close() error { return d.chip.Close(nil) }
