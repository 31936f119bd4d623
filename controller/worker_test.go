package controller

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"
)

// soon is a context that ends in a second.
func soon(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	t.Cleanup(cancel)
	return ctx
}

func TestWorkerAnswers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		shut := errors.New("the device is shut")
		w := startWorker(func(n int) int { return 2 * n }, func() error { return shut })
		for n := range 3 {
			if !w.begin(n) {
				t.Fatalf("question %d was not taken", n)
			}
			if got, ok := w.wait(soon(t)); !ok || got != 2*n {
				t.Errorf("question %d: got %d, %v", n, got, ok)
			}
		}
		w.close()
		if err := <-w.closed; err != shut {
			t.Errorf("closing said %v, want what the device said", err)
		}
	})
}

// TestWorkerHangs has a device that does not come back for a long while: nothing is asked of it
// meanwhile, its late answer is there to be taken, and it is closed only once it is back.
func TestWorkerHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		calls := 0
		w := startWorker(func(d time.Duration) int {
			calls++
			n := calls
			time.Sleep(d)
			return n
		}, func() error { return nil })

		if !w.begin(time.Hour) {
			t.Fatal("the first question was not taken")
		}
		if got, ok := w.wait(soon(t)); ok {
			t.Errorf("it answered %d within a second", got)
		}
		for range 1000 {
			if w.begin(0) {
				t.Fatal("a second question was put to a device that hangs in the first")
			}
		}
		synctest.Wait()
		if calls != 1 {
			t.Errorf("%d calls are under way, want 1", calls)
		}

		pass(2 * time.Hour) // the answer lies there, late
		if w.begin(0) {
			t.Fatal("a second question was put before the answer to the first was taken")
		}
		if got, ok := w.late(); !ok || got != 1 {
			t.Errorf("late it answered %d, %v; want the first", got, ok)
		}
		if _, ok := w.late(); ok {
			t.Error("it answered twice")
		}
		if !w.begin(0) {
			t.Fatal("back again, the device is not asked")
		}
		if got, ok := w.wait(soon(t)); !ok || got != 2 {
			t.Errorf("got answer %d, %v; want the second", got, ok)
		}

		if !w.begin(time.Hour) {
			t.Fatal("the third question was not taken")
		}
		w.close()
		synctest.Wait()
		if len(w.closed) > 0 {
			t.Error("the device was closed under a call")
		}
		pass(2 * time.Hour)
		if len(w.closed) == 0 {
			t.Error("the device was not closed after its call came back")
		}
	})
}

// TestAnAnswerThatIsThereCounts asks two devices within one time limit, of which the first uses it
// up: the second has long answered.
func TestAnAnswerThatIsThereCounts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWorker(func(n int) int { return n }, func() error { return nil })
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		for n := range 100 {
			if !w.begin(n) {
				t.Fatal("not taken")
			}
			synctest.Wait()
			if got, ok := w.wait(ctx); !ok || got != n {
				t.Fatalf("answer %d: got %d, %v", n, got, ok)
			}
		}
		w.close()
		synctest.Wait()
		for range 100 {
			if err := closing(ctx, w.closed, "probe"); err != nil {
				t.Fatalf("a device that is closed counts as hung: %v", err)
			}
			w.closed <- nil
		}
	})
}
