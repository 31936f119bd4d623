package drivers_test

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/contact"
	"loambank/drivers/pulse"
)

// pin is a GPIO line whose contact is at rest until it is broken.
type pin struct {
	broken *atomic.Bool
	bad    func() (gpio.Level, error)
	closed bool // at rest
}

func (pin) String() string { return "GPIO23" }

func (p pin) Level() (gpio.Level, error) {
	if p.broken.Load() {
		return p.bad()
	}
	return gpio.Level(!p.closed), nil
}

// meter is the line of a meter that gives a pulse every 3.6 s, 1 kW, until it is broken.
type meter struct {
	broken *atomic.Bool
	now    time.Duration
	told   time.Duration
	every  func(broken bool) time.Duration
	gone   bool
}

func (*meter) String() string { return "GPIO24" }

func (m *meter) Take() (pulse.Record, error) {
	if m.broken.Load() && m.gone {
		return pulse.Record{}, fmt.Errorf("line GPIO24: %w", drivers.ErrAbsent)
	}
	m.now += 10 * time.Second // a tick
	r := pulse.Record{Now: m.now}
	for every := m.every(m.broken.Load()); m.told+every <= r.Now; m.told += every {
		at := m.told + every
		r.Edges = append(r.Edges, pulse.Edge{At: at - every/2, Low: true}, pulse.Edge{At: at, Low: false})
	}
	return r, nil
}

func smoke(bad func(*atomic.Bool) func() (gpio.Level, error)) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		return contact.New(pin{broken: broken, bad: bad(broken)}, contact.Options{Name: "lower/smoke"}), nil
	}
}

// loop is a smoke contact that is closed until its wire is cut.
func loop(_ *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
	cut := func() (gpio.Level, error) { return gpio.High, nil }
	return contact.New(pin{broken, cut, true}, contact.Options{Name: "lower/smoke", NormallyClosed: true}), nil
}

func power(every time.Duration, gone bool) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		m := &meter{broken: broken, gone: gone, every: func(broken bool) time.Duration {
			if broken {
				return every
			}
			return 3600 * time.Millisecond
		}}
		return pulse.New(m, pulse.Options{Name: "lower/beds/power", PerKWh: 1000, Debounce: time.Millisecond})
	}
}

func lineFaults() []fault {
	level := func(l gpio.Level, err error) func(*atomic.Bool) func() (gpio.Level, error) {
		return func(*atomic.Bool) func() (gpio.Level, error) { return func() (gpio.Level, error) { return l, err } }
	}
	holds := func(broken *atomic.Bool) func() (gpio.Level, error) {
		return func() (gpio.Level, error) {
			for broken.Load() {
				time.Sleep(time.Second)
			}
			return gpio.High, nil
		}
	}
	row := func(kind, name string, role judge.Role, open func(*testing.T, *atomic.Bool) (drivers.Probe, error), is error, says string, atOnce, later judge.Cause) fault {
		return fault{driver: kind, name: name, role: role, open: open, is: is, says: says, atOnce: atOnce, later: later}
	}
	const ok, stale = judge.Fine, judge.Stale
	gone := fmt.Errorf("line GPIO23: %w: no such device", drivers.ErrAbsent)
	value := func(f fault, v float64) fault { f.reads = v; return f }
	return []fault{
		row("contact", "a line whose chip is unplugged", judge.Smoke, smoke(level(gpio.Low, gone)), drivers.ErrAbsent, "line GPIO23: the device is not there", ok, stale),
		row("contact", "a line that another program has", judge.PipeWater, smoke(level(gpio.Low, drivers.ErrBusy)), drivers.ErrBusy, "an earlier call has not come back", ok, stale),
		row("contact", "a kernel that does not answer", judge.VentOpen, smoke(holds), nil, "an earlier call has not come back", ok, stale),
		// What no program can tell: a wire that is cut is an open contact, one that is shorted a closed
		// one. A loop that is closed at rest makes the cut one trip.
		value(row("contact", "a loop that is cut", judge.Smoke, loop, nil, "", ok, ok), 1),
		row("contact", "a wire that is cut", judge.Smoke, smoke(level(gpio.High, nil)), nil, "", ok, ok),
		value(row("contact", "a wire that is shorted", judge.Smoke, smoke(level(gpio.Low, nil)), nil, "", ok, ok), 1),
		row("pulse", "a line whose chip is unplugged", judge.FanPower, power(time.Hour, true), drivers.ErrAbsent, "line GPIO24: the device is not there", ok, stale),
		value(row("pulse", "a wire that is cut, as a fan that stands", judge.FanPower, power(1000*time.Hour, false), nil, "", ok, ok), 1.9),
		value(row("pulse", "a wire that catches the hum of the mains, 180 kW", judge.FanPower, power(20*time.Millisecond, false), nil, "", judge.OutOfRange, judge.OutOfRange), 180e3),
	}
}
