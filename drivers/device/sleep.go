package device

import (
	"context"
	"time"
)

// Sleep waits for d, or until ctx is done, which it returns.
func Sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
