package modbus

import (
	"context"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	wire "github.com/simonvetter/modbus"

	"loambank/drivers/device"
)

func TestProbesOfEachTable(t *testing.T) {
	b := newBench(t)
	b.words[0x0164], b.words[0x8002], b.words[0x8003], b.bits[7], b.bits[1008] = 215, 0xffff, 0xff38, true, true
	all := NewBuses()
	for register, want := range map[string]float64{"holding 100": 215, "coil 7": 1, "discrete 8": 1, "coil 6": 0, "input 3": 0xff38} {
		r, err := ParseRegister(register)
		if err != nil {
			t.Fatal(err)
		}
		p := NewProbe(openBus(t, all, b.url), ProbeOptions{Name: "lower/air", Unit: 1, Register: r})
		if v, err := p.Read(t.Context()); err != nil || v != want {
			t.Errorf("%s: %v, %v; want %v", register, v, err, want)
		}
		if err := errors.Join(p.Close(), p.Close()); err != nil {
			t.Error(err)
		}
		if _, err := p.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
			t.Errorf("after Close: %v; want ErrClosed", err)
		}
	}
	if len(all.used) != 0 {
		t.Errorf("%d buses are left open", len(all.used))
	}
	p := NewProbe(openBus(t, all, b.url), ProbeOptions{Name: "lower/air", Unit: 1, Register: Register{Table: Input, Address: 2, Type: Int32}})
	if v, err := p.Read(t.Context()); err != nil || v != -200 {
		t.Errorf("two words: %v, %v; want -200", v, err)
	}
}

func TestFanHoldsWhatItIsTold(t *testing.T) {
	b := newBench(t)
	b.words[0x0232] = 77 // an earlier program left it running
	f, err := NewFan(t.Context(), openBus(t, NewBuses(), b.url), FanOptions{
		Name: "lower/beds/east", Unit: 2, Register: Register{Address: 50}, Values: []float64{0, 40, 100},
	})
	if err != nil || b.word(0x0232) != 0 {
		t.Fatalf("%v, holds %d; want it off", err, b.word(0x0232))
	}
	for stage, want := range map[device.Stage]uint16{1: 40, 2: 100, 0: 0} {
		if err := f.Set(t.Context(), stage); err != nil || b.word(0x0232) != want {
			t.Errorf("stage %d: %v, holds %d; want %d", stage, err, b.word(0x0232), want)
		}
	}
	if err := f.Set(t.Context(), 3); err == nil || !strings.Contains(err.Error(), "no stage 3; it has 2") {
		t.Errorf("stage 3: %v", err)
	}
	f.Set(t.Context(), 2)
	b.Lock()
	b.stuck = true
	b.Unlock()
	err = f.Set(t.Context(), 0)
	want := "unit 2 holding 50: it holds [100] after [0] was written; look for another master"
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("a station that takes no orders: %v; want %s", err, want)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	b.Lock()
	b.stuck = false
	b.Unlock()
	if err := f.Set(gone, 1); !errors.Is(err, context.Canceled) || b.word(0x0232) != 100 {
		t.Errorf("an order that comes too late: %v, holds %d; want nothing sent", err, b.word(0x0232))
	}
	if err := errors.Join(f.Close(), f.Close()); err != nil || b.word(0x0232) != 0 {
		t.Errorf("closed: %v, holds %d; want it off", err, b.word(0x0232))
	}
	if err := f.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) || b.word(0x0232) != 0 {
		t.Errorf("after Close: %v", err)
	}
}

func TestCoilAndFloatFans(t *testing.T) {
	b := newBench(t)
	b.bits[3] = false
	bus := NewBuses()
	f, err := NewFan(t.Context(), openBus(t, bus, b.url), FanOptions{Name: "a", Unit: 1, Register: Register{Table: Coil, Address: 3}, Values: []float64{1, 0}})
	if err != nil || !b.bits[3] {
		t.Fatalf("%v, coil %v; want 1, off", err, b.bits[3])
	}
	if err := f.Set(t.Context(), 1); err != nil || b.bits[3] {
		t.Errorf("%v, coil %v; want 0", err, b.bits[3])
	}
	g, err := NewFan(t.Context(), openBus(t, bus, b.url), FanOptions{Name: "b", Unit: 1, Register: Register{Address: 4, Type: Float32, LowFirst: true}, Values: []float64{0, 42.5}})
	if err != nil {
		t.Fatal(err)
	}
	// 42.5 is 0x422a0000 in IEEE 754.
	if err := g.Set(t.Context(), 1); err != nil || b.word(0x0104) != 0 || b.word(0x0105) != 0x422a {
		t.Errorf("%v, words %#x %#x; want 0, 0x422a", err, b.word(0x0104), b.word(0x0105))
	}
}

func TestFansThatCannotBe(t *testing.T) {
	b := newBench(t)
	for _, c := range []struct {
		name, want string
		r          Register
		values     []float64
	}{
		{"a register that is only read", "input is only read", Register{Table: Input}, []float64{0, 1}},
		{"one value", "1 values are not one for off", Register{}, []float64{0}},
		{"a value too large", "70000 does not fit into holding 0 of type uint16", Register{}, []float64{0, 70000}},
		{"half a unit", "0.5 does not fit", Register{}, []float64{0, 0.5}},
		{"two stages alike", "not all different", Register{}, []float64{0, 5, 5}},
		{"two in a bit", "2 does not fit", Register{Table: Coil}, []float64{0, 2}},
	} {
		f, err := NewFan(t.Context(), openBus(t, NewBuses(), b.url), FanOptions{Name: "a", Unit: 1, Register: c.r, Values: c.values})
		if f != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want %s", c.name, err, c.want)
		}
	}
	if b.asked.Load() != 0 {
		t.Errorf("the station was asked %d times; want nothing sent", b.asked.Load())
	}
}

func TestAStationRefuses(t *testing.T) {
	b := newBench(t)
	p := NewProbe(openBus(t, NewBuses(), b.url), ProbeOptions{Name: "lower/air", Unit: 1})
	for _, c := range []struct {
		refuse error
		want   string
		absent bool
	}{
		{wire.ErrIllegalDataAddress, "no such register: illegal data address; look at unit and register", false},
		{wire.ErrIllegalFunction, "no such register", false},
		{wire.ErrServerDeviceBusy, "answers with a fault: server device busy", false},
		{wire.ErrGWTargetFailedToRespond, "the gateway cannot reach the station", true},
	} {
		b.Lock()
		b.refuse = c.refuse
		b.Unlock()
		_, err := p.Read(t.Context())
		if err == nil || !strings.Contains(err.Error(), c.want) || errors.Is(err, device.ErrAbsent) != c.absent {
			t.Errorf("%v: %v; want %s, absent %v", c.refuse, err, c.want, c.absent)
		}
		if p.bus.client == nil {
			t.Errorf("%v: the connection was given up for an answer", c.refuse)
		}
	}
}

func TestAServerVanishesAndReturns(t *testing.T) {
	b := newBench(t)
	b.words[0x0100] = 5
	bus := openBus(t, NewBuses(), b.url)
	now := time.Date(2027, 1, 5, 3, 0, 0, 0, time.UTC)
	bus.now = func() time.Time { return now }
	p := NewProbe(bus, ProbeOptions{Name: "lower/air", Unit: 1})
	if v, err := p.Read(t.Context()); err != nil || v != 5 {
		t.Fatal(v, err)
	}
	b.stop()
	b.start(t)
	if v, err := p.Read(t.Context()); err != nil || v != 5 {
		t.Errorf("a server that was started anew between two reads: %v, %v; want the value", v, err)
	}
	b.stop()
	for range 3 {
		if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("vanished: %v; want ErrAbsent", err)
		}
	}
	b.start(t)
	if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "the next try is in 1s") {
		t.Errorf("at once: %v; want a pause kept", err)
	}
	now = now.Add(time.Second)
	if v, err := p.Read(t.Context()); err != nil || v != 5 {
		t.Errorf("after the pause: %v, %v; want the value", v, err)
	}
}

func TestTheLongestPauseIsHalfAMinute(t *testing.T) {
	b := newBench(t)
	b.stop()
	bus := openBus(t, NewBuses(), b.url)
	now := time.Date(2027, 1, 5, 3, 0, 0, 0, time.UTC)
	bus.now = func() time.Time { return now }
	p := NewProbe(bus, ProbeOptions{Name: "lower/air", Unit: 1})
	var pauses []time.Duration
	for range 9 {
		p.Read(t.Context())
		pauses = append(pauses, max(0, bus.next.Sub(now)))
		now = now.Add(time.Minute)
	}
	for i, want := range []time.Duration{0, 1, 2, 4, 8, 16, 30, 30, 30} {
		if pauses[i] != want*time.Second {
			t.Errorf("pause %d is %v; want %v s", i, pauses[i], int(want))
		}
	}
}

// A fan must go off as soon as that can be.
func TestAFanKeepsNoPause(t *testing.T) {
	b := newBench(t)
	bus := openBus(t, NewBuses(), b.url)
	now := time.Date(2027, 1, 5, 3, 0, 0, 0, time.UTC)
	bus.now = func() time.Time { return now }
	f, err := NewFan(t.Context(), bus, FanOptions{Name: "lower/beds/east", Unit: 1, Register: Register{Address: 9}, Values: []float64{0, 1}})
	if err != nil {
		t.Fatal(err)
	}
	f.Set(t.Context(), 1)
	b.stop()
	for range 4 {
		if err := f.Set(t.Context(), 0); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("vanished: %v; want ErrAbsent", err)
		}
	}
	b.start(t)
	if err := f.Set(t.Context(), 0); err != nil || b.word(0x0109) != 0 {
		t.Errorf("returned: %v, holds %d; want it off at once", err, b.word(0x0109))
	}
}

func TestASlowStation(t *testing.T) {
	b := newBench(t)
	b.slow = 150 * time.Millisecond
	b.words[0x0101] = 8
	p := NewProbe(openBus(t, NewBuses(), b.url), ProbeOptions{Name: "lower/air", Unit: 1, Register: Register{Address: 1}})
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if _, err := p.Read(ctx); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v; want the deadline", err)
	}
	if v, err := p.Read(t.Context()); err != nil || v != 8 || b.most.Load() != 1 {
		t.Errorf("with more time: %v, %v, %d at one time; want 8 and one", v, err, b.most.Load())
	}
}

// Two devices and more on one bus, from goroutines of their own: one call at a time, and each gets
// its own answer.
func TestCallsOnABusNeverInterleave(t *testing.T) {
	b := newBench(t)
	all := NewBuses()
	var wait sync.WaitGroup
	for i := range uint16(8) {
		b.set((i%2+1)<<8+i, 100+i)
		bus := openBus(t, all, b.url)
		wait.Go(func() {
			p := NewProbe(bus, ProbeOptions{Name: "lower/air", Unit: uint8(i%2 + 1), Register: Register{Address: i}})
			for range 25 {
				if v, err := p.Read(t.Context()); err != nil || v != float64(100+i) {
					t.Errorf("probe %d: %v, %v; want %d", i, v, err, 100+i)
				}
			}
		})
	}
	wait.Wait()
	if b.most.Load() != 1 || b.asked.Load() != 200 {
		t.Errorf("%d at one time, %d asked; want 1 and 200", b.most.Load(), b.asked.Load())
	}
}

// A raw server answers what the library's own never would.
func TestAnswersThatAreNone(t *testing.T) {
	for _, c := range []struct {
		name   string
		answer []byte // after the transaction's two bytes
		want   error
	}{
		{"one word too many", []byte{0, 0, 0, 7, 1, 3, 4, 0, 1, 0, 2}, device.ErrFormat},
		{"a count that is not its length", []byte{0, 0, 0, 5, 1, 3, 6, 0, 1}, device.ErrFormat},
		{"another function", []byte{0, 0, 0, 5, 1, 4, 2, 0, 1}, device.ErrFormat},
		{"half an answer", []byte{0, 0, 0, 5, 1, 3}, device.ErrAbsent},
		{"nothing", nil, device.ErrAbsent},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := net.Listen("tcp", "127.0.0.1:0")
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			go func() {
				for {
					conn, err := l.Accept()
					if err != nil {
						return
					}
					ask := make([]byte, 12)
					if _, err := io.ReadFull(conn, ask); err == nil && c.answer != nil {
						conn.Write(append(ask[:2:2], c.answer...))
					}
					conn.Close()
				}
			}()
			p := NewProbe(openBus(t, NewBuses(), "tcp://"+l.Addr().String()), ProbeOptions{Name: "lower/air", Unit: 1})
			if v, err := p.Read(t.Context()); !errors.Is(err, c.want) {
				t.Errorf("got %v, %v; want %v", v, err, c.want)
			}
			if p.bus.client != nil {
				t.Error("the connection is kept")
			}
		})
	}
}

func TestASerialPortThatIsMissing(t *testing.T) {
	p := NewProbe(openBus(t, NewBuses(), "rtu:///dev/loambank-none?speed=9600&parity=none"), ProbeOptions{Name: "lower/air", Unit: 1})
	if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.HasPrefix(err.Error(), "probe lower/air at /dev/loambank-none unit 1 holding 0: ") {
		t.Errorf("got %v; want ErrAbsent with the port", err)
	}
}

func TestOneLineHasOneSpeed(t *testing.T) {
	all := NewBuses()
	openBus(t, all, "rtu:///dev/ttyUSB0?speed=9600")
	link, _ := ParseLink("rtu:///dev/ttyUSB0")
	if _, err := all.Open(link); err == nil || !strings.Contains(err.Error(), "another speed") {
		t.Errorf("got %v; want the other speed refused", err)
	}
}
