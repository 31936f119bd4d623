// Package bound keeps a call to a device that may hang from holding up its caller.
//
// Here is the slot that the one call to a device may hold. Which devices hang, and what to do
// about it, is not here.
//
// Always: Do returns by its deadline, or after 5 s where the context has none. A call that hangs
// is left behind and keeps the slot, so that there is never a second one.
package bound

import (
	"context"
	"fmt"
	"time"

	"loambank/drivers/device"
)

// Longest is the time a call has whose context has no deadline.
const Longest = 5 * time.Second

// Slot is held by the one call to a device that may be under way. Make one with NewSlot.
type Slot chan struct{}

// NewSlot returns a free slot.
func NewSlot() Slot { return make(Slot, 1) }

// Do makes the call and returns what it returns. It gives device.ErrBusy at once while an earlier
// call has not come back, and the error of ctx once that is done. A call left behind may still be
// running after Do: it must touch nothing but what the slot guards.
func Do[T any](ctx context.Context, s Slot, call func(context.Context) (T, error)) (T, error) {
	var none T
	ctx, cancel := limited(ctx)
	defer cancel()
	if err := ctx.Err(); err != nil {
		return none, err
	}
	select {
	case s <- struct{}{}:
		return run(ctx, s, call)
	default:
		return none, device.ErrBusy
	}
}

// InTurn is Do for a slot that several callers share: it waits until the slot is free.
func InTurn[T any](ctx context.Context, s Slot, call func(context.Context) (T, error)) (T, error) {
	var none T
	ctx, cancel := limited(ctx)
	defer cancel()
	if err := ctx.Err(); err != nil {
		return none, err
	}
	select {
	case s <- struct{}{}:
		return run(ctx, s, call)
	case <-ctx.Done():
		return none, device.ErrBusy
	}
}

func limited(ctx context.Context) (context.Context, context.CancelFunc) {
	if _, ok := ctx.Deadline(); ok {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, Longest)
}

func run[T any](ctx context.Context, s Slot, call func(context.Context) (T, error)) (T, error) {
	type result struct {
		value T
		err   error
	}
	done := make(chan result, 1)
	go func() {
		v, err := call(ctx)
		<-s
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.value, r.err
	case <-ctx.Done():
		var none T
		return none, fmt.Errorf("no answer: %w", ctx.Err())
	}
}
