// Package ads1115 reads voltages, and the temperature of thermistors, by an ADS1115 on an I²C bus:
// four inputs against ground, 16 bits.
//
// A Read tells the chip to convert one input once, waits until it has, and reads the result. It
// averages over an eighth of a second, which takes most of the hum out of long wires. Probes on
// the inputs of one chip wait for each other. Not here: opening and sharing a bus, judging,
// retrying and smoothing.
//
// Always: a value was converted by this Read, of the input that was asked for; the chip has no
// checksum. A thermistor whose wire is broken or shorted gives an error, never a temperature. A
// probe may be unplugged and plugged back.
//
// Source: the data sheet of the ADS1115, SBAS444.
package ads1115

import (
	"context"
	"encoding/binary"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// Address is the chip's where its address pin is at ground, 0x48. The others are 0x49 to 0x4b.
const Address = 0x48

// Opts describes a probe.
type Opts struct {
	Name    string // for errors
	Channel int    // the input, 0 to 3
	// NTC is the thermistor at the input; nil reads the voltage itself, which stays under 6.144 V and
	// the chip's own supply.
	NTC   *NTC
	Sleep func(context.Context, time.Duration) error // nil is a real wait
}

// Dev is one probe.
type Dev struct {
	chip *chip.Chip
	o    Opts
	gain gain
}

// gain is a range of the input.
type gain struct {
	bits       uint16 // PGA of the config register
	fullScaleV float64
}

// The ranges that a thermistor's supply of 3.3 V or less, and one of 5 V, need; table 8-3.
var (
	narrow = gain{1, 4.096}
	wide   = gain{0, 6.144}
)

// New checks address and options. The chip need not be there yet. The bus is the probe's from now
// on, and closed with it where it can be closed; after an error it is still the caller's.
func New(bus i2c.Bus, addr uint16, o Opts) (*Dev, error) {
	c, err := chip.New(bus, addr, chip.Options{What: "probe", Name: o.Name, Sleep: o.Sleep})
	if err != nil {
		return nil, err
	}
	d := &Dev{chip: c, o: o, gain: wide}
	if o.Channel < 0 || o.Channel > 3 {
		return nil, fmt.Errorf("%v: an ADS1115 has no input %d; it has 0 to 3", c, o.Channel)
	}
	if o.NTC == nil {
		return d, nil
	}
	if err := o.NTC.Check(); err != nil {
		return nil, fmt.Errorf("%v: %w", c, err)
	}
	if o.NTC.SupplyV <= narrow.fullScaleV {
		d.gain = narrow
	}
	return d, nil
}

// String names the probe, its address and its bus.
func (d *Dev) String() string { return d.chip.String() }

// Registers and bits of the config register.
const (
	conversion = 0x00
	configure  = 0x01

	begin      = 1 << 15 // and, when read, done
	toGround   = 4 << 12 // input 0 against ground; the next ones follow
	toGain     = 9
	single     = 1 << 8 // one conversion, then asleep
	eightASec  = 0 << 5
	noCompare  = 3
	convertFor = 138 * time.Millisecond // 1/8 s, and a tenth more for its clock
	looks      = 3
)

// config is what makes the chip convert the input once.
func (d *Dev) config() uint16 {
	return begin | toGround + uint16(d.o.Channel)<<12 | d.gain.bits<<toGain | single | eightASec | noCompare
}

// Read converts once and returns V, or °C where there is a thermistor. It gives ErrAbsent where the
// chip does not answer or the thermistor's wire is broken, ErrFormat for what cannot be, and ErrBusy
// while an earlier Read hangs.
func (d *Dev) Read(ctx context.Context) (float64, error) {
	return d.chip.Do(ctx, d.read)
}

func (d *Dev) read(ctx context.Context) (float64, error) {
	order := binary.BigEndian.AppendUint16([]byte{configure}, d.config())
	if err := d.chip.Tx(ctx, order, nil); err != nil {
		return 0, err
	}
	if err := d.wait(ctx); err != nil {
		return 0, err
	}
	result := make([]byte, 2)
	if err := d.chip.Tx(ctx, []byte{conversion}, result); err != nil {
		return 0, err
	}
	code := binary.BigEndian.Uint16(result)
	v := volts(code, d.gain.fullScaleV)
	switch {
	case d.o.NTC != nil:
		t, err := d.o.NTC.Celsius(v)
		if err != nil {
			return 0, fmt.Errorf("input %d: %w", d.o.Channel, err)
		}
		return t, nil
	case code == 0x7fff:
		return 0, fmt.Errorf("input %d is over %g V; divide its voltage down: %w", d.o.Channel, d.gain.fullScaleV, device.ErrFormat)
	}
	return v, nil
}

// wait waits until the conversion is done, and checks that it is the one that was asked for: a chip
// that lost its power meanwhile has forgotten.
func (d *Dev) wait(ctx context.Context) error {
	pause := convertFor
	for range looks {
		if err := d.chip.Sleep(ctx, pause); err != nil {
			return err
		}
		state := make([]byte, 2)
		if err := d.chip.Tx(ctx, []byte{configure}, state); err != nil {
			return err
		}
		is := binary.BigEndian.Uint16(state)
		if is|begin != d.config() {
			return fmt.Errorf("its register says %04x where %04x was set, so it lost power or another program uses it: %w", is|begin, d.config(), device.ErrFormat)
		}
		if is&begin != 0 {
			return nil
		}
		pause = 10 * time.Millisecond
	}
	return fmt.Errorf("it is not done after %v: %w", convertFor, device.ErrFormat)
}

// volts is the voltage of a code: a signed number, 2¹⁵ of it being full scale.
func volts(code uint16, fullScaleV float64) float64 {
	return float64(int16(code)) * fullScaleV / 32768
}

// Close lets the bus go. The chip sleeps between conversions.
func (d *Dev) Close() error { return d.chip.Close(nil) }
