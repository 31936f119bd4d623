package board

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewirereg"

	"loambank/drivers/device"
)

// kernel stands for the kernel's side of a bus: it counts what is opened and closed.
type kernel struct {
	opened, closed atomic.Int32
	fail           error // of opening
	tx             func(w, r []byte) error
	search         func() ([]onewire.Address, error)
}

func (k *kernel) open() (onewire.BusCloser, error) {
	if k.fail != nil {
		return nil, k.fail
	}
	k.opened.Add(1)
	return &handle{k: k}, nil
}

type handle struct {
	k      *kernel
	closed bool
}

var errClosed = errors.New("used after it was closed, or closed twice")

func (h *handle) String() string { return "kernel" }

func (h *handle) Tx(w, r []byte, _ onewire.Pullup) error {
	if h.closed {
		return errClosed
	}
	return h.k.tx(w, r)
}

func (h *handle) Search(bool) ([]onewire.Address, error) { return h.k.search() }

func (h *handle) Close() error {
	if h.closed {
		return errClosed
	}
	h.closed = true
	h.k.closed.Add(1)
	return nil
}

func register(t *testing.T, k *kernel, name string, alias []string, number int) {
	t.Helper()
	if err := onewirereg.Register(name, alias, number, k.open); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { onewirereg.Unregister(name) })
}

func TestNoBus(t *testing.T) {
	if len(onewirereg.All()) > 0 {
		t.Skip("this machine has a 1-Wire bus")
	}
	b, err := NewBuses().Open(t.Context(), "")
	if b != nil || !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "no 1-Wire bus; switch it on") {
		t.Errorf("got %v, %v; want ErrAbsent and what to do", b, err)
	}
}

func TestBusesByName(t *testing.T) {
	one, two, bare := &kernel{}, &kernel{}, &kernel{}
	register(t, bare, "a-bare", nil, -1)
	register(t, two, "master 2", []string{"OneWire2"}, 2)
	register(t, one, "master 1", []string{"OneWire1"}, 1)
	buses := NewBuses()
	for name, want := range map[string]*kernel{
		"": one, "master 1": one, "OneWire1": one, "1": one, "2": two, "OneWire2": two, "a-bare": bare,
	} {
		before := want.opened.Load()
		b, err := buses.Open(t.Context(), name)
		if err != nil || want.opened.Load() != before+1 {
			t.Errorf("%q: %v, opened %d times; want once", name, err, want.opened.Load()-before)
			continue
		}
		if err := b.Close(); err != nil || want.closed.Load() != want.opened.Load() {
			t.Errorf("%q: %v; closed %d of %d", name, err, want.closed.Load(), want.opened.Load())
		}
	}
	for _, name := range []string{"OneWire3", "-1", "3"} {
		_, err := buses.Open(t.Context(), name)
		if !errors.Is(err, device.ErrAbsent) || !strings.HasSuffix(err.Error(), fmt.Sprintf("no 1-Wire bus %q; there is a-bare, OneWire1, OneWire2", name)) {
			t.Errorf("%q: %v; want ErrAbsent and the names there are", name, err)
		}
	}
}

func TestABusIsOpenFromItsFirstUserToItsLast(t *testing.T) {
	k := &kernel{tx: func(w, r []byte) error { copy(r, w); return nil }}
	register(t, k, "master 1", []string{"OneWire1"}, 1)
	buses := NewBuses()
	k.fail = errors.New("no rights")
	if _, err := buses.Open(t.Context(), ""); !errors.Is(err, k.fail) || !strings.Contains(err.Error(), "1-Wire bus OneWire1") {
		t.Errorf("a bus that does not open: %v; want its name and its error", err)
	}
	k.fail = nil
	a, err := buses.Open(t.Context(), "OneWire1")
	if err != nil {
		t.Fatal(err)
	}
	b, err := buses.Open(t.Context(), "1")
	if err != nil {
		t.Fatal(err)
	}
	if k.opened.Load() != 1 || a.String() != "OneWire1" {
		t.Errorf("%v was opened %d times; want OneWire1, once", a, k.opened.Load())
	}
	for range 2 { // closing twice counts once
		if err := a.Close(); err != nil || k.closed.Load() != 0 {
			t.Errorf("the first user went: %v, closed %d times; want open", err, k.closed.Load())
		}
	}
	r := make([]byte, 2)
	if err := b.Tx([]byte{7, 8}, r, onewire.WeakPullup); err != nil || !slices.Equal(r, []byte{7, 8}) {
		t.Errorf("the other reads % x, %v", r, err)
	}
	if err := b.Close(); err != nil || k.closed.Load() != 1 {
		t.Errorf("the last user went: %v, closed %d times; want once", err, k.closed.Load())
	}
	c, err := buses.Open(t.Context(), "")
	if err != nil || k.opened.Load() != 2 {
		t.Errorf("the next user: %v, opened %d times; want afresh", err, k.opened.Load())
	}
	c.Close()
}

func TestAFaultOpensTheBusAfresh(t *testing.T) {
	fault := errors.New("status 255")
	k := &kernel{tx: func(w, r []byte) error { r[0] = 9; return fault }, search: func() ([]onewire.Address, error) { return []onewire.Address{1}, nil }}
	register(t, k, "master 1", nil, 1)
	b, err := NewBuses().Open(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	r := make([]byte, 1)
	if err := b.Tx(nil, r, onewire.WeakPullup); err != fault || r[0] != 0 {
		t.Errorf("got % x, %v; want the fault and nothing read", r, err)
	}
	if k.closed.Load() != 1 {
		t.Error("the bus with the fault is not closed")
	}
	k.fail = errors.New("unplugged")
	if _, err := b.Search(false); !errors.Is(err, k.fail) {
		t.Errorf("while it is unplugged: %v; want that", err)
	}
	k.fail = nil
	if found, err := b.Search(false); err != nil || len(found) != 1 || k.opened.Load() != 2 {
		t.Errorf("plugged back: %v, %v, opened %d times", found, err, k.opened.Load())
	}
	k.search = func() ([]onewire.Address, error) { return []onewire.Address{1}, fault }
	if found, err := b.Search(false); err != fault || found != nil {
		t.Errorf("a search with a fault finds %v, %v", found, err)
	}
	if err := b.Close(); err != nil || k.closed.Load() != k.opened.Load() {
		t.Errorf("%v; %d opened, %d closed", err, k.opened.Load(), k.closed.Load())
	}
}

func TestAHangingBusIsLeftBehindAFewTimes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		free := make(chan struct{})
		var running atomic.Int32
		k := &kernel{tx: func(w, r []byte) error { running.Add(1); <-free; r[0] = 9; return nil }}
		w := &wire{newShared("1-Wire", "OneWire1", k.open)}
		r := make([]byte, 1)
		start := time.Now()
		for i := range mostLost {
			err := w.Tx([]byte{1}, r, onewire.WeakPullup)
			if want := time.Duration(i+1) * longest; !errors.Is(err, context.DeadlineExceeded) || time.Since(start) != want {
				t.Errorf("call %d: %v after %v; want the deadline after %v", i, err, time.Since(start), want)
			}
		}
		start = time.Now()
		if err := w.Tx([]byte{1}, r, onewire.WeakPullup); !errors.Is(err, device.ErrBusy) || time.Since(start) != 0 || running.Load() != mostLost {
			t.Errorf("one more: %v after %v, %d hang; want ErrBusy at once and %d", err, time.Since(start), running.Load(), mostLost)
		}
		close(free)
		synctest.Wait()
		if r[0] != 0 || k.closed.Load() != mostLost {
			t.Errorf("late answers: % x was written, %d of %d closed; want neither to matter", r, k.closed.Load(), mostLost)
		}
		if err := w.Tx([]byte{1}, r, onewire.WeakPullup); err != nil || r[0] != 9 {
			t.Errorf("once the kernel answers: % x, %v; want the answer", r, err)
		}
		if err := w.close(); err != nil || k.closed.Load() != k.opened.Load() {
			t.Errorf("%v; %d opened, %d closed", err, k.opened.Load(), k.closed.Load())
		}
	})
}

func TestOneAtATime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var mu sync.Mutex
		running, most := 0, 0
		k := &kernel{tx: func(w, r []byte) error {
			mu.Lock()
			running++
			most = max(most, running)
			mu.Unlock()
			time.Sleep(20 * time.Millisecond)
			mu.Lock()
			running--
			mu.Unlock()
			return nil
		}}
		w, start := &wire{newShared("1-Wire", "OneWire1", k.open)}, time.Now()
		var wait sync.WaitGroup
		for range 10 {
			wait.Go(func() {
				if err := w.Tx(nil, nil, onewire.WeakPullup); err != nil {
					t.Error(err)
				}
			})
		}
		wait.Wait()
		if most != 1 || time.Since(start) != 200*time.Millisecond {
			t.Errorf("%d at a time, %v in all; want one after the other, 200 ms", most, time.Since(start))
		}
	})
}
