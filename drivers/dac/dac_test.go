package dac

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// converter is an MCP4725 as its data sheet describes it.
type converter struct {
	chiptest.Clock
	code, later uint16
	down, cut   byte
	writing     int // looks until the memory is done
	stuck       bool
	worn        bool // the memory keeps what it has
	gone        bool
	wrote       int // times that the memory was written
	most        uint16
	closed      int
}

func (c *converter) String() string { return "I2C1" }
func (c *converter) Close() error   { c.closed++; return nil }

func (c *converter) bus() *closing { return &closing{chiptest.Bus(c.tx), c} }

type closing struct {
	chiptest.Bus
	c *converter
}

func (c *closing) Close() error { return c.c.Close() }

func (c *converter) tx(addr uint16, w, r []byte) error {
	if c.gone || addr != Address {
		return device.ErrAbsent
	}
	switch {
	case len(w) == 2 && w[0]&0xc0 == 0 && !c.stuck: // fast mode
		c.code, c.down = uint16(w[0]&0x0f)<<8|uint16(w[1]), w[0]>>4&3
	case len(w) == 3 && w[0]>>5 == 3:
		c.wrote++
		c.writing = 2
		c.code = uint16(w[1])<<4 | uint16(w[2])>>4
		if !c.worn {
			c.later, c.cut = c.code, w[0]>>1&3
		}
	}
	c.most = max(c.most, c.code)
	if len(r) == 5 {
		ready := byte(0x80)
		if c.writing > 0 {
			c.writing--
			ready = 0
		}
		copy(r, []byte{ready | c.down<<1, byte(c.code >> 4), byte(c.code << 4), c.cut<<5 | byte(c.later>>8), byte(c.later)})
	}
	return nil
}

// The bytes are put together by hand from figures 6-1, 6-2 and 6-3 of the data sheet. A new chip
// holds half of the highest voltage for after power-on.
func TestANewChipOnTheWire(t *testing.T) {
	bus := &i2ctest.Playback{DontPanic: true, Ops: []i2ctest.IO{
		{Addr: 0x61, W: []byte{0x00, 0x00}},
		{Addr: 0x61, R: []byte{0xc0, 0x00, 0x00, 0x08, 0x00}},
		{Addr: 0x61, R: []byte{0xc0, 0x00, 0x00, 0x08, 0x00}},
		{Addr: 0x61, W: []byte{0x60, 0x00, 0x00}},
		{Addr: 0x61, R: []byte{0x40, 0x00, 0x00, 0x08, 0x00}}, // still writing
		{Addr: 0x61, R: []byte{0xc0, 0x00, 0x00, 0x00, 0x00}},
		{Addr: 0x61, W: []byte{0x06, 0x66}}, // 40 % of 4095 is 1638
		{Addr: 0x61, R: []byte{0xc0, 0x66, 0x60, 0x00, 0x00}},
		{Addr: 0x61, W: []byte{0x0f, 0xff}},
		{Addr: 0x61, R: []byte{0xc0, 0xff, 0xf0, 0x00, 0x00}},
		{Addr: 0x61, W: []byte{0x00, 0x00}},
		{Addr: 0x61, R: []byte{0xc0, 0x00, 0x00, 0x00, 0x00}},
	}}
	f, err := New(t.Context(), bus, 0x61, Opts{Name: "lower/beds/east", Levels: []float64{0.4, 1}, Sleep: (&chiptest.Clock{}).Sleep})
	if err != nil {
		t.Fatal(err)
	}
	for stage := range device.Stage(2) {
		if err := f.Set(t.Context(), stage+1); err != nil {
			t.Errorf("stage %d: %v", stage+1, err)
		}
	}
	if err := f.Set(t.Context(), 3); err == nil || !strings.Contains(err.Error(), "no stage 3; it has 2") {
		t.Errorf("stage 3: %v; want it refused", err)
	}
	if err := f.Close(); err != nil { // also that all was played
		t.Error(err)
	}
}

func TestTheFanIsOffFirstAndLastAndAfterAPowerCut(t *testing.T) {
	for _, low := range []bool{false, true} {
		off, on := uint16(0), uint16(full)
		if low {
			off, on = on, off
		}
		c := &converter{code: 2000, later: 2048, cut: 1}
		f, err := New(t.Context(), c.bus(), Address, Opts{Name: "east", ActiveLow: low, Sleep: c.Sleep})
		if err != nil {
			t.Fatal(err)
		}
		if c.code != off || c.later != off || c.cut != 0 || c.wrote != 1 {
			t.Errorf("active low %v: opened at %d, after a power cut %d (%d), written %d times; want %d, twice", low, c.code, c.later, c.cut, c.wrote, off)
		}
		for _, tt := range []struct {
			stage device.Stage
			want  uint16
		}{{1, on}, {0, off}, {1, on}} {
			if err := f.Set(t.Context(), tt.stage); err != nil || c.code != tt.want {
				t.Errorf("active low %v, stage %d: %d, %v; want %d", low, tt.stage, c.code, err, tt.want)
			}
		}
		if err := errors.Join(f.Close(), f.Close()); err != nil || c.code != off || c.closed != 1 {
			t.Errorf("closed at %d, %d times, %v; want off, once", c.code, c.closed, err)
		}
		if err := f.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) || c.code != off {
			t.Errorf("after Close: %v at %d; want ErrClosed, off", err, c.code)
		}
		again, err := New(t.Context(), c.bus(), Address, Opts{Name: "east", ActiveLow: low, Sleep: c.Sleep})
		if err != nil || c.wrote != 1 {
			t.Errorf("opened again: %v, memory written %d times; want once in its life", err, c.wrote)
		}
		again.Close()
	}
}

func TestFaults(t *testing.T) {
	open := func(t *testing.T, c *converter) *Fan {
		t.Helper()
		f, err := New(t.Context(), c.bus(), Address, Opts{Name: "lower/beds/east", Sleep: c.Sleep})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	t.Run("a chip that is not there", func(t *testing.T) {
		f, err := New(t.Context(), (&converter{gone: true}).bus(), Address, Opts{Name: "lower/beds/east"})
		if want := "fan lower/beds/east at 0x60 on I2C1: the device is not there"; f != nil || !errors.Is(err, device.ErrAbsent) || err.Error() != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	})
	t.Run("a chip that does not take off", func(t *testing.T) {
		c := &converter{code: 100, stuck: true}
		f, err := New(t.Context(), c.bus(), Address, Opts{Name: "east"})
		if f != nil || err == nil || !strings.Contains(err.Error(), "it holds code 100, power-down 0, after 0 was written") || c.closed != 0 {
			t.Errorf("got %v, bus closed %d times; want that, and the bus left to the caller", err, c.closed)
		}
	})
	t.Run("a memory that is worn out", func(t *testing.T) {
		c := &converter{later: 2048, worn: true}
		f, err := New(t.Context(), c.bus(), Address, Opts{Name: "east", Sleep: c.Sleep})
		if f != nil || !errors.Is(err, device.ErrFormat) || !strings.Contains(err.Error(), "holds code 2048 for after a power cut") || c.code != 0 {
			t.Errorf("got %v at %d; want that, off", err, c.code)
		}
	})
	t.Run("a memory that is cut off by a resistor", func(t *testing.T) {
		c := &converter{cut: 2}
		open(t, c)
		if c.cut != 0 || c.wrote != 1 {
			t.Errorf("power-down %d after a power cut, written %d times; want 0, once", c.cut, c.wrote)
		}
	})
	t.Run("a stage that is not taken", func(t *testing.T) {
		c := &converter{}
		f := open(t, c)
		c.stuck = true
		if err := f.Set(t.Context(), 1); err == nil || !strings.Contains(err.Error(), "after 4095 was written") {
			t.Errorf("got %v; want that", err)
		}
	})
	t.Run("a chip in power-down", func(t *testing.T) {
		c := &converter{}
		f := open(t, c)
		c.stuck, c.down = true, 3
		if err := f.Set(t.Context(), 0); err == nil || !strings.Contains(err.Error(), "power-down 3") {
			t.Errorf("got %v; want that", err)
		}
	})
	t.Run("unplugged and plugged back", func(t *testing.T) {
		c := &converter{}
		f := open(t, c)
		c.gone = true
		if err := f.Set(t.Context(), 1); !errors.Is(err, device.ErrAbsent) || !strings.HasPrefix(err.Error(), "fan lower/beds/east at 0x60 on I2C1: ") {
			t.Errorf("unplugged: %v; want ErrAbsent", err)
		}
		c.gone = false
		if err := f.Set(t.Context(), 1); err != nil || c.code != full {
			t.Errorf("plugged back: %v at %d; want full speed", err, c.code)
		}
		c.gone = true
		if err := f.Close(); !errors.Is(err, device.ErrAbsent) || c.closed != 1 {
			t.Errorf("Close: %v, bus closed %d times; want ErrAbsent, and the bus let go", err, c.closed)
		}
	})
	t.Run("an order that comes too late is not carried out", func(t *testing.T) {
		c := &converter{}
		f := open(t, c)
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if err := f.Set(ctx, 1); !errors.Is(err, context.Canceled) || c.code != 0 {
			t.Errorf("got %v at %d; want the context's error, off", err, c.code)
		}
	})
}

func TestRefusedLevels(t *testing.T) {
	for name, levels := range map[string][]float64{
		"not rising":         {0.5, 0.4, 1},
		"twice the same":     {0.5, 0.5, 1},
		"not up to full":     {0.5, 0.9},
		"over full":          {0.5, 1.5},
		"none above off":     {0, 1},
		"nearer than a code": {0.5, 0.50001, 1},
		"under a code":       {0.00001, 1},
	} {
		c := &converter{}
		if f, err := New(t.Context(), c.bus(), Address, Opts{Levels: levels}); f != nil || err == nil || !strings.Contains(err.Error(), "levels [") {
			t.Errorf("%s: %v; want it refused", name, err)
		}
	}
}
