package chip_test

import (
	"context"
	"errors"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"loambank/drivers/chip"
	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

func TestChecksumsOfWords(t *testing.T) {
	for _, row := range chiptest.Rows(t, "Sensirion CRC-8") { // sensors-S023 to S031
		b := row.Hex(t, "bytes")
		row.Inputs["crc"] = map[string]string{
			"sensors-S023": "92", "sensors-S024": "9C", "sensors-S025": "81", "sensors-S026": "A2", "sensors-S027": "3C",
			"sensors-S028": "A2", "sensors-S029": "AC", "sensors-S030": "EC", "sensors-S031": "03",
		}[row.ID]
		if want := row.Hex(t, "crc")[0]; chip.CRC8(b) != want {
			t.Errorf("%s: % x has the checksum %02x; want %02x", row.ID, b, chip.CRC8(b), want)
		}
	}
}

func TestWords(t *testing.T) {
	good := []byte{0xbe, 0xef, 0x92, 0x00, 0x66, 0x9c} // sensors-S023, S024
	words, err := chip.Words(good)
	if err != nil || len(words) != 2 || words[0] != 0xbeef || words[1] != 0x0066 {
		t.Errorf("%04x, %v; want beef 0066", words, err)
	}
	for bit := range 48 { // a checksum of 8 bits finds every single wrong one
		torn := append([]byte(nil), good...)
		torn[bit/8] ^= 1 << (bit % 8)
		if words, err := chip.Words(torn); words != nil || !errors.Is(err, device.ErrCRC) {
			t.Errorf("with bit %d wrong: %04x, %v; want ErrCRC", bit, words, err)
		}
	}
	if words, err := chip.Words(good[:5]); words != nil || !errors.Is(err, device.ErrFormat) {
		t.Errorf("a byte short: %04x, %v; want ErrFormat", words, err)
	}
	if words, err := chip.Words([]byte{0xff, 0xff, 0xff}); words != nil || !errors.Is(err, device.ErrAbsent) {
		t.Errorf("an idle wire: %04x, %v; want ErrAbsent", words, err)
	}
}

func TestAddresses(t *testing.T) {
	for addr, good := range map[uint16]bool{0x07: false, 0x08: true, 0x44: true, 0x77: true, 0x78: false, 0: false, 0x144: false} {
		c, err := chip.New(chiptest.Bus(nil), addr, chip.Options{What: "probe", Name: "lower/air"})
		if (err == nil) != good || (c != nil) != good {
			t.Errorf("0x%02x: %v; want it taken %v", addr, err, good)
		}
		if err != nil && !strings.HasPrefix(err.Error(), "probe lower/air at 0x") {
			t.Errorf("0x%02x: %v; want the probe, address and bus", addr, err)
		}
	}
}

// exclusive is a bus that keeps a chip for one user, and is closed.
type exclusive struct {
	chiptest.Bus
	held, released atomic.Int32
	closed         int
	deny           error
}

func (e *exclusive) Hold(context.Context, uint16) (func(), error) {
	if e.deny != nil {
		return nil, e.deny
	}
	e.held.Add(1)
	return func() { e.released.Add(1) }, nil
}

func (e *exclusive) Close() error { e.closed++; return nil }

func newChip(t *testing.T, e *exclusive) *chip.Chip {
	t.Helper()
	c, err := chip.New(e, 0x44, chip.Options{What: "probe", Name: "lower/air"})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestAUseHoldsTheChipAndNamesTheDevice(t *testing.T) {
	fault := errors.New("torn")
	e := &exclusive{Bus: func(uint16, []byte, []byte) error { return fault }}
	c := newChip(t, e)
	v, err := c.Do(t.Context(), func(ctx context.Context) (float64, error) {
		if e.held.Load() != 1 || e.released.Load() != 0 {
			t.Errorf("within the use it is held %d times and released %d times; want once, not", e.held.Load(), e.released.Load())
		}
		return 1, c.Tx(ctx, []byte{1}, nil)
	})
	if want := "probe lower/air at 0x44 on I2C1: torn"; v != 0 || !errors.Is(err, fault) || err.Error() != want {
		t.Errorf("got %v, %v; want %s", v, err, want)
	}
	if e.released.Load() != 1 {
		t.Errorf("released %d times; want once", e.released.Load())
	}
	e.deny = device.ErrBusy
	if _, err := c.Do(t.Context(), nil); !errors.Is(err, device.ErrBusy) {
		t.Errorf("a chip that another has: %v; want ErrBusy", err)
	}
	e.deny = nil
	last := 0
	use := func(context.Context) (float64, error) { last++; return 0, nil }
	if err := errors.Join(c.Close(use), c.Close(use)); err != nil || last != 1 || e.closed != 1 || e.released.Load() != 2 {
		t.Errorf("%v; used %d times, closed %d times, released %d times; want once, once, twice", err, last, e.closed, e.released.Load())
	}
	if _, err := c.Do(t.Context(), use); !errors.Is(err, os.ErrClosed) || last != 1 {
		t.Errorf("after Close: %v; want ErrClosed", err)
	}
}

func TestAHangingUseIsLeftBehindOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		free := make(chan struct{})
		e := &exclusive{Bus: func(uint16, []byte, []byte) error { <-free; return nil }}
		c := newChip(t, e)
		use := func(ctx context.Context) (float64, error) { return 21, c.Tx(ctx, nil, []byte{0}) }
		start := time.Now()
		if _, err := c.Do(t.Context(), use); !errors.Is(err, context.DeadlineExceeded) || time.Since(start) != 5*time.Second {
			t.Errorf("got %v after %v; want the deadline after 5 s", err, time.Since(start))
		}
		if _, err := c.Do(t.Context(), use); !errors.Is(err, device.ErrBusy) || e.held.Load() != 1 {
			t.Errorf("the next: %v, held %d times; want ErrBusy at once", err, e.held.Load())
		}
		close(free)
		synctest.Wait()
		if v, err := c.Do(t.Context(), use); v != 21 || err != nil {
			t.Errorf("once it came back: %v, %v; want 21", v, err)
		}
	})
}

func TestAWaitEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newChip(t, &exclusive{})
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		start := time.Now()
		if err := c.Sleep(ctx, time.Hour); !errors.Is(err, context.DeadlineExceeded) || time.Since(start) != time.Second {
			t.Errorf("got %v after %v; want the deadline after 1 s", err, time.Since(start))
		}
		if err := c.Sleep(t.Context(), time.Minute); err != nil || time.Since(start) != 61*time.Second {
			t.Errorf("got %v after %v; want a minute more", err, time.Since(start))
		}
		if err := c.Tx(ctx, []byte{1}, nil); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("a transfer that comes too late: %v; want the deadline", err)
		}
	})
}
