package modbus

import (
	"context"
	"fmt"
	"io"
	"log"
	"sync"
	"time"

	wire "github.com/simonvetter/modbus"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// silent keeps what the library would print; its errors say the same.
var silent = log.New(io.Discard, "", 0)

const (
	firstPause = time.Second // after a second try in vain; twice that after each further one
	lastPause  = 30 * time.Second
)

// Buses are the buses in use. One is connected for its first call and closed after its last user.
// Make them with NewBuses, once for a process, since a serial line is there once.
type Buses struct {
	mu   sync.Mutex
	used map[string]*shared // by Link.At
}

// NewBuses returns buses that are all closed.
func NewBuses() *Buses { return &Buses{used: map[string]*shared{}} }

// Open returns the bus at a link. Two links to one place must agree in all they say. The caller
// closes the bus.
func (b *Buses) Open(l Link) (*Bus, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.used[l.At]
	if s == nil {
		s = &shared{link: l, slot: bound.NewSlot(), now: time.Now}
		b.used[l.At] = s
	}
	if s.link != l {
		return nil, fmt.Errorf("the line at %v is in use with another speed, parity or stop bits; write the same for all its devices", l)
	}
	s.users++
	return &Bus{shared: s, buses: b}, nil
}

// Bus is one user's hold on a bus. It is safe for concurrent use.
type Bus struct {
	*shared
	buses *Buses
	once  sync.Once
}

// Close lets the bus go. It may be called twice; the bus must not be used afterwards.
func (b *Bus) Close() error {
	b.once.Do(func() {
		b.buses.mu.Lock()
		b.users--
		last := b.users == 0
		if last {
			delete(b.buses.used, b.link.At)
		}
		b.buses.mu.Unlock()
		if last {
			b.slot <- struct{}{} // comes, since each call to the library is bounded
			b.drop()
			<-b.slot
		}
	})
	return nil
}

// shared is a bus with all its users. Who holds slot owns what stands under it.
type shared struct {
	link  Link
	users int // guarded by Buses.mu
	now   func() time.Time

	slot   bound.Slot
	client *wire.ModbusClient // nil while nothing is connected
	failed int                // tries to connect in vain, in a row
	next   time.Time          // nobody tries before, unless in a hurry
}

// String names the bus.
func (s *shared) String() string { return s.link.String() }

// use waits for its turn and makes one exchange with a station, alone on the bus. A hurried one
// connects also while the bus pauses after tries in vain. What exchange touches must be its own: it
// may be left behind.
func use[T any](ctx context.Context, s *shared, unit uint8, hurried bool, exchange func(context.Context, *wire.ModbusClient) (T, error)) (T, error) {
	return bound.InTurn(ctx, s.slot, func(ctx context.Context) (T, error) {
		var none T
		for {
			fresh, err := s.connect(hurried)
			if err != nil {
				return none, err
			}
			if err := ctx.Err(); err != nil {
				return none, err // connecting took all the time; nobody waits for an answer
			}
			s.client.SetUnitId(unit) //nolint:errcheck // it has none
			v, err := exchange(ctx, s.client)
			if err == nil || answered(err) {
				return v, reason(err)
			}
			// An answer that comes late would be taken for the next one's, and the library never
			// connects again by itself.
			s.drop()
			// A gateway closes a connection that was idle for a while; that is no fault of the station.
			if fresh || !hungUp(err) {
				return none, reason(err)
			}
		}
	})
}

// connect connects where nothing is connected, and reports whether it did.
func (s *shared) connect(hurried bool) (bool, error) {
	if s.client != nil {
		return false, nil
	}
	if left := s.next.Sub(s.now()); left > 0 && !hurried {
		return false, fmt.Errorf("%w: nobody answered at %v; the next try is in %v", device.ErrAbsent, s.link, left.Round(100*time.Millisecond))
	}
	c, err := s.link.client()
	if err != nil {
		return false, err
	}
	if err := c.Open(); err != nil {
		s.failed++
		if s.failed > 1 {
			s.next = s.now().Add(min(firstPause<<min(s.failed-2, 10), lastPause))
		}
		return false, fmt.Errorf("%w: connecting: %w", device.ErrAbsent, err)
	}
	s.client, s.failed, s.next = c, 0, time.Time{}
	return true, nil
}

func (s *shared) drop() {
	if s.client != nil {
		s.client.Close() // nothing is written behind it
		s.client = nil
	}
}
