package find

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/txtar"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/onewire"

	"loambank/drivers/chip"
	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// tree writes the board's files and returns a finder for them whose waits take no time.
func tree(t *testing.T) (*Finder, string) {
	t.Helper()
	a, err := txtar.ParseFile("testdata/board.txtar")
	if err != nil {
		t.Fatal(err)
	}
	root := t.TempDir()
	if err := txtar.Write(a, root); err != nil {
		t.Fatal(err)
	}
	driver := filepath.Join(root, "sys/bus/i2c/drivers/bme280")
	mustWrite(t, filepath.Join(driver, "bind"), "")
	if err := os.Symlink(driver, filepath.Join(root, "sys/bus/i2c/devices/1-0077/driver")); err != nil {
		t.Fatal(err)
	}
	return finder(root), root
}

func finder(root string) *Finder {
	f := New(filepath.Join(root, "sys"), filepath.Join(root, "dev"))
	f.sleep = func(ctx context.Context, _ time.Duration) error { return ctx.Err() }
	return f
}

// at returns the only thing found at a place, of that measure.
func at(t *testing.T, r Report, place string, m Measure) Found {
	t.Helper()
	var found []Found
	for _, f := range r.Found {
		if f.At == place && f.Measure == m {
			found = append(found, f)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%d things at %s tell %v, want 1; found %+v", len(found), place, m, r.Found)
	}
	return found[0]
}

// wireBus is a 1-Wire bus that is only searched.
type wireBus struct {
	there []onewire.Address
	fail  error
	open  int
}

func (w *wireBus) String() string                         { return "OneWire1" }
func (w *wireBus) Close() error                           { w.open--; return nil }
func (w *wireBus) Search(bool) ([]onewire.Address, error) { return w.there, w.fail }
func (w *wireBus) Tx(_, _ []byte, _ onewire.Pullup) error { return errors.New("nothing may be sent") }

func (f *Finder) withWires(names ...string) (wires []*wireBus) {
	var all []bus[onewire.BusCloser]
	for _, name := range names {
		w := &wireBus{}
		wires = append(wires, w)
		all = append(all, bus[onewire.BusCloser]{name, func(context.Context) (onewire.BusCloser, error) { w.open++; return w, nil }})
	}
	f.wires = func(context.Context) ([]bus[onewire.BusCloser], error) { return all, nil }
	return wires
}

// chipBus is an I²C bus with chips that answer orders, by their bytes in hexadecimal; "" answers a
// read without one. What is not in the list is not acknowledged.
type chipBus struct {
	chiptest.Bus
	answers map[uint16]map[string][]byte
	told    map[uint16][]string // orders that were sent, acknowledged or not
	after   map[uint16]string   // the order that the next bare read answers
	fault   error
	counts  bool // the second byte of an answer rises with each
	open    int
}

func (b *chipBus) Close() error { b.open--; return nil }

func (b *chipBus) Tx(addr uint16, w, r []byte) error {
	order := fmt.Sprintf("%x", w)
	if len(w) > 0 {
		b.told[addr] = append(b.told[addr], order)
	} else {
		order = b.after[addr]
	}
	if b.fault != nil {
		return b.fault
	}
	answer, is := b.answers[addr][order]
	if !is || len(r) > 0 && len(answer) < len(r) {
		return fmt.Errorf("%w: no chip acknowledges", device.ErrAbsent)
	}
	copy(r, answer)
	if b.counts {
		answer[1]++
	}
	if len(r) == 0 {
		b.after[addr] = order
	}
	return nil
}

func (f *Finder) withChips(name string, answers map[uint16]map[string][]byte) *chipBus {
	b := &chipBus{answers: answers, told: map[uint16][]string{}, after: map[uint16]string{}}
	f.chips = func(context.Context) ([]bus[i2c.BusCloser], error) {
		return []bus[i2c.BusCloser]{{name, func(context.Context) (i2c.BusCloser, error) { b.open++; return b, nil }}}, nil
	}
	return b
}

// words returns words with their checksums.
func words(w ...uint16) []byte {
	var b []byte
	for _, v := range w {
		pair := []byte{byte(v >> 8), byte(v)}
		b = append(b, append(pair, chip.CRC8(pair))...)
	}
	return b
}

func mustWrite(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
