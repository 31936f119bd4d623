package ledger

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/gofrs/flock"
)

// ErrHeld says that another process has the state directory.
var ErrHeld = errors.New("another loambank runs on it; stop that one, or give this one a state directory of its own")

// Lock takes the state directory for this process until release, or until the process ends,
// however it ends: a lock file that nobody holds is no obstacle. It does not wait. The lock is
// held by release: without a reference to it the lock may go with the garbage.
func Lock(dir string) (release func() error, err error) {
	lock := flock.New(filepath.Join(dir, "lock"))
	held, err := lock.TryLock()
	switch {
	case err != nil:
		return nil, fmt.Errorf("state directory %s: %w", dir, err)
	case !held:
		return nil, fmt.Errorf("state directory %s: %w", dir, ErrHeld)
	}
	return lock.Unlock, nil
}
