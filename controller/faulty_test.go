package controller

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"loambank/drivers"
	"loambank/drivers/device"
)

// faulty is a probe or a fan that fails in the way it was last told to; told nothing it is as the
// device behind it.
type faulty struct {
	drivers.Probe
	drivers.Fan
	name string

	mu   sync.Mutex
	way  string
	hold chan struct{} // of a device that hangs
}

// refusals are the ways to fail that are an answer.
var refusals = map[string]error{
	"refuse":   errors.New("input/output error"),
	"busy":     device.ErrBusy,
	"crc":      device.ErrCRC,
	"power-on": device.ErrPowerOn,
	"absent":   device.ErrAbsent,
}

// fail tells it to fail that way from now on, or to work again.
func (f *faulty) fail(way string) error {
	if _, known := refusals[way]; !known && way != "work" && way != "hang" && way != "slow" && way != "panic" && way != "nan" {
		return fmt.Errorf("no device fails by %q", way)
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.hold != nil {
		close(f.hold)
		f.hold = nil
	}
	if f.way = way; way == "hang" {
		f.hold = make(chan struct{})
	}
	return nil
}

// meet fails, where it was told to.
func (f *faulty) meet() (way string, err error) {
	f.mu.Lock()
	way, hold := f.way, f.hold
	f.mu.Unlock()
	switch way {
	case "hang":
		<-hold // whatever the context says
	case "slow":
		time.Sleep(3 * time.Second)
	case "panic":
		panic("no such register")
	}
	return way, refusals[way]
}

func (f *faulty) Read(ctx context.Context) (float64, error) {
	way, err := f.meet()
	switch {
	case err != nil:
		return 0, err
	case way == "nan":
		return math.NaN(), nil
	}
	return f.Probe.Read(context.WithoutCancel(ctx))
}

func (f *faulty) Set(ctx context.Context, stage drivers.Stage) error {
	if _, err := f.meet(); err != nil {
		return err
	}
	return f.Fan.Set(context.WithoutCancel(ctx), stage)
}

func (f *faulty) String() string { return f.name }

func (f *faulty) Close() error {
	if f.Probe != nil {
		return f.Probe.Close()
	}
	return f.Fan.Close()
}

// breaking is a log whose next line of a house, once told, is a mistake of the program.
type breaking struct {
	slog.Handler
	house string
	armed *atomic.Bool
}

func (b *breaking) Handle(ctx context.Context, r slog.Record) error {
	if b.house == "lower" && b.armed.CompareAndSwap(true, false) {
		panic("index out of range in a tick")
	}
	return b.Handler.Handle(ctx, r)
}

func (b *breaking) WithAttrs(attrs []slog.Attr) slog.Handler {
	next := &breaking{b.Handler.WithAttrs(attrs), b.house, b.armed}
	for _, a := range attrs {
		if a.Key == keyHouse {
			next.house = a.Value.String()
		}
	}
	return next
}

// once reports whether exactly one line has all of these words, separated by |.
func (l *lines) once(words string) bool { return l.with(strings.Split(words, "|")...) == 1 }
