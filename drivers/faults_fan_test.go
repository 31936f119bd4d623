package drivers_test

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/packets"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"

	"loambank/drivers"
	"loambank/drivers/chip/chiptest"
	"loambank/drivers/dac"
	"loambank/drivers/mqtt"
	"loambank/drivers/relay"
)

// fanFault is what goes wrong with a fan that obeyed before. Whoever gets the error takes the fan's
// stage for unknown and orders again at each tick; that has to work once the fault is over.
type fanFault struct {
	driver, name string
	// open opens a fan that is well until broken is set; runs tells what it really does.
	open func(t *testing.T, broken *atomic.Bool) (f drivers.Fan, runs func() bool)
	is   error // what the error of an order is; nil where any will do
	says string
}

func TestWhatFansSayOfFaults(t *testing.T) {
	rows := fanFaults()
	for _, f := range rows {
		t.Run(f.driver+", "+f.name, f.play)
	}
	for _, kind := range drivers.Kinds() {
		_, fan := drivers.Opens(kind)
		if fan && kind != "model" && !slices.ContainsFunc(rows, func(f fanFault) bool { return f.driver == kind }) {
			t.Errorf("no fault of driver %s", kind)
		}
	}
}

func (f *fanFault) play(t *testing.T) {
	broken := new(atomic.Bool)
	fan, runs := f.open(t, broken)
	if runs() {
		t.Error("it runs after it was opened; want it off")
	}
	if err := fan.Set(t.Context(), 1); err != nil || !runs() {
		t.Fatalf("a fan that is well: %v, runs %v; want it running", err, runs())
	}
	broken.Store(true)
	failed := 0
	for _, stage := range []drivers.Stage{0, 1, 0} {
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		err := fan.Set(ctx, stage)
		cancel()
		if err != nil {
			failed++
		}
		took := err == nil && runs() == (stage == 1) // what it was already at may be believed
		if !took && (err == nil || f.is != nil && !errors.Is(err, f.is) || !strings.Contains(err.Error(), f.says) || !strings.HasPrefix(err.Error(), "fan lower/beds/east at ")) {
			t.Errorf("stage %d says %v, runs %v; want the fan's name and %q", stage, err, runs(), f.says)
		}
		if stage == 0 && err == nil && runs() {
			t.Error("it says that it is off, and runs")
		}
	}
	if failed == 0 {
		t.Error("no order to a faulty fan failed")
	}
	broken.Store(false)
	for _, stage := range []drivers.Stage{1, 0, 1} {
		if err := fan.Set(t.Context(), stage); err != nil || runs() != (stage == 1) {
			t.Errorf("mended, stage %d: %v, runs %v", stage, err, runs())
		}
	}
	if err := errors.Join(fan.Close(), fan.Close()); err != nil || runs() {
		t.Errorf("Close: %v, runs %v; want it off", err, runs())
	}
}

// output is a line that drives a relay.
type output struct {
	gpiotest.Pin
	broken *atomic.Bool
	bad    func(o *output, l gpio.Level) error // of putting out
	mute   error                               // of reading back while broken
}

func (o *output) Out(l gpio.Level) error {
	if o.broken.Load() && o.bad != nil {
		return o.bad(o, l)
	}
	return o.Pin.Out(l)
}

func (o *output) Level() (gpio.Level, error) {
	if o.broken.Load() && o.mute != nil {
		return gpio.Low, o.mute
	}
	return o.Pin.L, nil
}

func relayed(bad func(*output, gpio.Level) error, mute error) func(*testing.T, *atomic.Bool) (drivers.Fan, func() bool) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
		o := &output{Pin: gpiotest.Pin{N: "GPIO17"}, broken: broken, bad: bad, mute: mute}
		f, err := relay.New(o, relay.Options{Name: "lower/beds/east"})
		if err != nil {
			t.Fatal(err)
		}
		return f, func() bool { return o.L == gpio.High }
	}
}

// grouped is a motor of two speeds, whose slow one is at the line that breaks.
func grouped(bad func(*output, gpio.Level) error) func(*testing.T, *atomic.Bool) (drivers.Fan, func() bool) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
		slow := &output{Pin: gpiotest.Pin{N: "GPIO17"}, broken: broken, bad: bad}
		fast := &output{Pin: gpiotest.Pin{N: "GPIO18"}, broken: new(atomic.Bool)}
		f, err := relay.NewGroup([]gpio.PinOut{slow, fast}, relay.GroupOptions{Name: "lower/beds/east", Sleep: (&chiptest.Clock{}).Sleep})
		if err != nil {
			t.Fatal(err)
		}
		return f, func() bool { return slow.L == gpio.High || fast.L == gpio.High }
	}
}

// converted is a fan behind a converter; bad refuses a transfer while broken, or turns bits of what is
// read back.
func converted(bad func(r []byte) error) func(*testing.T, *atomic.Bool) (drivers.Fan, func() bool) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
		code := uint16(0)
		bus := chiptest.Bus(func(_ uint16, w, r []byte) error {
			if broken.Load() {
				if err := bad(r); err != nil {
					return err
				}
			}
			if len(w) == 2 {
				code = binary.BigEndian.Uint16(w) & 0xfff
			}
			for i, b := range []byte{0xc0, byte(code >> 4), byte(code << 4), 0, 0} { // ready, output, and 0 after a power cut
				if i < len(r) {
					r[i] ^= b
				}
			}
			return nil
		})
		f, err := dac.New(t.Context(), bus, dac.Address, dac.Opts{Name: "lower/beds/east", Sleep: (&chiptest.Clock{}).Sleep})
		if err != nil {
			t.Fatal(err)
		}
		return f, func() bool { return code > 0 }
	}
}

// drive is a drive of motors at a Modbus bus that keeps one register; bad is its answer while broken.
func drive(bad func(ask []byte) []byte) func(*testing.T, *atomic.Bool) (drivers.Fan, func() bool) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
		var held atomic.Uint32
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { l.Close() })
		answer := func(ask []byte) []byte {
			switch {
			case broken.Load():
				return bad(ask)
			case ask[7] == 6: // write one register; it is echoed
				held.Store(uint32(binary.BigEndian.Uint16(ask[10:])))
				return ask[2:12]
			}
			return append([]byte{0, 0, 0, 5, 1, 3, 2, 0}, byte(held.Load()))
		}
		go func() {
			for {
				c, err := l.Accept()
				if err != nil {
					return
				}
				go serve(c, answer)
			}
		}()
		f, err := drivers.OpenFan(t.Context(), drivers.Stanza{
			Name: "lower/beds/east", Driver: "modbus", URL: "tcp://" + l.Addr().String(), Unit: 1, Values: []float64{0, 50},
		})
		if err != nil {
			t.Fatal(err)
		}
		return f, func() bool { return held.Load() != 0 }
	}
}

// plug takes orders at a broker that acknowledges none while broken.
func plug(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
	var on atomic.Bool
	taken := make(chan bool, 100)
	_, url := newBroker(t, func(p *packets.Publish) bool {
		if broken.Load() {
			return false
		}
		on.Store(string(p.Payload) == "1")
		taken <- true
		return true
	})
	f, err := mqtt.NewFan(t.Context(), mqtt.FanOptions{Name: "lower/beds/east", Broker: url, Topic: "lower/east", Payloads: []string{"0", "1"}})
	if err != nil {
		t.Fatal(err)
	}
	<-taken
	<-taken // a new connection is told off as well, at a time of its own
	return f, on.Load
}

// written is a fan file that a folder takes the place of while broken.
func written(t *testing.T, broken *atomic.Bool) (drivers.Fan, func() bool) {
	path := filepath.Join(t.TempDir(), "fan")
	f, err := drivers.OpenFan(t.Context(), drivers.Stanza{Name: "lower/beds/east", Driver: "file", Path: path})
	if err != nil {
		t.Fatal(err)
	}
	runs := func() bool { b, _ := os.ReadFile(path); return strings.TrimSpace(string(b)) == "1" }
	return &replaced{f, path, broken, false}, runs
}

type replaced struct {
	drivers.Fan
	path   string
	broken *atomic.Bool
	was    bool
}

// Set changes what is at the path before it passes the order on.
func (r *replaced) Set(ctx context.Context, stage drivers.Stage) error {
	if is := r.broken.Load(); is != r.was {
		r.was = is
		os.RemoveAll(r.path)
		if is {
			os.Mkdir(r.path, 0o700)
		}
	}
	return r.Fan.Set(ctx, stage)
}

func fanFaults() []fanFault {
	unplugged := fmt.Errorf("line GPIO17: %w: no such device", drivers.ErrAbsent)
	stuck := func(*output, gpio.Level) error { return nil }
	inverted := func(o *output, l gpio.Level) error { return o.Pin.Out(!l) }
	gone := func(*output, gpio.Level) error { return unplugged }
	return []fanFault{
		{"relay", "a line that is held", relayed(stuck, nil), nil, "look for a short, or for something else that drives it"},
		{"relay", "a line that does the contrary", relayed(inverted, nil), nil, "look for a short, or for something else that drives it"},
		{"relay", "a line whose chip is unplugged", relayed(gone, nil), drivers.ErrAbsent, "no such device"},
		{"relay", "a line that cannot be read back", relayed(nil, unplugged), drivers.ErrAbsent, "reading back"},
		{"relay", "the slow relay of two speeds, held", grouped(stuck), nil, "look for a short, or for something else that drives it"},
		{"relay", "the slow relay of two speeds, unplugged", grouped(gone), drivers.ErrAbsent, "no such device"},
		{"dac", "no acknowledge", converted(func([]byte) error { return fmt.Errorf("%w: no chip acknowledges", drivers.ErrAbsent) }), drivers.ErrAbsent, "no chip acknowledges"},
		{"dac", "a code that is not taken", converted(func(r []byte) error {
			if len(r) == 5 {
				r[1] = 0x12
			}
			return nil
		}), nil, "something else may be driving it"},
		{"dac", "an output that is powered down", converted(func(r []byte) error {
			if len(r) == 5 {
				r[0] = 1 << 1
			}
			return nil
		}), nil, "power-down 1"},
		{"dac", "a data wire that stays low", converted(func([]byte) error { return errors.New("a wire of the bus stays low") }), nil, "a wire of the bus stays low"},
		{"file", "a folder in its place", written, nil, "is a directory"},
		{"modbus", "a drive that takes no orders from the bus", drive(func(ask []byte) []byte {
			if ask[7] == 6 {
				return ask[2:12]
			}
			return []byte{0, 0, 0, 5, 1, 3, 2, 0, 77}
		}), nil, "it holds [77] after"},
		{"modbus", "a drive that refuses the value", drive(func([]byte) []byte { return []byte{0, 0, 0, 3, 1, 0x86, 3} }), nil, "refuses the value"},
		{"modbus", "a drive that hangs up", drive(func([]byte) []byte { return nil }), drivers.ErrAbsent, "the device is not there"},
		{"mqtt", "a broker that does not acknowledge", plug, drivers.ErrAbsent, "the broker did not acknowledge"},
	}
}
