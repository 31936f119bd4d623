package board

import (
	"errors"
	"io/fs"
	"slices"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/warthog618/go-gpiocdev"

	"loambank/drivers/device"
	"loambank/drivers/pulse"
)

// handler is whom the kernel tells of the events of a line.
func handler(t *testing.T, c *fakeChip) gpiocdev.EventHandler {
	t.Helper()
	for _, o := range c.taken {
		if h, ok := o.(gpiocdev.EventHandler); ok {
			return h
		}
	}
	t.Fatalf("no handler in %v", c.taken)
	return nil
}

const ms = time.Millisecond

func falls(at time.Duration) gpiocdev.LineEvent {
	return gpiocdev.LineEvent{Timestamp: at, Type: gpiocdev.LineEventFallingEdge}
}

func rises(at time.Duration) gpiocdev.LineEvent {
	return gpiocdev.LineEvent{Timestamp: at, Type: gpiocdev.LineEventRisingEdge}
}

func TestEdgesKeepTheKernelsTimes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		e, err := newEdges(b.machine(), "GPIO17")
		if err != nil {
			t.Fatal(err)
		}
		c := b.chips["gpiochip0"]
		if !slices.Contains(c.taken, any(gpiocdev.WithBothEdges)) || !slices.Contains(c.taken[:3], any(gpiocdev.WithPullUp)) {
			t.Errorf("asked for %v; want both edges, with the pull-up", c.taken)
		}
		tell := handler(t, c)
		if r, err := e.Take(); err != nil || !r.Missed || len(r.Edges) != 0 {
			t.Errorf("at first: %+v, %v; want it said that nothing is known from before", r, err)
		}
		const boot = 1000 * time.Hour // the kernel's clock runs since it was started
		time.Sleep(time.Second)
		tell(falls(boot))
		time.Sleep(50 * ms) // the next two are told late, at once
		tell(rises(boot + 30*ms))
		tell(falls(boot + 45*ms))
		time.Sleep(50 * ms)
		r, err := e.Take()
		want := []pulse.Edge{{At: time.Second, Low: true}, {At: time.Second + 30*ms}, {At: time.Second + 45*ms, Low: true}}
		if err != nil || r.Missed || !slices.Equal(r.Edges, want) || r.Now != 1100*ms {
			t.Errorf("got %+v, %v; want %v at 1.1 s", r, err, want)
		}
		if r, err := e.Take(); err != nil || r.Missed || len(r.Edges) != 0 {
			t.Errorf("taken twice: %+v, %v; want nothing new", r, err)
		}
		tell(falls(2000 * time.Hour)) // a wall clock that was set
		if r, err := e.Take(); err != nil || len(r.Edges) != 1 || r.Edges[0].At != 1100*ms {
			t.Errorf("a clock that jumped: %+v, %v; want the time at which it was told", r, err)
		}
		if err := errors.Join(e.Close(), e.Close()); err != nil {
			t.Error(err)
		}
		if _, err := e.Take(); !errors.Is(err, fs.ErrClosed) {
			t.Errorf("after Close: %v; want ErrClosed", err)
		}
	})
}

// The first event may be told later than those after it.
func TestEdgesOfAFirstEventThatWasToldLate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		e, err := newEdges(b.machine(), "GPIO17")
		if err != nil {
			t.Fatal(err)
		}
		tell := handler(t, b.chips["gpiochip0"])
		time.Sleep(time.Second)
		tell(falls(900 * ms)) // 100 ms late
		tell(rises(940 * ms)) // 60 ms late
		tell(falls(1000 * ms))
		r, err := e.Take()
		if err != nil || len(r.Edges) != 3 || r.Edges[0].At != time.Second || r.Edges[1].At-r.Edges[0].At != 40*ms || r.Edges[2].At-r.Edges[1].At != 60*ms || r.Now < r.Edges[2].At {
			t.Errorf("got %+v, %v; want the first when it was told, 40 and 60 ms between them, none in the future", r, err)
		}
	})
}

func TestEdgesThatAreTooMany(t *testing.T) {
	b := newBench()
	e, err := newEdges(b.machine(), "GPIO17")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Take(); err != nil {
		t.Fatal(err)
	}
	tell := handler(t, b.chips["gpiochip0"])
	for i := range mostEdges + 1 {
		tell(falls(time.Duration(i)))
	}
	if r, err := e.Take(); err != nil || !r.Missed || len(r.Edges) != mostEdges {
		t.Errorf("%d edges, missed %v, %v; want %d and that there were more", len(r.Edges), r.Missed, err, mostEdges)
	}
}

func TestEdgesOfAChipThatIsUnpluggedAndPluggedBack(t *testing.T) {
	b := newBench()
	e, err := newEdges(b.machine(), "GPIO17")
	if err != nil {
		t.Fatal(err)
	}
	c := b.chips["gpiochip0"]
	if _, err := e.Take(); err != nil {
		t.Fatal(err)
	}
	c.fail = syscall.ENODEV
	if _, err := e.Take(); !errors.Is(err, device.ErrAbsent) || c.held {
		t.Errorf("unplugged: %v; want ErrAbsent and the line let go", err)
	}
	delete(b.chips, "gpiochip0")
	if _, err := e.Take(); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("while it is away: %v; want ErrAbsent", err)
	}
	c.fail, b.chips["gpiochip0"] = nil, c
	if r, err := e.Take(); err != nil || !r.Missed || !c.held {
		t.Errorf("plugged back: %+v, %v; want it taken afresh, and said so", r, err)
	}
	if _, err := newEdges(b.machine(), "GPIO99"); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("a line that is not there: %v; want ErrAbsent", err)
	}
}
