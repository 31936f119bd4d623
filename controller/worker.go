package controller

import "context"

// worker makes the calls to one device in a goroutine of its own, one at a time, so that a device
// that hangs holds up nobody else. The fields belong to its owner.
type worker[A, B any] struct {
	ask    chan A
	answer chan B
	closed chan error // what closing the device said, once it is closed
	busy   bool       // the last call has not come back
}

// startWorker starts the goroutine that runs do for every question, and shut after close.
func startWorker[A, B any](do func(A) B, shut func() error) *worker[A, B] {
	w := &worker[A, B]{ask: make(chan A, 1), answer: make(chan B, 1), closed: make(chan error, 1)}
	go func() {
		for a := range w.ask {
			w.answer <- do(a)
		}
		w.closed <- shut()
	}()
	return w
}

// begin hands a question over, unless the device still hangs in the last one.
func (w *worker[A, B]) begin(a A) bool {
	if w.busy {
		return false
	}
	w.ask <- a
	w.busy = true
	return true
}

// late returns the answer to a question begun before, if it has come by now.
func (w *worker[A, B]) late() (b B, ok bool) {
	if !w.busy {
		return b, false
	}
	select {
	case b = <-w.answer:
		w.busy = false
		return b, true
	default:
		return b, false
	}
}

// wait returns the answer to the question begun, or false once ctx is done. An answer that is
// there counts also then: another device may have used up the time.
func (w *worker[A, B]) wait(ctx context.Context) (b B, ok bool) {
	select {
	case b = <-w.answer:
		w.busy = false
		return b, true
	case <-ctx.Done():
		return w.late()
	}
}

// close lets the device be closed as soon as its call comes back; closed tells.
func (w *worker[A, B]) close() { close(w.ask) }
