package drivers_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/ads1115"
	"loambank/drivers/bme280"
	"loambank/drivers/chip"
	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
	"loambank/drivers/scd4x"
	"loambank/drivers/sht"
)

// transfer is what a fault makes of a transfer; well makes it as a chip does that is well.
type transfer func(w, r []byte, well func()) error

// chipBus is an I²C bus whose chip is well until it is broken.
func chipBus(broken *atomic.Bool, well func(w, r []byte), bad func(broken *atomic.Bool) transfer) i2c.Bus {
	fault := bad(broken)
	return chiptest.Bus(func(_ uint16, w, r []byte) error {
		if broken.Load() {
			return fault(w, r, func() { well(w, r) })
		}
		well(w, r)
		return nil
	})
}

// always is a fault that keeps nothing in mind.
func always(f transfer) func(*atomic.Bool) transfer { return func(*atomic.Bool) transfer { return f } }

// Faults that every chip has. The errors are those that package board makes of the kernel's.
var (
	nack    = always(func(_, _ []byte, _ func()) error { return fmt.Errorf("%w: no chip acknowledges", drivers.ErrAbsent) })
	gone    = always(func(_, _ []byte, _ func()) error { return fmt.Errorf("%w: the bus has gone", drivers.ErrAbsent) })
	heldLow = always(func(_, _ []byte, _ func()) error {
		return errors.New("a wire of the bus stays low; look for a short, for missing pull-up resistors or a chip that hangs")
	})
	busyBus = always(func(_, _ []byte, _ func()) error { return drivers.ErrBusy })
	short   = always(func(_, _ []byte, _ func()) error { return errors.New("short read") })
	zeros   = always(func(_, r []byte, _ func()) error { clear(r); return nil })
	ones    = always(func(_, r []byte, _ func()) error {
		for i := range r {
			r[i] = 0xff
		}
		return nil
	})
	wrongBit = always(func(_, r []byte, well func()) error {
		well()
		if len(r) > 0 {
			r[len(r)-1] ^= 0x04
		}
		return nil
	})
)

// hangs holds every transfer for as long as the fault lasts.
func hangs(broken *atomic.Bool) transfer {
	return func(_, _ []byte, _ func()) error {
		for broken.Load() {
			time.Sleep(time.Second)
		}
		return nil
	}
}

// saysElse is a fault of the answer alone: put changes what a chip that is well answers.
func saysElse(put func(w, r []byte)) func(*atomic.Bool) transfer {
	return always(func(w, r []byte, well func()) error {
		well()
		put(w, r)
		return nil
	})
}

// words are numbers with a checksum each.
func words(numbers ...uint16) []byte {
	var b []byte
	for _, n := range numbers {
		w := binary.BigEndian.AppendUint16(nil, n)
		b = append(b, w[0], w[1], chip.CRC8(w))
	}
	return b
}

func hygrometer(family sht.Family, q device.Quantity, bad func(*atomic.Bool) transfer) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		well := func(_, r []byte) {
			copy(r, words(0x6667, 0x5eb9)[:len(r)]) // sensors-S026, S027: 25 °C
			if len(r) == 3 {
				copy(r, words(0x8010)) // the status of an SHT3x
			}
		}
		return sht.New(chipBus(broken, well, bad), sht.Address, sht.Opts{Name: "lower/air", Family: family, Quantity: q})
	}
}

func hygrometerFaults() []fault {
	row := func(name string, family sht.Family, q device.Quantity, bad func(*atomic.Bool) transfer, is error, says string) fault {
		f := fault{driver: "sht4x", name: name, role: judge.Air, place: judge.Crop, is: is, says: says, atOnce: judge.Fine, later: judge.Stale}
		if family == sht.SHT3x {
			f.driver = "sht3x"
		}
		if q == device.Humidity {
			f.role, f.place = judge.Humidity, judge.NoPlace
		}
		f.open = hygrometer(family, q, bad)
		return f
	}
	const t, rh = device.Temperature, device.Humidity
	wet := row("a drop of water on it", sht.SHT4x, rh, saysElse(func(_, r []byte) { copy(r, words(0x6667, 0xffff)[:len(r)]) }), nil, "")
	wet.reads, wet.atOnce, wet.later = 1, judge.Jump, judge.Pinned
	cold := row("a chip that reads its lowest number", sht.SHT3x, t, saysElse(func(_, r []byte) {
		if len(r) == 6 {
			copy(r, words(0, 0))
		}
	}), nil, "")
	cold.reads, cold.atOnce, cold.later = -45, judge.Jump, judge.Fine // -45 °C is within what an open house can be
	return []fault{
		row("no acknowledge", sht.SHT4x, t, nack, drivers.ErrAbsent, "no chip acknowledges"),
		row("no acknowledge, humidity", sht.SHT3x, rh, nack, drivers.ErrAbsent, "no chip acknowledges"),
		row("a bus adapter that is unplugged", sht.SHT4x, t, gone, drivers.ErrAbsent, "the bus has gone"),
		row("a data wire that stays low", sht.SHT4x, rh, heldLow, nil, "a wire of the bus stays low"),
		row("an idle wire", sht.SHT4x, t, ones, drivers.ErrAbsent, "nothing drives the wire"),
		row("zeros", sht.SHT3x, t, zeros, drivers.ErrCRC, "the checksum does not match"),
		row("a wrong bit", sht.SHT4x, rh, wrongBit, drivers.ErrCRC, "the checksum does not match"),
		row("a short read", sht.SHT4x, t, short, nil, "short read"),
		row("a chip that is kept by another probe", sht.SHT4x, t, busyBus, drivers.ErrBusy, "an earlier call has not come back"),
		row("a kernel that does not answer", sht.SHT4x, t, hangs, nil, "an earlier call has not come back"),
		row("a heater that another program left on", sht.SHT3x, t, heaterOn, nil, "its heater was on and is off now"),
		wet, cold,
	}
}

// heaterOn is an SHT3x that was reset, and whose heater goes on again and again.
func heaterOn(*atomic.Bool) transfer {
	first := true
	return func(_, r []byte, well func()) error {
		well()
		switch {
		case len(r) == 6 && first: // so that the driver meets it again
			first = false
			clear(r)
		case len(r) == 3:
			copy(r, words(1<<13))
		}
		return nil
	}
}

// The calibration of the data sheet's example, sensors-S055, with the humidity rows' of sensors-S060.
func bme(q device.Quantity, bad func(*atomic.Bool) transfer) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	first, second := make([]byte, 26), make([]byte, 7)
	for i, n := range []int{27504, 26435, -1000, 36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000} {
		binary.LittleEndian.PutUint16(first[2*i:], uint16(n))
	}
	first[25] = 75
	binary.LittleEndian.PutUint16(second, 362)
	second[3], second[4], second[5], second[6] = byte(313>>4), byte(313&0xf)|byte(50&0xf)<<4, byte(50>>4), 30
	return func(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		well := func(w, r []byte) {
			switch {
			case len(r) == 1:
				r[0] = 0x60
			case len(r) == 26:
				copy(r, first)
			case len(r) == 7:
				copy(r, second)
			case len(r) == 13: // adc_P 415148, adc_T 519888, adc_H 30000
				copy(r, []byte{0x01, 0x00, 0x24, 0, 0, 0x65, 0x5a, 0xc0, 0x7e, 0xed, 0x00, 0x75, 0x30})
			}
		}
		return bme280.New(chipBus(broken, well, bad), bme280.Address, bme280.Opts{Name: "lower/air", Quantity: q})
	}
}

func thermistor(bad func(*atomic.Bool) transfer) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		var order []byte
		well := func(w, r []byte) {
			switch {
			case len(w) == 3:
				order = append(order[:0], w[1:]...)
			case w[0] == 1:
				copy(r, order)
			default:
				copy(r, []byte{13200 >> 8, 13200 & 0xff}) // half of 3.3 V, 25 °C, sensors-S083
			}
		}
		return ads1115.New(chipBus(broken, well, bad), ads1115.Address, ads1115.Opts{
			Name: "lower/beds/root", NTC: &ads1115.NTC{Beta: 3950, Ohm: 10_000, FixedOhm: 10_000, SupplyV: 3.3},
		})
	}
}

// volts is a converter whose input lies at a voltage.
func volts(v float64) func(*atomic.Bool) transfer {
	code := uint16(v / 4.096 * 32768)
	return saysElse(func(w, r []byte) {
		if len(r) == 2 && w[0] == 0 {
			binary.BigEndian.PutUint16(r, code)
		}
	})
}

func co2(bad func(*atomic.Bool) transfer) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		well := func(_, r []byte) {
			switch len(r) {
			case 3:
				copy(r, words(0x8006)) // there is a measurement
			case 9:
				copy(r, words(500, 0x6667, 0x5eb9)) // 500 ppm: 01f4 33 of sensors-S053
			}
		}
		return scd4x.New(chipBus(broken, well, bad), scd4x.Address, scd4x.Opts{Name: "lower/co2", Quantity: device.CO2})
	}
}

func chipFaults() []fault {
	row := func(kind, name string, open func(*testing.T, *atomic.Bool) (drivers.Probe, error), is error, says string) fault {
		f := fault{driver: kind, name: name, role: judge.Air, place: judge.Crop, open: open, is: is, says: says, atOnce: judge.Fine, later: judge.Stale}
		switch kind {
		case "ads1115":
			f.role, f.place = judge.Soil, judge.Root
		case "scd4x":
			f.role, f.place = judge.CO2, judge.NoPlace
		}
		return f
	}
	put := func(at int, b ...byte) func(*atomic.Bool) transfer {
		return saysElse(func(_, r []byte) {
			if len(r) == 13 {
				copy(r[at:], b)
			}
		})
	}
	dry := row("bme280", "a humidity that was not measured", bme(device.Humidity, put(11, 0x80, 0x00)), drivers.ErrFormat, "nothing was measured") // sensors-S059
	dry.role, dry.place = judge.Humidity, judge.NoPlace
	hot := row("ads1115", "a thermistor of another kind, 62 °C", thermistor(volts(0.62)), nil, "")
	hot.reads, hot.atOnce, hot.later = 62, judge.OutOfRange, judge.OutOfRange
	much := row("scd4x", "its largest number, 65535 ppm", co2(saysElse(func(_, r []byte) {
		if len(r) == 9 {
			copy(r, words(65535, 0x6667, 0x5eb9))
		}
	})), nil, "")
	much.reads, much.atOnce, much.later = 65535, judge.OutOfRange, judge.OutOfRange
	return []fault{
		row("bme280", "no acknowledge", bme(device.Temperature, nack), drivers.ErrAbsent, "no chip acknowledges"),
		row("bme280", "another chip in its place", bme(device.Temperature, ones), drivers.ErrFormat, "it says it is ff where a BME280 says 60"),
		row("bme280", "a temperature that was not measured", bme(device.Temperature, put(8, 0x80, 0x00, 0x00)), drivers.ErrFormat, "nothing was measured"), // sensors-S059
		row("bme280", "power that is lost after each order", bme(device.Temperature, put(0, 0, 0, 0)), drivers.ErrFormat, "so it lost power or another program uses it"),
		row("bme280", "a measurement that never ends", bme(device.Temperature, put(1, 0x08)), drivers.ErrFormat, "it has not measured in 50ms"),
		row("bme280", "a temperature that no air has", bme(device.Temperature, put(8, 0xff, 0xff, 0xf0)), drivers.ErrFormat, "outside -40..85 °C"),
		row("bme280", "a data wire that stays low", bme(device.Temperature, heldLow), nil, "a wire of the bus stays low"),
		row("ads1115", "no acknowledge", thermistor(nack), drivers.ErrAbsent, "no chip acknowledges"),
		row("ads1115", "a broken wire", thermistor(volts(3.29)), drivers.ErrAbsent, "its wire is broken or unplugged"),  // sensors-S091
		row("ads1115", "a shorted thermistor", thermistor(volts(0.01)), drivers.ErrFormat, "the thermistor is shorted"), // sensors-S091
		row("ads1115", "a wet splice, 112 °C", thermistor(volts(0.14)), drivers.ErrFormat, "look at its figures"),
		row("ads1115", "another program that uses it", thermistor(saysElse(func(w, r []byte) {
			if len(r) == 2 && w[0] == 1 {
				copy(r, []byte{0x85, 0x83}) // as after power-on
			}
		})), drivers.ErrFormat, "another program uses it"),
		row("ads1115", "a conversion that never ends", thermistor(saysElse(func(w, r []byte) {
			if len(r) == 2 && w[0] == 1 {
				r[0] &^= 0x80
			}
		})), drivers.ErrFormat, "it is not done after"),
		row("scd4x", "no acknowledge", co2(nack), drivers.ErrAbsent, "no chip acknowledges"),
		row("scd4x", "a wrong bit", co2(wrongBit), drivers.ErrCRC, "the checksum does not match"),
		row("scd4x", "a chip that does not measure", co2(saysElse(func(_, r []byte) {
			if len(r) == 3 {
				copy(r, words(0x8000)) // sensors-S028
			}
		})), nil, "it has not measured for 6 s"),
		row("scd4x", "no ppm", co2(saysElse(func(_, r []byte) {
			if len(r) == 9 {
				copy(r, words(0, 0x6667, 0x5eb9))
			}
		})), drivers.ErrFormat, "0 ppm, which no air has"),
		dry, hot, much,
	}
}
