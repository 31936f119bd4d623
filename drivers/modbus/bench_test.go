package modbus

import (
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	wire "github.com/simonvetter/modbus"
)

// bench is a station on loopback that keeps words and bits.
type bench struct {
	sync.Mutex
	words  map[uint16]uint16
	bits   map[uint16]bool
	stuck  bool          // takes no orders
	slow   time.Duration // to answer
	refuse error

	running, most atomic.Int32
	asked         atomic.Int32

	url    string
	server *wire.ModbusServer
}

func newBench(t *testing.T) *bench {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{words: map[uint16]uint16{}, bits: map[uint16]bool{}, url: "tcp://" + l.Addr().String()}
	l.Close()
	b.start(t)
	t.Cleanup(b.stop)
	return b
}

func (b *bench) start(t *testing.T) {
	t.Helper()
	s, err := wire.NewServer(&wire.ServerConfiguration{URL: b.url, Timeout: 30 * time.Second, MaxClients: 8, Logger: silent}, b)
	if err == nil {
		err = s.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	b.server = s
}

func (b *bench) stop() {
	if b.server != nil {
		b.server.Stop()
	}
	b.server = nil
}

// enter counts calls that are answered at one time.
func (b *bench) enter() (leave func(), err error) {
	b.asked.Add(1)
	b.most.Store(max(b.most.Load(), b.running.Add(1)))
	b.Lock()
	slow, refuse := b.slow, b.refuse
	b.Unlock()
	if slow > 0 {
		<-time.After(slow)
	}
	b.Lock()
	return func() { b.Unlock(); b.running.Add(-1) }, refuse
}

func (b *bench) HandleCoils(r *wire.CoilsRequest) ([]bool, error) {
	leave, err := b.enter()
	defer leave()
	var out []bool
	for i := range r.Quantity {
		at := r.Addr + i
		if err == nil && r.IsWrite && !b.stuck {
			b.bits[at] = r.Args[i]
		}
		out = append(out, b.bits[at])
	}
	return out, err
}

func (b *bench) HandleDiscreteInputs(r *wire.DiscreteInputsRequest) ([]bool, error) {
	leave, err := b.enter()
	defer leave()
	return []bool{b.bits[1000+r.Addr]}, err
}

func (b *bench) HandleHoldingRegisters(r *wire.HoldingRegistersRequest) ([]uint16, error) {
	leave, err := b.enter()
	defer leave()
	var out []uint16
	for i := range r.Quantity {
		at := uint16(r.UnitId)<<8 + r.Addr + i
		if err == nil && r.IsWrite && !b.stuck {
			b.words[at] = r.Args[i]
		}
		out = append(out, b.words[at])
	}
	return out, err
}

func (b *bench) HandleInputRegisters(r *wire.InputRegistersRequest) ([]uint16, error) {
	leave, err := b.enter()
	defer leave()
	var out []uint16
	for i := range r.Quantity {
		out = append(out, b.words[0x8000+r.Addr+i])
	}
	return out, err
}

func (b *bench) set(at, v uint16) {
	b.Lock()
	defer b.Unlock()
	b.words[at] = v
}

func (b *bench) word(at uint16) uint16 {
	b.Lock()
	defer b.Unlock()
	return b.words[at]
}

func openBus(t *testing.T, all *Buses, url string) *Bus {
	t.Helper()
	link, err := ParseLink(url)
	if err != nil {
		t.Fatal(err)
	}
	bus, err := all.Open(link)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { bus.Close() })
	return bus
}
