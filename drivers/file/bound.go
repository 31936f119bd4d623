package file

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"syscall"
	"time"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

const longest = 4 << 10 // of a probe file, bytes

// slot is held by the one call to a device that may be under way. A call that hangs keeps it.
type slot bound.Slot

// do makes the call within its bounds. It gives ErrBusy at once while an earlier call hangs, or,
// with wait, at the deadline.
func (s slot) do(ctx context.Context, wait bool, call func(context.Context) error) error {
	do := bound.Do[struct{}]
	if wait {
		do = bound.InTurn[struct{}]
	}
	_, err := do(ctx, bound.Slot(s), func(ctx context.Context) (struct{}, error) {
		return struct{}{}, call(ctx)
	})
	return err
}

// open opens a file so that neither a FIFO without a peer nor a terminal can block it, and so
// that reads which the kernel lets go of are let go of when ctx is done.
func open(ctx context.Context, path string, flag int) (*os.File, func(), error) {
	f, err := os.OpenFile(path, flag|syscall.O_NONBLOCK|syscall.O_NOCTTY, 0o644)
	if err != nil {
		return nil, nil, plain(err)
	}
	stop := context.AfterFunc(ctx, func() {
		// A file that does not know deadlines refuses this one: then the call is left behind.
		_ = f.SetDeadline(time.Unix(1, 0))
	})
	return f, func() { stop(); f.Close() }, nil
}

// slurp reads a whole small file.
func slurp(ctx context.Context, path string) ([]byte, error) {
	f, release, err := open(ctx, path, os.O_RDONLY)
	if err != nil {
		return nil, err
	}
	defer release()
	b, err := io.ReadAll(io.LimitReader(f, longest+1))
	if err != nil {
		return nil, plain(err)
	}
	if len(b) > longest {
		return nil, fmt.Errorf("more than %d bytes: %w", longest, device.ErrFormat)
	}
	return b, nil
}

// plain drops the path from a file error, since the caller names it, and says ErrAbsent where
// there is no such file or its device has gone.
func plain(err error) error {
	if pe := (*os.PathError)(nil); errors.As(err, &pe) {
		err = pe.Err
	}
	switch {
	case errors.Is(err, os.ErrNotExist), errors.Is(err, syscall.ENODEV),
		errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENOTDIR):
		return fmt.Errorf("%w: %w", device.ErrAbsent, err)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return fmt.Errorf("no answer: %w", context.DeadlineExceeded)
	}
	return err
}

// show quotes what a file holds for an error: printable, and short whatever the file holds.
func show(b []byte) string {
	const most = 40
	if len(b) > most {
		return fmt.Sprintf("%s and %d bytes more", strconv.QuoteToASCII(string(b[:most])), len(b)-most)
	}
	return strconv.QuoteToASCII(string(b))
}
