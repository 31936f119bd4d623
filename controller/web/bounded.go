package web

import (
	"net"
	"sync"
)

// bounded is a listener with at most so many open connections; more wait in the kernel.
type bounded struct {
	net.Listener
	slots chan struct{}
	done  chan struct{}
	close func() error
}

func newBounded(l net.Listener, most int) *bounded {
	b := &bounded{Listener: l, slots: make(chan struct{}, most), done: make(chan struct{})}
	b.close = sync.OnceValue(func() error {
		close(b.done)
		return l.Close()
	})
	return b
}

// Accept waits for a free slot, then for a connection.
func (b *bounded) Accept() (net.Conn, error) {
	select {
	case b.slots <- struct{}{}:
	case <-b.done:
		return nil, net.ErrClosed
	}
	c, err := b.Listener.Accept()
	if err != nil {
		<-b.slots
		return nil, err
	}
	return &boundedConn{Conn: c, free: sync.OnceFunc(func() { <-b.slots })}, nil
}

// Close closes the listener, also while an Accept waits for a slot.
func (b *bounded) Close() error { return b.close() }

// boundedConn gives its slot back when it is closed.
type boundedConn struct {
	net.Conn
	free func()
}

// Close closes the connection; further calls free nothing.
func (c *boundedConn) Close() error {
	defer c.free()
	return c.Conn.Close()
}
