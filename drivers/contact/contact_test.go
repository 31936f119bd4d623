package contact

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/gpio"

	"loambank/drivers/device"
)

type wire struct {
	level  gpio.Level
	err    error
	hang   chan struct{}
	closed int
}

func (w *wire) String() string { return "GPIO27" }
func (w *wire) Close() error   { w.closed++; return w.err }

func (w *wire) Level() (gpio.Level, error) {
	if w.hang != nil {
		<-w.hang
	}
	return w.level, w.err
}

func TestRead(t *testing.T) {
	w := &wire{}
	p := New(w, Options{Name: "lower/smoke"})
	for _, tt := range []struct {
		name   string
		closed bool // at rest
		level  gpio.Level
		want   float64
	}{
		{"normally open, a closed contact pulls the line to ground", false, gpio.Low, 1},
		{"normally open, an open contact or a broken wire", false, gpio.High, 0},
		{"normally closed, a closed contact", true, gpio.Low, 0},
		{"normally closed, an open contact or a broken wire", true, gpio.High, 1},
	} {
		w.level = tt.level
		p := New(w, Options{Name: "lower/smoke", NormallyClosed: tt.closed})
		if v, err := p.Read(t.Context()); v != tt.want || err != nil {
			t.Errorf("%s: %g, %v; want %g", tt.name, v, err, tt.want)
		}
	}
	w.level, w.err = gpio.Low, device.ErrAbsent
	if v, err := p.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrAbsent) || !strings.HasPrefix(err.Error(), "probe lower/smoke at GPIO27: ") {
		t.Errorf("a line that has gone: %g, %v; want ErrAbsent and the name", v, err)
	}
	if err := p.Close(); !errors.Is(err, device.ErrAbsent) || !strings.HasPrefix(err.Error(), "probe lower/smoke at GPIO27: ") {
		t.Errorf("Close: %v; want the line's error and the name", err)
	}
	if err := p.Close(); err != nil || w.closed != 1 {
		t.Errorf("closed twice: %v, the line %d times; want once", err, w.closed)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
		t.Errorf("after Close: %v; want ErrClosed", err)
	}
}

func TestAHangingLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := &wire{hang: make(chan struct{})}
		p := New(w, Options{Name: "lower/smoke"})
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := p.Read(ctx); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v; want the deadline", err)
		}
		if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrBusy) {
			t.Errorf("the next: %v; want ErrBusy", err)
		}
		close(w.hang)
		synctest.Wait()
		if v, err := p.Read(t.Context()); v != 1 || err != nil {
			t.Errorf("once it answers: %g, %v; want 1", v, err)
		}
	})
}
