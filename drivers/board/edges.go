package board

import (
	"sync"
	"time"

	"github.com/warthog618/go-gpiocdev"

	"loambank/drivers/pulse"
)

// mostEdges are kept between two calls of Take: four minutes of the fastest pulses that bounce.
const mostEdges = 1 << 14

// Edges is a GPIO line whose changes are noted, held high by the board's own resistor unless
// something pulls it to ground. It is used by one goroutine at a time.
type Edges struct {
	held
	noted
}

// noted is what the kernel has told; it tells from a goroutine of its own.
type noted struct {
	mu     sync.Mutex
	opened time.Time
	offset time.Duration // from the kernel's clock to the time since opened
	any    bool          // offset is known
	edges  []pulse.Edge
	missed bool
}

// NewEdges takes the line of that name, as NewOutput does. A line that is not there is an error.
func NewEdges(name string) (*Edges, error) { return newEdges(machine(), name) }

func newEdges(cs chips, name string) (*Edges, error) {
	e := &Edges{held: held{chips: cs, name: name}}
	if err := e.begin(); err != nil {
		return nil, err
	}
	return e, nil
}

func (e *Edges) begin() error {
	e.mu.Lock()
	e.opened, e.any, e.edges, e.missed = time.Now(), false, nil, true
	e.mu.Unlock()
	return e.take(gpiocdev.AsInput, gpiocdev.WithPullUp, gpiocdev.WithBothEdges, gpiocdev.WithEventHandler(e.note))
}

// Take returns the changes since the last call, and the time, both since the line was taken.
// Missed says that there were others: the line was taken afresh, as it is where its chip was
// unplugged, or the kernel could not keep them all.
func (e *Edges) Take() (pulse.Record, error) {
	if e.line == nil {
		if err := e.begin(); err != nil {
			return pulse.Record{}, err
		}
	}
	if _, err := e.value(); err != nil { // a chip that has gone tells nothing any more
		return pulse.Record{}, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	r := pulse.Record{Edges: e.edges, Now: time.Since(e.opened), Missed: e.missed}
	if n := len(e.edges); n > 0 {
		r.Now = max(r.Now, e.edges[n-1].At) // which may be late by as much as the first event was told late
	}
	e.edges, e.missed = nil, false
	return r, nil
}

// note keeps an event. The kernel stamps it when it happens, on a clock of its own; when it is told
// here says what that clock means.
func (n *noted) note(event gpiocdev.LineEvent) {
	n.mu.Lock()
	defer n.mu.Unlock()
	told := time.Since(n.opened)
	at := event.Timestamp + n.offset
	// Kernels before 5.7 stamp by the wall clock, which may be set. Smaller differences are how late
	// an event is told, and must not bend the time between two.
	if !n.any || (told-at).Abs() > time.Second {
		n.offset, n.any = told-event.Timestamp, true
		at = told
	}
	if len(n.edges) == mostEdges {
		n.missed = true
		return
	}
	n.edges = append(n.edges, pulse.Edge{At: at, Low: event.Type == gpiocdev.LineEventFallingEdge})
}
