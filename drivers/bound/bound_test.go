package bound

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"loambank/drivers/device"
)

var errOwn = errors.New("own")

func TestReturnsWhatTheCallReturns(t *testing.T) {
	for name, do := range map[string]func(context.Context, Slot, func(context.Context) (int, error)) (int, error){
		"at once": Do[int], "in turn": InTurn[int],
	} {
		t.Run(name, func(t *testing.T) {
			s := NewSlot()
			for range 2 { // the second finds the slot free again
				v, err := do(t.Context(), s, func(context.Context) (int, error) { return 7, errOwn })
				if v != 7 || err != errOwn {
					t.Errorf("got %d, %v; want 7 and the call's own error", v, err)
				}
			}
		})
	}
}

func TestHangingCalls(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, free := NewSlot(), make(chan struct{})
		var calls atomic.Int32
		hang := func(context.Context) (int, error) { calls.Add(1); <-free; return 7, nil }
		start := time.Now()
		if v, err := Do(t.Context(), s, hang); v != 0 || !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("a call that hangs: %d, %v; want no value and the deadline", v, err)
		}
		if took := time.Since(start); took != Longest {
			t.Errorf("without a deadline it took %v; want %v", took, Longest)
		}
		start = time.Now()
		if _, err := Do(t.Context(), s, hang); !errors.Is(err, device.ErrBusy) || time.Since(start) != 0 {
			t.Errorf("the next: %v after %v; want ErrBusy at once", err, time.Since(start))
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := InTurn(ctx, s, hang); !errors.Is(err, device.ErrBusy) || time.Since(start) != time.Second {
			t.Errorf("in turn: %v after %v; want ErrBusy at its deadline, 1 s", err, time.Since(start))
		}
		if calls.Load() != 1 {
			t.Errorf("%d calls were made; want only the one that hangs", calls.Load())
		}
		close(free)
		synctest.Wait()
		if v, err := InTurn(t.Context(), s, hang); v != 7 || err != nil {
			t.Errorf("once it came back: %d, %v; want 7", v, err)
		}
	})
}

func TestTurns(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, start := NewSlot(), time.Now()
		done := make(chan time.Duration, 3)
		for range 3 {
			go func() {
				_, err := InTurn(t.Context(), s, func(context.Context) (int, error) { time.Sleep(time.Second); return 0, nil })
				if err != nil {
					t.Error(err)
				}
				done <- time.Since(start)
			}()
		}
		for i := range 3 {
			if took, want := <-done, time.Duration(i+1)*time.Second; took != want {
				t.Errorf("caller %d was done after %v; want %v, one after the other", i, took, want)
			}
		}
	})
}

func TestEndedContextMakesNoCall(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	call := func(context.Context) (int, error) { t.Error("the call was made"); return 0, nil }
	for range 20 { // a free slot and an ended context must not be a toss-up
		_, err1 := Do(ctx, NewSlot(), call)
		_, err2 := InTurn(ctx, NewSlot(), call)
		if !errors.Is(err1, context.Canceled) || !errors.Is(err2, context.Canceled) {
			t.Errorf("got %v and %v; want the context's error", err1, err2)
		}
	}
}
