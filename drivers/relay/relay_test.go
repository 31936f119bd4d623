package relay

import (
	"context"
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"

	"loambank/drivers/device"
)

// wired is a line that remembers its levels, and can be read back, be stuck and fail.
type wired struct {
	gpiotest.Pin
	outs   []gpio.Level
	stuck  bool
	fail   error // of putting out
	mute   error // of reading back
	closed int
	keep   error // of closing
}

func (w *wired) Out(l gpio.Level) error {
	if w.fail != nil {
		return w.fail
	}
	w.outs = append(w.outs, l)
	if w.stuck {
		return nil
	}
	return w.Pin.Out(l)
}

func (w *wired) Level() (gpio.Level, error) { return w.Pin.Read(), w.mute }
func (w *wired) Close() error               { w.closed++; return w.keep }

// periphs is a line as package periph has them, whose Read turns it into an input.
type periphs struct {
	gpiotest.Pin
	t *testing.T
}

func (p *periphs) Read() gpio.Level {
	p.t.Error("the line was read and is an input now")
	return p.Pin.Read()
}

func TestBothActiveLevels(t *testing.T) {
	for _, low := range []bool{false, true} {
		on, off := gpio.Level(!low), gpio.Level(low)
		w := &wired{Pin: gpiotest.Pin{N: "GPIO17", Num: 17, L: on}}
		f, err := New(w, Options{Name: "lower/beds/east", ActiveLow: low})
		if err != nil {
			t.Fatal(err)
		}
		for _, stage := range []device.Stage{1, 1, 0, 1} {
			if err := f.Set(t.Context(), stage); err != nil {
				t.Errorf("stage %d: %v", stage, err)
			}
		}
		if err := f.Set(t.Context(), 2); err == nil || !strings.Contains(err.Error(), "no stage 2; a relay has 1") {
			t.Errorf("stage 2: %v; want it refused", err)
		}
		if err := errors.Join(f.Close(), f.Close()); err != nil {
			t.Error(err)
		}
		if want := []gpio.Level{off, on, on, off, on, off}; !slices.Equal(w.outs, want) {
			t.Errorf("active low %v: the line was put %v; want %v", low, w.outs, want)
		}
		if w.closed != 1 || w.L != off {
			t.Errorf("active low %v: closed %d times at %v; want once, off", low, w.closed, w.L)
		}
		if err := f.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) || w.L != off {
			t.Errorf("after Close: %v at %v; want ErrClosed, off", err, w.L)
		}
	}
}

func TestALineThatCannotBeReadBackIsLeftAlone(t *testing.T) {
	p := &periphs{gpiotest.Pin{N: "GPIO17", L: gpio.High}, t}
	f, err := New(p, Options{Name: "east"})
	if err != nil || p.L != gpio.Low {
		t.Fatalf("%v at %v; want off", err, p.L)
	}
	if err := f.Set(t.Context(), 1); err != nil || p.L != gpio.High {
		t.Errorf("stage 1: %v at %v; want on", err, p.L)
	}
	if err := f.Close(); err != nil || p.L != gpio.Low {
		t.Errorf("Close: %v at %v; want off", err, p.L)
	}
}

func TestFaults(t *testing.T) {
	gone := errors.New("gone")
	t.Run("a line that is stuck while the fan is put off at first", func(t *testing.T) {
		w := &wired{Pin: gpiotest.Pin{N: "GPIO17", Num: 17, L: gpio.High}, stuck: true}
		f, err := New(w, Options{Name: "lower/beds/east"})
		want := "fan lower/beds/east at GPIO17(17): the line is high after it was put low; look for a short, or for something else that drives it"
		if f != nil || err == nil || err.Error() != want {
			t.Errorf("got  %v, %v\nwant %s", f, err, want)
		}
		if w.closed != 0 {
			t.Error("the line was closed, although the fan was not taken over")
		}
	})
	newFan := func(t *testing.T) (*Fan, *wired) {
		w := &wired{Pin: gpiotest.Pin{N: "GPIO17"}}
		f, err := New(w, Options{Name: "east"})
		if err != nil {
			t.Fatal(err)
		}
		return f, w
	}
	t.Run("a line that is stuck later", func(t *testing.T) {
		f, w := newFan(t)
		w.stuck = true
		if err := f.Set(t.Context(), 1); err == nil || !strings.Contains(err.Error(), "low after it was put high") {
			t.Errorf("got %v; want the line to be stuck", err)
		}
	})
	t.Run("a line that cannot be put out", func(t *testing.T) {
		f, w := newFan(t)
		w.fail = gone
		if err := f.Set(t.Context(), 1); !errors.Is(err, gone) || !strings.HasPrefix(err.Error(), "fan east at GPIO17") {
			t.Errorf("got %v; want the line's error and the fan's name", err)
		}
		if err := f.Close(); !errors.Is(err, gone) || w.closed != 1 {
			t.Errorf("Close: %v, closed %d times; want the error, and the line let go", err, w.closed)
		}
	})
	t.Run("a line that cannot be let go", func(t *testing.T) {
		kept := errors.New("kept")
		f, w := newFan(t)
		w.keep = kept
		if err := f.Close(); !errors.Is(err, kept) || !strings.HasPrefix(err.Error(), "fan east at GPIO17") {
			t.Errorf("got %v; want the line's error and the fan's name", err)
		}
		f, w = newFan(t)
		w.keep, w.fail = kept, gone
		if err := f.Close(); !errors.Is(err, gone) {
			t.Errorf("got %v; want first that the fan may be running", err)
		}
	})
	t.Run("a line that cannot be read back", func(t *testing.T) {
		f, w := newFan(t)
		w.mute = gone
		if err := f.Set(t.Context(), 1); !errors.Is(err, gone) || !strings.Contains(err.Error(), "reading back") {
			t.Errorf("got %v; want the error of reading back", err)
		}
	})
	t.Run("an order that comes too late is not carried out", func(t *testing.T) {
		f, w := newFan(t)
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if err := f.Set(ctx, 1); !errors.Is(err, context.Canceled) || w.L != gpio.Low {
			t.Errorf("got %v at %v; want the context's error, off", err, w.L)
		}
	})
}
