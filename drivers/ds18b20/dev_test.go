package ds18b20

import (
	"context"
	"errors"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewiretest"

	"loambank/drivers/device"
)

const soilID = "28-0000075a1c01"

// pad returns the answer of nine bytes that ends in its checksum.
func pad(b ...byte) []byte { return append(b, onewire.CalcCRC(b)) }

var (
	warm    = pad(0x91, 0x01, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10) // 25.0625 °C, sensors-S005
	cold    = pad(0x5e, 0xff, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10) // -10.125 °C, sensors-S011
	fresh   = pad(0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10) // after power-on, sensors-S015
	nothing = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}
	zero    = make([]byte, 9)
)

func address(t *testing.T, id string) onewire.Address {
	t.Helper()
	a, err := ParseID(id)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// traffic writes down what goes over the wire to and from one chip.
type traffic struct {
	rom []byte
	ops []onewiretest.IO
}

func with(t *testing.T, id string) *traffic {
	return &traffic{rom: wire(uint64(address(t, id)))}
}

func (f *traffic) op(answer []byte, command ...byte) *traffic {
	w := append([]byte{0x55}, f.rom...)
	f.ops = append(f.ops, onewiretest.IO{W: append(w, command...), R: answer})
	return f
}

func (f *traffic) pad(answer []byte) *traffic { return f.op(answer, 0xbe) }
func (f *traffic) convert() *traffic          { return f.op(nil, 0x44) }
func (f *traffic) powered() *traffic          { return f.op([]byte{0xff}, 0xb4) }

func (f *traffic) search() *traffic {
	f.ops = append(f.ops, onewiretest.IO{W: []byte{0xf0}})
	return f
}

func (f *traffic) bus(found ...onewire.Address) *onewiretest.Playback {
	return &onewiretest.Playback{Ops: f.ops, Devices: found, DontPanic: true}
}

func open(t *testing.T, bus onewire.Bus, id string, bits int) *Dev {
	t.Helper()
	d, err := New(bus, address(t, id), Opts{Name: "lower/soil", Resolution: bits})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

type answer struct {
	value float64
	err   error
	says  string // in the error
}

func TestReads(t *testing.T) {
	set9 := pad(0x5f, 0xff, 0x4b, 0x46, 0x1f, 0xff, 0x0c, 0x10)
	old := "10-000802b4f1d2"
	tests := []struct {
		name string
		id   string
		bits int
		play func(*traffic)
		want []answer
		took time.Duration
	}{
		{"met once, then measured each time", soilID, 0, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(warm).convert().pad(cold)
		}, []answer{{25.0625, nil, ""}, {-10.125, nil, ""}}, 1500 * time.Millisecond},
		{"a DS1822", "22-0000005c3a7b", 12, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(warm)
		}, []answer{{25.0625, nil, ""}}, 750 * time.Millisecond},
		{"a DS18S20 with its counter", old, 0, func(f *traffic) {
			p := pad(0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x04, 0x10)
			f.pad(p).powered().convert().pad(p)
		}, []answer{{25.5, nil, ""}}, 750 * time.Millisecond},
		{"another resolution is set, and takes its own time", soilID, 9, func(f *traffic) {
			f.pad(warm).powered().op(nil, 0x4e, 0x4b, 0x46, 0x1f).convert().pad(set9)
		}, []answer{{-10.5, nil, ""}}, 93750 * time.Microsecond}, // sensors-S018
		{"the resolution it has is not set again", soilID, 9, func(f *traffic) {
			f.pad(set9).powered().convert().pad(set9)
		}, []answer{{-10.5, nil, ""}}, 93750 * time.Microsecond},
		{"a resolution lost with its power is set again", soilID, 9, func(f *traffic) {
			f.pad(set9).powered().convert().pad(warm).
				pad(warm).powered().op(nil, 0x4e, 0x4b, 0x46, 0x1f).convert().pad(set9)
		}, []answer{{0, device.ErrPowerOn, "answers in 12 bits where 9 were set"}, {-10.5, nil, ""}}, 187500 * time.Microsecond},
		{"the power-on value after a measurement is refused", soilID, 0, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(fresh)
		}, []answer{{0, device.ErrPowerOn, "85.000 °C"}}, 750 * time.Millisecond},
		{"not there at first, then plugged in", soilID, 0, func(f *traffic) {
			f.pad(nothing).pad(fresh).powered().convert().pad(warm)
		}, []answer{{0, device.ErrAbsent, "nothing drives the wire"}, {25.0625, nil, ""}}, 750 * time.Millisecond},
		{"unplugged between two reads and plugged back", soilID, 0, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(warm).
				convert().pad(nothing).
				pad(fresh).powered().convert().pad(cold)
		}, []answer{{25.0625, nil, ""}, {0, device.ErrAbsent, ""}, {-10.125, nil, ""}}, 2250 * time.Millisecond},
		{"a damaged answer is met afresh", soilID, 0, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(append(warm[:8:8], warm[8]^0x10)).
				pad(warm).powered().convert().pad(warm)
		}, []answer{{0, device.ErrCRC, "91 01 4b"}, {25.0625, nil, ""}}, 1500 * time.Millisecond},
		{"an answer torn in its middle", soilID, 0, func(f *traffic) {
			f.pad(append(warm[:4:4], 0xff, 0xff, 0xff, 0xff, 0xff))
		}, []answer{{0, device.ErrCRC, ""}}, 0},
		{
			"a shorted wire is no parasite", soilID, 0, func(f *traffic) { f.pad(zero) },
			[]answer{{0, device.ErrFormat, "shorted wire"}},
			0,
		},
		{"a wire that is shorted during the measurement", soilID, 0, func(f *traffic) {
			f.pad(fresh).powered().convert().pad(zero)
		}, []answer{{0, device.ErrFormat, "shorted wire"}}, 750 * time.Millisecond},
		{"power from the data wire is refused", soilID, 0, func(f *traffic) {
			f.pad(fresh).op([]byte{0xfe}, 0xb4)
		}, []answer{{0, nil, "connect its supply pin to 3.3 V or 5 V"}}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := with(t, tt.id)
				tt.play(f)
				d := open(t, f.bus(), tt.id, tt.bits)
				start := time.Now()
				for i, want := range tt.want {
					v, err := d.Read(t.Context())
					check(t, i, v, err, want, tt.id)
				}
				if took := time.Since(start); took != tt.took {
					t.Errorf("it took %v; want %v", took, tt.took)
				}
				if err := d.Close(); err != nil { // says what was not played
					t.Error(err)
				}
			})
		})
	}
}

func check(t *testing.T, i int, v float64, err error, want answer, id string) {
	t.Helper()
	if want.err == nil && want.says == "" {
		if err != nil || v != want.value {
			t.Errorf("read %d: %g, %v; want %g", i, v, err, want.value)
		}
		return
	}
	if err == nil || v != 0 || want.err != nil && !errors.Is(err, want.err) {
		t.Fatalf("read %d: %g, %v; want %v", i, v, err, want.err)
	}
	for _, part := range []string{"probe lower/soil at " + id + " on playback: ", want.says} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("read %d: %q does not say %q", i, err, part)
		}
	}
}

type busError struct{ none, short bool }

func (e busError) Error() string   { return "status 255" }
func (e busError) NoDevices() bool { return e.none }
func (e busError) IsShorted() bool { return e.short }

// faulty is a bus whose transactions fail, while its search goes on.
type faulty struct {
	onewiretest.Playback
	err error
}

func (b *faulty) Tx(w, r []byte, p onewire.Pullup) error {
	if w[0] == 0xf0 {
		return b.Playback.Tx(w, r, p)
	}
	return b.err
}

func TestBusFaults(t *testing.T) {
	soil, other := address(t, soilID), address(t, "28-0000075a1c02")
	plain := errors.New("status 255")
	search := with(t, soilID).search().ops
	tests := []struct {
		name  string
		err   error
		ops   []onewiretest.IO
		found []onewire.Address
		want  error // besides err itself
		not   error
		says  string
	}{
		{"the bus says that nobody is there", busError{none: true}, nil, nil, device.ErrAbsent, nil, ""},
		{"the bus says that it is shorted", busError{short: true}, nil, nil, nil, device.ErrAbsent, "shorted to ground"},
		{"the bus says neither, and a search finds the probe", busError{}, append(search, search...), []onewire.Address{soil}, nil, device.ErrAbsent, "on playback: status 255"},
		{"a search finds an empty bus", plain, search, nil, device.ErrAbsent, nil, "finds 0 others"},
		{"a search finds another probe only", plain, append(search, search...), []onewire.Address{other}, device.ErrAbsent, nil, "finds 1 others"},
		{"a search finds the probe", plain, append(search, search...), []onewire.Address{soil}, nil, device.ErrAbsent, "status 255"},
		{"the search fails too", plain, search[:0], nil, nil, device.ErrAbsent, "status 255"},
		{"a bus that hangs is not searched", context.DeadlineExceeded, nil, nil, nil, device.ErrAbsent, ""},
		{"nor one that is busy", device.ErrBusy, nil, nil, nil, device.ErrAbsent, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			bus := &searcher{faulty: &faulty{onewiretest.Playback{Ops: tt.ops, Devices: tt.found, DontPanic: true}, tt.err}}
			d := open(t, bus, soilID, 0)
			_, err := d.Read(t.Context())
			if !errors.Is(err, tt.err) || tt.want != nil && !errors.Is(err, tt.want) || tt.not != nil && errors.Is(err, tt.not) {
				t.Errorf("got %v; want %v and %v, not %v", err, tt.err, tt.want, tt.not)
			}
			if !strings.Contains(err.Error(), tt.says) || !strings.Contains(err.Error(), soilID) {
				t.Errorf("%q does not say %q and the id", err, tt.says)
			}
			if want := tt.ops != nil; (bus.searches == 1) != want {
				t.Errorf("the bus was searched %d times; want it searched: %v", bus.searches, want)
			}
		})
	}
}

// searcher lets the search of playback go through the faulty bus.
type searcher struct {
	*faulty
	searches int
}

func (b *searcher) Search(alarmOnly bool) ([]onewire.Address, error) {
	b.searches++
	if len(b.Devices) == 0 {
		return nil, b.Tx([]byte{0xf0}, nil, onewire.WeakPullup)
	}
	return b.Playback.Search(alarmOnly)
}

func TestNewRefuses(t *testing.T) {
	tests := []struct {
		name string
		addr onewire.Address
		bits int
		want string
	}{
		{"another kind of chip", address(t, "26-0000075a1c01"), 0, "family 26 is no thermometer of this kind"},
		{"an address whose checksum is wrong", address(t, soilID) ^ 1<<56, 0, device.ErrCRC.Error()},
		{"too few bits", address(t, soilID), 8, "no resolution of 8 bits"},
		{"too many bits", address(t, soilID), 13, "no resolution of 13 bits"},
		{"a resolution for the older chip", address(t, "10-000802b4f1d2"), 9, "a DS18S20 has 12 only"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := New(&onewiretest.Playback{DontPanic: true}, tt.addr, Opts{Name: "lower/soil", Resolution: tt.bits})
			if d != nil || err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "probe lower/soil at ") {
				t.Errorf("got %v, %v; want %q", d, err, tt.want)
			}
		})
	}
}

func TestReadHonoursItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := open(t, with(t, soilID).pad(fresh).powered().convert().bus(), soilID, 0)
		ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
		defer cancel()
		start := time.Now()
		_, err := d.Read(ctx)
		if !errors.Is(err, context.DeadlineExceeded) || time.Since(start) != 100*time.Millisecond {
			t.Errorf("got %v after %v; want the deadline after 100 ms", err, time.Since(start))
		}
		synctest.Wait()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
		if _, err := d.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
			t.Errorf("after Close: %v; want ErrClosed", err)
		}
	})
}

// closing is a bus that counts how often it is closed.
type closing struct {
	onewiretest.Playback
	closed int
}

var errUnplayed = errors.New("unplayed")

func (b *closing) Close() error { b.closed++; return errUnplayed }

func TestCloseLetsTheBusGoOnce(t *testing.T) {
	bus := &closing{}
	d := open(t, bus, soilID, 0)
	if err := d.Close(); !errors.Is(err, errUnplayed) || !strings.HasPrefix(err.Error(), "probe lower/soil at ") {
		t.Errorf("got %v; want the bus's error and the name", err)
	}
	if err := d.Close(); err != nil || bus.closed != 1 {
		t.Errorf("closed twice: %v, the bus %d times; want once", err, bus.closed)
	}
	// A bus that cannot be closed is somebody else's.
	if err := open(t, struct{ onewire.Bus }{bus}, soilID, 0).Close(); err != nil || bus.closed != 1 {
		t.Errorf("a bus without Close: %v, closed %d times", err, bus.closed)
	}
}

// stuck is a bus that answers only once it is let go.
type stuck struct {
	onewiretest.Playback
	free  chan struct{}
	calls atomic.Int32
}

func (b *stuck) Tx(w, r []byte, p onewire.Pullup) error {
	b.calls.Add(1)
	<-b.free
	return b.Playback.Tx(w, r, p)
}

func TestAHangingBusCostsOneCall(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ops := with(t, soilID).pad(fresh).pad(fresh).powered().convert().pad(warm).ops
		bus := &stuck{Playback: onewiretest.Playback{Ops: ops, DontPanic: true}, free: make(chan struct{})}
		d := open(t, bus, soilID, 0)
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := d.Read(ctx); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("the first: %v; want the deadline", err)
		}
		for range 10 {
			if _, err := d.Read(t.Context()); !errors.Is(err, device.ErrBusy) {
				t.Errorf("the next: %v; want ErrBusy", err)
			}
		}
		if bus.calls.Load() != 1 {
			t.Errorf("%d calls hang; want 1", bus.calls.Load())
		}
		close(bus.free)
		synctest.Wait()
		if bus.calls.Load() != 1 {
			t.Errorf("the call that came back too late made %d more", bus.calls.Load()-1)
		}
		if v, err := d.Read(t.Context()); v != 25.0625 || err != nil {
			t.Errorf("once the bus answers: %g, %v; want 25.0625", v, err)
		}
	})
}
