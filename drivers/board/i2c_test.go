package board

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2creg"
	"periph.io/x/conn/v3/physic"

	"loambank/drivers/device"
)

// kernelI2C stands for the kernel's side of an I²C bus.
type kernelI2C struct {
	opened, closed atomic.Int32
	fail           error // of opening
	tx             func(addr uint16, w, r []byte) error
}

func (k *kernelI2C) open() (i2c.BusCloser, error) {
	if k.fail != nil {
		return nil, k.fail
	}
	k.opened.Add(1)
	return &handleI2C{k: k}, nil
}

type handleI2C struct {
	k      *kernelI2C
	closed atomic.Bool
}

func (h *handleI2C) String() string                  { return "kernel" }
func (h *handleI2C) SetSpeed(physic.Frequency) error { return nil }

func (h *handleI2C) Tx(addr uint16, w, r []byte) error {
	if h.closed.Load() {
		return errClosed
	}
	return h.k.tx(addr, w, r)
}

func (h *handleI2C) Close() error {
	if h.closed.Swap(true) {
		return errClosed
	}
	h.k.closed.Add(1)
	return nil
}

func registerI2C(t *testing.T, k *kernelI2C, name string, alias []string, number int) {
	t.Helper()
	if err := i2creg.Register(name, alias, number, k.open); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { i2creg.Unregister(name) })
}

func TestNoI2CBus(t *testing.T) {
	if len(i2creg.All()) > 0 {
		t.Skip("this machine has an I²C bus")
	}
	b, err := NewBuses().OpenI2C(t.Context(), "")
	if b != nil || !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "no I²C bus; switch it on") {
		t.Errorf("got %v, %v; want ErrAbsent and what to do", b, err)
	}
}

func TestI2CBusesByName(t *testing.T) {
	one, seven := &kernelI2C{}, &kernelI2C{}
	registerI2C(t, seven, "/dev/i2c-7", []string{"I2C7"}, 7)
	registerI2C(t, one, "/dev/i2c-1", []string{"I2C1"}, 1)
	buses := NewBuses()
	for name, want := range map[string]*kernelI2C{"": one, "I2C1": one, "1": one, "/dev/i2c-1": one, "I2C7": seven} {
		a, err := buses.OpenI2C(t.Context(), name)
		if err != nil {
			t.Fatal(err)
		}
		b, err := buses.OpenI2C(t.Context(), name)
		if err != nil || want.opened.Load()-want.closed.Load() != 1 {
			t.Errorf("%q: %v, open %d times; want once for two users", name, err, want.opened.Load()-want.closed.Load())
		}
		if err := errors.Join(a.Close(), a.Close()); err != nil || want.opened.Load() == want.closed.Load() {
			t.Errorf("%q: the first user went: %v; want it open", name, err)
		}
		if err := b.Close(); err != nil || want.opened.Load() != want.closed.Load() {
			t.Errorf("%q: the last user went: %v; want it closed", name, err)
		}
		if err := b.SetSpeed(physic.MegaHertz); err == nil {
			t.Errorf("%q: the speed was set for everyone", name)
		}
	}
	if _, err := buses.OpenI2C(t.Context(), "I2C2"); !errors.Is(err, device.ErrAbsent) || !strings.HasSuffix(err.Error(), `no I²C bus "I2C2"; there is I2C1, I2C7`) {
		t.Errorf("got %v; want ErrAbsent and the names there are", err)
	}
}

// The package that speaks to the kernel keeps only the words of its error numbers.
func TestWhatTheKernelsErrorsMean(t *testing.T) {
	for _, tt := range []struct {
		number syscall.Errno
		is     error
		want   string
	}{
		{syscall.EREMOTEIO, device.ErrAbsent, "no chip acknowledges"},
		{syscall.ENXIO, device.ErrAbsent, "no chip acknowledges"},
		{syscall.ENODEV, device.ErrAbsent, "the bus has gone"},
		{syscall.ETIMEDOUT, nil, "a wire of the bus stays low"},
		{syscall.EIO, nil, "input/output error"},
	} {
		k := &kernelI2C{tx: func(_ uint16, _, r []byte) error { r[0] = 9; return fmt.Errorf("sysfs-i2c: %v", tt.number) }}
		registerI2C(t, k, "/dev/i2c-1", nil, 1)
		b, err := NewBuses().OpenI2C(t.Context(), "")
		if err != nil {
			t.Fatal(err)
		}
		r := []byte{0}
		err = b.Tx(0x44, []byte{1}, r)
		if err == nil || errors.Is(err, device.ErrAbsent) != (tt.is != nil) || !strings.Contains(err.Error(), tt.want) || r[0] != 0 {
			t.Errorf("%v: %v, read % x; want %s and nothing read", tt.number, err, r, tt.want)
		}
		b.Close()
		i2creg.Unregister("/dev/i2c-1")
	}
	k := &kernelI2C{fail: fmt.Errorf("sysfs-i2c: bus #1 is not configured: %v", syscall.ENOENT)}
	registerI2C(t, k, "/dev/i2c-1", []string{"I2C1"}, 1)
	if _, err := NewBuses().OpenI2C(t.Context(), ""); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "I²C bus I2C1: ") {
		t.Errorf("a bus that went before it was opened: %v; want ErrAbsent and its name", err)
	}
}

func TestAnI2CBusIsUnpluggedAndPluggedBack(t *testing.T) {
	k := &kernelI2C{tx: func(_ uint16, _, r []byte) error { copy(r, "x"); return nil }}
	registerI2C(t, k, "/dev/i2c-9", nil, 9)
	b, err := NewBuses().OpenI2C(t.Context(), "9")
	if err != nil {
		t.Fatal(err)
	}
	good := k.tx
	k.tx = func(uint16, []byte, []byte) error { return syscall.ENODEV }
	k.fail = syscall.ENOENT
	for range 3 {
		if err := b.Tx(0x44, nil, make([]byte, 1)); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("unplugged: %v; want ErrAbsent", err)
		}
	}
	k.tx, k.fail = good, nil
	r := make([]byte, 1)
	if err := b.Tx(0x44, nil, r); err != nil || r[0] != 'x' || k.opened.Load() != 2 {
		t.Errorf("plugged back: %v, %q, opened %d times; want it opened afresh", err, r, k.opened.Load())
	}
	if err := b.Close(); err != nil || k.closed.Load() != 2 {
		t.Errorf("%v, closed %d times; want both", err, k.closed.Load())
	}
}

func TestASlowI2CBusIsLeftBehind(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := &kernelI2C{}
		s := newShared("I²C", "I2C9", k.open)
		bus := &I2C{shared: s, release: s.close}
		free := make(chan struct{})
		k.tx = func(_ uint16, _, r []byte) error { <-free; r[0] = 9; return nil }
		start := time.Now()
		r := make([]byte, 1)
		if err := bus.Tx(0x44, nil, r); !errors.Is(err, context.DeadlineExceeded) || time.Since(start) != longest {
			t.Errorf("got %v after %v; want the deadline after %v", err, time.Since(start), longest)
		}
		close(free)
		synctest.Wait()
		if r[0] != 0 {
			t.Error("the late answer was written")
		}
		if err := bus.Close(); err != nil {
			t.Error(err)
		}
	})
}

// Each chip of the bench needs an order, a wait and the reading of its answer; what it answers is
// the order it heard last. Where another's order comes in between, the answer is wrong.
func TestThirtyTwoProbesNeverInterleave(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var running, most atomic.Int32
		var mu sync.Mutex
		heard := map[uint16]byte{}
		k := &kernelI2C{tx: func(addr uint16, w, r []byte) error {
			most.Store(max(most.Load(), running.Add(1)))
			defer running.Add(-1)
			time.Sleep(300 * time.Microsecond) // what three bytes take at 100 kHz
			mu.Lock()
			defer mu.Unlock()
			if len(w) > 0 {
				heard[addr] = w[0]
			}
			if len(r) > 0 {
				r[0] = heard[addr]
			}
			return nil
		}}
		s := newShared("I²C", "I2C1", k.open)
		start := time.Now()
		var wait sync.WaitGroup
		for i := range 32 {
			wait.Go(func() {
				b := &I2C{shared: s, release: func() error { return nil }}
				addr := uint16(0x40 + i%8) // four probes on each of eight chips
				for range 10 {
					release, err := b.Hold(t.Context(), addr)
					if err != nil {
						t.Error(err)
						return
					}
					r := make([]byte, 1)
					err = b.Tx(addr, []byte{byte(i)}, nil)
					time.Sleep(10 * time.Millisecond)
					if err = errors.Join(err, b.Tx(addr, nil, r)); err != nil || r[0] != byte(i) {
						t.Errorf("probe %d reads %d, %v; want its own", i, r[0], err)
					}
					release()
				}
			})
		}
		wait.Wait()
		if most.Load() != 1 {
			t.Errorf("%d transfers at one time; want 1", most.Load())
		}
		// Four probes on one chip take turns: 40 times some 11 ms. Eight chips wait at the same time.
		if took := time.Since(start); took > 700*time.Millisecond {
			t.Errorf("it took %v; want the chips to wait at one time", took)
		}
	})
}

func TestAHeldChipIsBusyForOthersUntilItIsReleased(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShared("I²C", "I2C1", (&kernelI2C{}).open)
		a, b := &I2C{shared: s}, &I2C{shared: s}
		release, err := a.Hold(t.Context(), 0x44)
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		start := time.Now()
		if _, err := b.Hold(ctx, 0x44); !errors.Is(err, device.ErrBusy) || time.Since(start) != time.Second {
			t.Errorf("the same chip: %v after %v; want ErrBusy after its second", err, time.Since(start))
		}
		other, err := b.Hold(t.Context(), 0x45)
		if err != nil || time.Since(start) != time.Second {
			t.Errorf("another chip: %v after %v; want it at once", err, time.Since(start))
		}
		other()
		release()
		if again, err := b.Hold(t.Context(), 0x44); err != nil {
			t.Errorf("once it is released: %v", err)
		} else {
			again()
		}
	})
}
