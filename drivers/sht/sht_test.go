package sht

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"loambank/drivers/chip"
	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// words are numbers as the chips send them.
func words(numbers ...uint16) []byte {
	var b []byte
	for _, n := range numbers {
		w := []byte{byte(n >> 8), byte(n)}
		b = append(b, w[0], w[1], chip.CRC8(w))
	}
	return b
}

// asked is one order and its answer.
func asked(addr uint16, order, answer []byte) []i2ctest.IO {
	return []i2ctest.IO{{Addr: addr, W: order}, {Addr: addr, R: answer}}
}

// met is what an SHT3x is first asked.
func met(addr, status uint16) []i2ctest.IO {
	return append([]i2ctest.IO{{Addr: addr, W: []byte{0x30, 0x93}}}, asked(addr, []byte{0xf3, 0x2d}, words(status))...)
}

func read(t *testing.T, o Opts, addr uint16, ops ...i2ctest.IO) (float64, time.Duration, error) {
	t.Helper()
	clock := &chiptest.Clock{}
	o.Name, o.Sleep = "lower/air", clock.Sleep
	bus := &i2ctest.Playback{Ops: ops, DontPanic: true}
	d, err := New(bus, addr, o)
	if err != nil {
		t.Fatal(err)
	}
	v, err := d.Read(t.Context())
	if failed := d.Close(); failed != nil {
		t.Error(failed)
	}
	return v, clock.Slept, err
}

func TestReferenceRows(t *testing.T) {
	order := map[Family][]byte{SHT3x: {0x24, 0x00}, SHT4x: {0xfd}}
	tests := []struct {
		rows     string
		quantity device.Quantity
		families []Family
		scale    float64
	}{
		{"SHT3x/SHT4x temperature", device.Temperature, []Family{SHT3x, SHT4x}, 1}, // sensors-S032 to S050
		{"SHT3x humidity", device.Humidity, []Family{SHT3x}, 100},                  // sensors-S033 to S051
		{"SHT4x humidity", device.Humidity, []Family{SHT4x}, 100},                  // sensors-S034 to S052
	}
	for _, tt := range tests {
		for _, row := range chiptest.Rows(t, tt.rows) {
			b := row.Hex(t, "raw_hex")
			raw := uint16(b[0])<<8 | uint16(b[1])
			answer := words(raw, 0x1234)
			if tt.quantity == device.Humidity {
				answer = words(0x1234, raw)
			}
			for _, f := range tt.families {
				var ops []i2ctest.IO
				if f == SHT3x {
					ops = met(0x45, 0x8010)
				}
				ops = append(ops, asked(0x45, order[f], answer)...)
				v, slept, err := read(t, Opts{Family: f, Quantity: tt.quantity}, 0x45, ops...)
				if err != nil || math.Abs(v*tt.scale-row.Expected[0]) > 0.005 {
					t.Errorf("%s, %v: %04x is %v, %v; want %v", row.ID, f, raw, v*tt.scale, err, row.Expected[0])
				}
				if least := map[Family]time.Duration{SHT3x: 15500 * time.Microsecond, SHT4x: 8300 * time.Microsecond}[f]; slept < least {
					t.Errorf("%v: waited %v; want %v, by its data sheet", f, slept, least)
				}
			}
		}
	}
}

func TestFaultyAnswers(t *testing.T) {
	torn := words(0x6667, 0x5eb9) // sensors-S026, S027
	torn[2] ^= 1
	second := words(0x6667, 0x5eb9)
	second[4] ^= 0x80
	idle := []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff}
	for name, tt := range map[string]struct {
		answer []byte
		is     error
	}{
		"a wrong bit in the checksum of the temperature": {torn, device.ErrCRC},
		"a wrong bit in the humidity":                    {second, device.ErrCRC},
		"a wire that nobody drives":                      {idle, device.ErrAbsent},
		"zeros":                                          {make([]byte, 6), device.ErrCRC},
	} {
		for _, q := range []device.Quantity{device.Temperature, device.Humidity} {
			v, _, err := read(t, Opts{Family: SHT4x, Quantity: q}, 0x44, asked(0x44, []byte{0xfd}, tt.answer)...)
			if v != 0 || !errors.Is(err, tt.is) || !strings.HasPrefix(err.Error(), "probe lower/air at 0x44 on playback: ") {
				t.Errorf("%s, %v: %v, %v; want %v and the probe's name", name, q, v, err, tt.is)
			}
		}
	}
	// The playback refuses a read of another length than was recorded, as a bus refuses a short one.
	d, err := New(&i2ctest.Playback{Ops: asked(0x44, []byte{0xfd}, words(0x6667)), DontPanic: true}, 0x44,
		Opts{Family: SHT4x, Quantity: device.Humidity, Sleep: (&chiptest.Clock{}).Sleep})
	if err != nil {
		t.Fatal(err)
	}
	if v, err := d.Read(t.Context()); v != 0 || err == nil || !strings.Contains(err.Error(), "buffer length") {
		t.Errorf("a short read: %v, %v; want a fault", v, err)
	}
}

func TestAnSHT3xIsMetFirst(t *testing.T) {
	_, _, err := read(t, Opts{Quantity: device.Temperature}, 0x44,
		append(met(0x44, 0x2000), i2ctest.IO{Addr: 0x44, W: []byte{0x30, 0x66}})...)
	if err == nil || !strings.Contains(err.Error(), "its heater was on and is off now") {
		t.Errorf("with its heater on: %v; want it put off and said", err)
	}
	clock := &chiptest.Clock{}
	ops := met(0x44, 0)
	ops = append(ops, asked(0x44, []byte{0x24, 0}, words(0x6667, 0x5eb9))...)
	ops = append(ops, asked(0x44, []byte{0x24, 0}, words(0x6667, 0x5eb8))...)
	bus := &i2ctest.Playback{Ops: ops, DontPanic: true}
	d, err := New(bus, 0x44, Opts{Quantity: device.Temperature, Sleep: clock.Sleep})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 { // the second without meeting it again
		if v, err := d.Read(t.Context()); err != nil || math.Abs(v-25.00267) > 1e-4 { // sensors-S041
			t.Errorf("read %d: %v, %v; want 25.003", i, v, err)
		}
	}
	if err := bus.Close(); err != nil {
		t.Error(err)
	}
}

func TestUnpluggedAndPluggedBack(t *testing.T) {
	there := true
	var orders []byte
	bus := chiptest.Bus(func(_ uint16, w, r []byte) error {
		if !there {
			return device.ErrAbsent
		}
		if len(w) > 0 {
			orders = append(orders, w[0])
		}
		copy(r, words(0, 0x6667)[:len(r)])
		return nil
	})
	d, err := New(bus, Address, Opts{Name: "lower/damp", Quantity: device.Humidity, Sleep: (&chiptest.Clock{}).Sleep})
	if err != nil {
		t.Fatal(err)
	}
	for i, tt := range []struct {
		there  bool
		orders string
	}{{true, "\x30\xf3\x24"}, {true, "\x24"}, {false, ""}, {false, ""}, {true, "\x30\xf3\x24"}} {
		there, orders = tt.there, nil
		v, err := d.Read(t.Context())
		switch {
		case tt.there && (err != nil || math.Abs(v-0.4000153) > 5e-5): // sensors-S042
			t.Errorf("step %d: %v, %v; want 0.4", i, v, err)
		case !tt.there && (!errors.Is(err, device.ErrAbsent) || err.Error() != "probe lower/damp at 0x44 on I2C1: the device is not there"):
			t.Errorf("step %d: %v; want ErrAbsent with probe, address and bus", i, err)
		}
		if string(orders) != tt.orders {
			t.Errorf("step %d: orders % x; want % x: met afresh after a fault, and only then", i, orders, tt.orders)
		}
	}
}

// damp is an SHT4x whose humidity is set, that counts how often it is heated.
type damp struct {
	chiptest.Clock
	raw    uint16
	heated int
	fail   error
}

func (d *damp) tx(_ uint16, w, r []byte) error {
	if len(w) > 0 && w[0] == 0x39 {
		d.heated++
		return d.fail
	}
	copy(r, words(0x6667, d.raw))
	return nil
}

func TestBurstAgainstSaturation(t *testing.T) {
	const wet, dry = 0xf000, 0x8000
	c := &damp{raw: dry}
	d, err := New(chiptest.Bus(c.tx), Address, Opts{Family: SHT4x, Quantity: device.Humidity, Burst: time.Hour, Sleep: c.Sleep, Now: c.Now})
	if err != nil {
		t.Fatal(err)
	}
	steps := []struct {
		name   string
		after  time.Duration
		raw    uint16
		heated int
		cools  bool
	}{
		{"dry air heats nothing", 0, dry, 0, false},
		{"damp under 99 % heats nothing", time.Minute, 0xd600, 0, false}, // 98.5 %
		{"saturated air is read, then the chip heated", time.Minute, wet, 1, false},
		{"a tick later it still cools", 10 * time.Second, dry, 1, true},
		{"just before two minutes it still cools", cooling - 13*time.Second, wet, 1, true},
		{"after two minutes it reads, and is not heated again", 3 * time.Second, wet, 1, false},
		{"nor just before an hour", 57 * time.Minute, wet, 1, false},
		{"an hour later it is", 2 * time.Minute, wet, 2, false},
	}
	for _, s := range steps {
		c.Slept += s.after
		c.raw = s.raw
		v, err := d.Read(t.Context())
		if s.cools != (err != nil) || !s.cools && v == 0 {
			t.Errorf("%s: %v, %v", s.name, v, err)
		}
		if s.cools && !strings.Contains(err.Error(), "was heated dry and cools for another") {
			t.Errorf("%s: %v; want how long it cools", s.name, err)
		}
		if c.heated != s.heated {
			t.Errorf("%s: heated %d times; want %d", s.name, c.heated, s.heated)
		}
	}
	c.Slept, c.fail = c.Slept+2*time.Hour, device.ErrAbsent
	if _, err := d.Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "heating it dry") {
		t.Errorf("unplugged while it is heated: %v; want ErrAbsent", err)
	}
	without, err := New(chiptest.Bus(c.tx), Address, Opts{Family: SHT4x, Quantity: device.Humidity, Sleep: c.Sleep, Now: c.Now})
	if err != nil {
		t.Fatal(err)
	}
	before := c.heated
	if v, err := without.Read(t.Context()); v != 1 || err != nil || c.heated != before {
		t.Errorf("without the option: %v, %v, heated %d times; want 100 %% and no heat", v, err, c.heated-before)
	}
}

func TestRefused(t *testing.T) {
	for name, tt := range map[string]struct {
		o    Opts
		want string
	}{
		"no quantity":              {Opts{}, "an SHT3x does not measure nothing; it has temperature and humidity"},
		"pressure":                 {Opts{Family: SHT4x, Quantity: device.Pressure}, "an SHT4x does not measure pressure"},
		"a burst of an SHT3x":      {Opts{Quantity: device.Humidity, Burst: time.Hour}, "too weak"},
		"a burst for temperature":  {Opts{Family: SHT4x, Quantity: device.Temperature, Burst: time.Hour}, "leave the burst out"},
		"bursts all the time":      {Opts{Family: SHT4x, Quantity: device.Humidity, Burst: time.Minute}, "10m0s is the least"},
		"a burst of negative time": {Opts{Family: SHT4x, Quantity: device.Humidity, Burst: -time.Hour}, "too often"},
	} {
		if d, err := New(chiptest.Bus(nil), Address, tt.o); d != nil || err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v; want %s", name, err, tt.want)
		}
	}
}

func TestASlowBusEndsWithItsTime(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	bus := chiptest.Bus(func(uint16, []byte, []byte) error { cancel(); return nil })
	d, err := New(bus, Address, Opts{Family: SHT4x, Quantity: device.Humidity, Sleep: func(ctx context.Context, _ time.Duration) error { return ctx.Err() }})
	if err != nil {
		t.Fatal(err)
	}
	if v, err := d.Read(ctx); v != 0 || !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, %v; want the context's error", v, err)
	}
}
