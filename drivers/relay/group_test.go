package relay

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"
	"pgregory.net/rapid"

	"loambank/drivers/device"
)

// motor is a bench of relays that notes what it sees: which is closed, and how long all were open
// before one closed.
type motor struct {
	low     bool
	relays  []*coil
	clock   time.Duration
	events  []string
	opened  time.Duration // when the last closed relay opened
	last    int           // the relay that was closed last, -1 for none
	both    bool          // two were closed at once
	tooSoon bool          // another closed before the pause was over
}

type coil struct {
	gpiotest.Pin
	m      *motor
	i      int
	stuck  bool
	fail   error
	lies   bool // the next time that it is read back
	closed int
}

func newMotor(n int, low bool) *motor {
	m := &motor{low: low, last: -1}
	for i := range n {
		c := &coil{m: m, i: i, Pin: gpiotest.Pin{N: fmt.Sprintf("GPIO%d", i), L: gpio.Level(low)}}
		m.relays = append(m.relays, c)
	}
	return m
}

func (m *motor) pins() []gpio.PinOut {
	var pins []gpio.PinOut
	for _, c := range m.relays {
		pins = append(pins, c)
	}
	return pins
}

func (c *coil) on() bool       { return bool(c.L) != c.m.low }
func (c *coil) String() string { return c.N }
func (c *coil) Level() (gpio.Level, error) {
	lies := c.lies
	c.lies = false
	return c.L != gpio.Level(lies), nil
}
func (c *coil) Close() error { c.closed++; return nil }

func (c *coil) Out(l gpio.Level) error {
	if c.fail != nil {
		return c.fail
	}
	if c.stuck {
		return nil
	}
	was := c.on()
	c.L = l
	m := c.m
	switch {
	case was && !c.on():
		m.opened = m.clock
		m.events = append(m.events, fmt.Sprintf("-%d", c.i+1))
	case !was && c.on():
		m.tooSoon = m.tooSoon || m.last >= 0 && m.last != c.i && m.clock-m.opened < Pause
		m.last = c.i
		m.events = append(m.events, fmt.Sprintf("+%d", c.i+1))
	}
	n := 0
	for _, o := range m.relays {
		if o.on() {
			n++
		}
	}
	m.both = m.both || n > 1
	return nil
}

func (m *motor) sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	m.clock += d
	return nil
}

func (m *motor) group(t *testing.T) *Group {
	t.Helper()
	g, err := NewGroup(m.pins(), GroupOptions{Name: "lower/beds/east", ActiveLow: m.low, Sleep: m.sleep})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestSpeedsBreakBeforeTheyMake(t *testing.T) {
	for _, low := range []bool{false, true} {
		m := newMotor(3, low)
		m.relays[1].L = gpio.Level(!low) // an earlier program left it closed
		g := m.group(t)
		for _, s := range []device.Stage{0, 1, 1, 3, 2, 0, 3, 0, 0, 1} {
			if err := g.Set(t.Context(), s); err != nil {
				t.Errorf("stage %d: %v", s, err)
			}
			for i, c := range m.relays {
				if c.on() != (i == int(s)-1) {
					t.Errorf("stage %d: relay %d is closed: %v", s, i+1, c.on())
				}
			}
		}
		want := []string{"-2", "+1", "-1", "+3", "-3", "+2", "-2", "+3", "-3", "+1"}
		if !slices.Equal(m.events, want) || m.both || m.tooSoon {
			t.Errorf("active low %v: %v, two at once %v, too soon %v; want %v", low, m.events, m.both, m.tooSoon, want)
		}
		if err := g.Set(t.Context(), 4); err == nil || !strings.Contains(err.Error(), "no stage 4; it has 3") {
			t.Errorf("stage 4: %v; want it refused", err)
		}
		if err := errors.Join(g.Close(), g.Close()); err != nil {
			t.Error(err)
		}
		for i, c := range m.relays {
			if c.on() || c.closed != 1 {
				t.Errorf("after Close relay %d is closed %v, its line let go %d times; want open, once", i+1, c.on(), c.closed)
			}
		}
		if err := g.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) || m.relays[0].on() {
			t.Errorf("after Close: %v; want ErrClosed", err)
		}
	}
}

func TestGroupFaults(t *testing.T) {
	gone := errors.New("gone")
	t.Run("a relay that does not open while the fan is taken over", func(t *testing.T) {
		m := newMotor(2, false)
		m.relays[0].L, m.relays[0].stuck = gpio.High, true
		m.relays[1].L = gpio.High
		g, err := NewGroup(m.pins(), GroupOptions{Name: "lower/beds/east"})
		want := "fan lower/beds/east at GPIO0: the line is high after it was put low; look for a short, or for something else that drives it"
		if g != nil || err == nil || err.Error() != want || m.relays[1].on() || m.relays[0].closed != 0 {
			t.Errorf("got  %v, the other closed %v\nwant %s, the other open, the lines left alone", err, m.relays[1].on(), want)
		}
	})
	t.Run("a relay that sticks keeps the next from closing", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		if err := g.Set(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
		m.relays[0].stuck = true
		if err := g.Set(t.Context(), 2); err == nil || !strings.Contains(err.Error(), "at GPIO0: the line is high after it was put low") || m.both {
			t.Errorf("got %v, two at once %v; want that, and never two", err, m.both)
		}
		m.relays[0].stuck = false
		if err := g.Set(t.Context(), 2); err != nil || m.both || m.tooSoon {
			t.Errorf("once it obeys: %v, two at once %v, too soon %v", err, m.both, m.tooSoon)
		}
	})
	t.Run("a relay that does not close leaves all open", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		m.relays[1].fail = gone
		if err := g.Set(t.Context(), 2); !errors.Is(err, gone) || m.relays[0].on() {
			t.Errorf("got %v; want the line's error, all open", err)
		}
	})
	t.Run("a relay that was not seen to close is opened, and the pause kept after it", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		m.relays[0].lies = true
		if err := g.Set(t.Context(), 1); err == nil || m.relays[0].on() {
			t.Errorf("got %v, closed %v; want a fault, all open", err, m.relays[0].on())
		}
		if err := g.Set(t.Context(), 2); err != nil || m.tooSoon {
			t.Errorf("the other speed: %v, too soon %v; want the pause", err, m.tooSoon)
		}
	})
	t.Run("a relay that something else closed opens first, and the pause is kept after it", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		if err := m.relays[1].Out(gpio.High); err != nil {
			t.Fatal(err)
		}
		m.relays[1].stuck = true
		if err := g.Set(t.Context(), 1); err == nil || m.relays[0].on() {
			t.Errorf("got %v, relay 1 closed %v; want a fault, and it open", err, m.relays[0].on())
		}
		m.relays[1].stuck = false
		if err := g.Set(t.Context(), 1); err != nil || m.both || m.tooSoon {
			t.Errorf("once it obeys: %v, two at once %v, too soon %v", err, m.both, m.tooSoon)
		}
	})
	t.Run("a relay that did not open is opened before it runs the fan again", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		if err := g.Set(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
		m.relays[0].stuck = true
		if err := g.Set(t.Context(), 0); err == nil {
			t.Error("a relay that sticks is said to be open")
		}
		m.relays[0].stuck = false
		if err := g.Set(t.Context(), 1); err != nil || !slices.Equal(m.events, []string{"+1", "-1", "+1"}) || m.clock != Pause {
			t.Errorf("%v, %v after %v; want it opened and the pause kept", err, m.events, m.clock)
		}
	})
	t.Run("the time runs out in the pause", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		if err := g.Set(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		g.o.Sleep = func(ctx context.Context, _ time.Duration) error { cancel(); return ctx.Err() }
		if err := g.Set(ctx, 2); !errors.Is(err, context.Canceled) || m.relays[0].on() || m.relays[1].on() {
			t.Errorf("got %v; want the context's error, all open", err)
		}
		g.o.Sleep = m.sleep
		if err := g.Set(t.Context(), 2); err != nil || m.tooSoon {
			t.Errorf("the next order: %v, too soon %v; want the pause made up", err, m.tooSoon)
		}
	})
	t.Run("an order that comes too late changes nothing", func(t *testing.T) {
		m := newMotor(2, false)
		g := m.group(t)
		if err := g.Set(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if err := g.Set(ctx, 2); !errors.Is(err, context.Canceled) || !m.relays[0].on() {
			t.Errorf("got %v, relay 1 closed %v; want the context's error, as it was", err, m.relays[0].on())
		}
		if err := g.Set(ctx, 0); err != nil || m.relays[0].on() {
			t.Errorf("off: %v; want it carried out all the same", err)
		}
	})
	for n := range 5 {
		if _, err := NewGroup(newMotor(n, false).pins(), GroupOptions{}); (err == nil) != (n == 2 || n == 3) {
			t.Errorf("%d relays: %v; want two or three", n, err)
		}
	}
}

// Whatever is ordered and whatever sticks, two relays are never closed at once by the group, and
// never one sooner than the pause after another.
func TestNeverTwoSpeedsAtOnce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := newMotor(3, rapid.Bool().Draw(rt, "low"))
		g := m.group(t)
		for range rapid.IntRange(1, 20).Draw(rt, "orders") {
			for _, c := range m.relays {
				c.fail = nil
				if rapid.IntRange(0, 9).Draw(rt, "fails") == 0 {
					c.fail = errors.New("gone")
				}
			}
			if err := g.Set(context.Background(), device.Stage(rapid.IntRange(0, 3).Draw(rt, "stage"))); err == nil && slices.ContainsFunc(m.relays, func(c *coil) bool { return c.fail != nil && c.on() }) && g.at == 0 {
				rt.Fatal("off, but one is closed")
			}
		}
		if m.both || m.tooSoon {
			rt.Fatalf("%v: two at once %v, too soon %v", m.events, m.both, m.tooSoon)
		}
	})
}
