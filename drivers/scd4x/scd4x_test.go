package scd4x

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

func send(code ...byte) i2ctest.IO { return i2ctest.IO{Addr: Address, W: code} }
func get(b ...byte) i2ctest.IO     { return i2ctest.IO{Addr: Address, R: b} }

// The answers to "is there a measurement": none, and one.
var (
	notYet = []byte{0x80, 0x00, 0xa2} // sensors-S028; the bits above the 11 mean nothing
	is     = []byte{0x80, 0x06, 0x04} // the data sheet's example, from memory
)

func started(ops ...i2ctest.IO) []i2ctest.IO {
	return append([]i2ctest.IO{send(0x3f, 0x86), send(0x21, 0xb1)}, ops...)
}

func dev(t *testing.T, q device.Quantity, ops ...i2ctest.IO) (*Dev, *chiptest.Clock, *i2ctest.Playback) {
	t.Helper()
	clock, bus := &chiptest.Clock{}, &i2ctest.Playback{Ops: ops, DontPanic: true}
	d, err := New(bus, Address, Opts{Name: "lower/co2", Quantity: q, Sleep: clock.Sleep})
	if err != nil {
		t.Fatal(err)
	}
	return d, clock, bus
}

func TestExampleOfTheDataSheet(t *testing.T) {
	row := chiptest.Rows(t, "SCD4x read_measurement")[0] // sensors-S053
	w := row.Hex(t, "words_hex")
	answer := []byte{w[0], w[1], 0x33, w[2], w[3], 0xa2, w[4], w[5], 0x3c}
	for q, tt := range map[device.Quantity]struct{ want, tol float64 }{
		device.CO2: {row.Expected[0], 0}, device.Temperature: {row.Expected[1], 0.01}, device.Humidity: {row.Expected[2] / 100, 0.001},
	} {
		d, clock, bus := dev(t, q, started(
			send(0xe4, 0xb8), get(notYet...), send(0xe4, 0xb8), get(is...), send(0xec, 0x05), get(answer...), // met
			send(0xe4, 0xb8), get(is...), send(0xec, 0x05), get(answer...), // not started again
		)...)
		for i := range 2 {
			if v, err := d.Read(t.Context()); err != nil || math.Abs(v-tt.want) > tt.tol {
				t.Errorf("%s, %v, read %d: %v, %v; want %v", row.ID, q, i, v, err, tt.want)
			}
		}
		if clock.Slept < 500*time.Millisecond {
			t.Errorf("waited %v; want 500 ms after it was stopped, by its data sheet", clock.Slept)
		}
		if err := errors.Join(d.Close(), bus.Close()); err != nil {
			t.Error(err)
		}
	}
}

func TestFaultyAnswers(t *testing.T) {
	good := []byte{0x01, 0xf4, 0x33, 0x66, 0x67, 0xa2, 0x5e, 0xb9, 0x3c} // sensors-S053
	for bit := range 72 {
		torn := append([]byte(nil), good...)
		torn[bit/8] ^= 1 << (bit % 8)
		d, _, _ := dev(t, device.CO2, started(send(0xe4, 0xb8), get(is...), send(0xec, 0x05), get(torn...))...)
		if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrCRC) || !strings.HasPrefix(err.Error(), "probe lower/co2 at 0x62 on playback") {
			t.Errorf("with bit %d wrong: %v, %v; want ErrCRC and the probe's name", bit, v, err)
		}
	}
	zero := append([]byte{0, 0, 0x81}, good[3:]...) // sensors-S025
	d, _, _ := dev(t, device.CO2, started(send(0xe4, 0xb8), get(is...), send(0xec, 0x05), get(zero...))...)
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrFormat) {
		t.Errorf("0 ppm: %v, %v; want ErrFormat", v, err)
	}
	d, _, _ = dev(t, device.CO2, started(send(0xe4, 0xb8), get(0x80, 0x06, 0x05))...)
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrCRC) {
		t.Errorf("a torn state: %v, %v; want ErrCRC", v, err)
	}
}

// slow is a chip that measures every 5 s by the clock of the test and hands each value out once.
type slow struct {
	chiptest.Clock
	began time.Duration
	runs  bool
	taken int // how many intervals were handed out
	dead  bool
	gone  bool
	last  byte
	stops int
}

func (s *slow) tx(_ uint16, w, r []byte) error {
	if s.gone {
		return device.ErrAbsent
	}
	if len(w) > 0 {
		s.last = w[0]
		switch w[0] {
		case 0x3f:
			s.runs = false
			s.stops++
		case 0x21:
			if s.runs {
				return device.ErrAbsent // it acknowledges no start while it measures
			}
			s.runs, s.began, s.taken = true, s.Slept, 0
		}
		return nil
	}
	fresh := s.runs && !s.dead && int((s.Slept-s.began)/(5*time.Second)) > s.taken
	switch {
	case s.last == 0xe4 && fresh:
		copy(r, is)
	case s.last == 0xe4:
		copy(r, notYet)
	case fresh:
		s.taken = int((s.Slept - s.began) / (5 * time.Second))
		copy(r, []byte{0x01, 0xf4, 0x33, 0x66, 0x67, 0xa2, 0x5e, 0xb9, 0x3c})
	default:
		return device.ErrAbsent // nothing to hand out is not acknowledged
	}
	return nil
}

func TestItWaitsForTheNextMeasurement(t *testing.T) {
	s := &slow{runs: true} // an earlier program left it running
	d, err := New(chiptest.Bus(s.tx), Address, Opts{Name: "co2", Quantity: device.CO2, Sleep: s.Sleep})
	if err != nil {
		t.Fatal(err)
	}
	other, err := New(chiptest.Bus(s.tx), Address, Opts{Name: "damp", Quantity: device.Humidity, Sleep: s.Sleep})
	if err != nil {
		t.Fatal(err)
	}
	read := func(name string, d *Dev, least, most time.Duration) {
		t.Helper()
		start := s.Slept
		v, err := d.Read(t.Context())
		if took := s.Slept - start; err != nil || v == 0 || took < least || took > most {
			t.Errorf("%s: %v, %v after %v; want a value after %v to %v", name, v, err, took, least, most)
		}
	}
	read("the first", d, 5*time.Second, 6*time.Second)
	s.Slept += 10 * time.Second
	read("a tick later", d, 0, 10*time.Millisecond)
	read("again at once", d, 2*time.Second, 5500*time.Millisecond)
	read("another probe of the chip, which starts it afresh", other, 5*time.Second, 6*time.Second)
	stops := s.stops
	for range 3 {
		s.Slept += 10 * time.Second
		read("one of two", d, 0, 10*time.Millisecond)
		read("the other of two", other, 2*time.Second, 5500*time.Millisecond)
	}
	if s.stops != stops {
		t.Errorf("started afresh %d times more; want left running", s.stops-stops)
	}
	s.gone = true
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrAbsent) || err.Error() != "probe co2 at 0x62 on I2C1: the device is not there" {
		t.Errorf("unplugged: %v, %v; want ErrAbsent", v, err)
	}
	s.gone, s.runs = false, false
	read("plugged back", d, 5*time.Second, 6*time.Second)
	s.dead = true
	start := s.Slept
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, errSilent) || s.Slept-start > 7*time.Second {
		t.Errorf("a chip that does not measure: %v, %v after %v; want that after 6 s", v, err, s.Slept-start)
	}
}

func TestRefused(t *testing.T) {
	if d, err := New(chiptest.Bus(nil), Address, Opts{Name: "p", Quantity: device.Pressure}); d != nil || err == nil || !strings.Contains(err.Error(), "does not measure pressure; it has co2, temperature and humidity") {
		t.Errorf("pressure: %v; want it refused", err)
	}
}
