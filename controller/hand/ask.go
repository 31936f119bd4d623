package hand

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"syscall"
	"time"
)

// ErrNo is the daemon's refusal of an order; its text says why.
var ErrNo = errors.New("refused")

// Ask gives the daemon behind the socket an order and returns its answer, which has no Error. A refusal
// is an error that wraps ErrNo.
func Ask(ctx context.Context, path string, r Request) (*Answer, error) {
	r.Schema = 1
	if err := r.Check(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNo, err)
	}
	conn, err := new(net.Dialer).DialContext(ctx, "unix", path)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ECONNREFUSED):
		return nil, fmt.Errorf("%s: no loambank runs on this state directory; give the settings file of the one that does", path)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("%w; give orders as a user of the group that loambank runs in", err)
	case err != nil:
		return nil, err
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(2 * patience)); err != nil {
		return nil, err
	}
	if err := json.NewEncoder(conn).Encode(&r); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	var a Answer
	if err := json.NewDecoder(io.LimitReader(conn, maxBytes)).Decode(&a); err != nil {
		return nil, fmt.Errorf("%s: no answer: %w", path, err)
	}
	if a.Error != "" {
		return nil, fmt.Errorf("%w: %s", ErrNo, a.Error)
	}
	return &a, nil
}
