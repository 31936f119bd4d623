package drivers

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewirereg"

	"loambank/drivers/device"
	"loambank/drivers/ds18b20"
)

// soilWire is a 1-Wire bus with thermometers, each with a temperature in sixteenths of a degree.
// Like the chips themselves it needs 750 ms from the order to the value.
type soilWire struct {
	sync.Mutex
	chips  map[onewire.Address]*soilChip
	opened int
}

type soilChip struct {
	sixteenths int16
	ready      time.Time // of the measurement; zero before the first
}

func (w *soilWire) open() (onewire.BusCloser, error) {
	w.Lock()
	defer w.Unlock()
	w.opened++
	return w, nil
}

func (w *soilWire) String() string { return "soil wire" }

func (w *soilWire) Close() error {
	w.Lock()
	defer w.Unlock()
	w.opened--
	return nil
}

func (w *soilWire) Search(bool) ([]onewire.Address, error) { return nil, errors.New("not searched") }

func (w *soilWire) Tx(out, in []byte, _ onewire.Pullup) error {
	time.Sleep(15 * time.Millisecond) // what some 20 bytes take
	w.Lock()
	defer w.Unlock()
	for i := range in {
		in[i] = 0xff
	}
	if len(out) < 10 || out[0] != 0x55 {
		return errors.New("nobody is addressed")
	}
	c := w.chips[onewire.Address(binary.LittleEndian.Uint64(out[1:]))]
	switch {
	case c == nil:
	case bytes.Equal(out[9:], []byte{0x44}):
		c.ready = time.Now().Add(750 * time.Millisecond)
	case bytes.Equal(out[9:], []byte{0xbe}):
		v := int16(85 * 16)
		if !c.ready.IsZero() && !time.Now().Before(c.ready) {
			v = c.sixteenths
		}
		b := []byte{byte(v), byte(uint16(v) >> 8), 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}
		copy(in, append(b, onewire.CalcCRC(b)))
	}
	return nil
}

func TestTenThermometersOnOneWireMeasureTogether(t *testing.T) {
	w := &soilWire{chips: map[onewire.Address]*soilChip{}}
	if err := onewirereg.Register("soil wire", nil, -1, w.open); err != nil {
		t.Fatal(err)
	}
	defer onewirereg.Unregister("soil wire")
	synctest.Test(t, func(t *testing.T) {
		var probes []Probe
		for i := range 10 {
			id := "28-0000075a1c0" + string(rune('0'+i))
			addr, err := ds18b20.ParseID(id)
			if err != nil {
				t.Fatal(err)
			}
			if i != 9 {
				w.chips[addr] = &soilChip{sixteenths: int16(160 + i)}
			}
			p, err := OpenProbe(t.Context(), Stanza{Name: "lower/soil", Driver: "ds18b20", ID: id, Bus: "soil wire", Scale: 2, Offset: -1})
			if err != nil {
				t.Fatal(err)
			}
			probes = append(probes, p)
		}
		for range 2 {
			start := time.Now()
			var wait sync.WaitGroup
			for i, p := range probes {
				wait.Go(func() {
					v, err := p.Read(t.Context())
					if want := 2*float64(160+i)/16 - 1; i != 9 && (v != want || err != nil) {
						t.Errorf("probe %d reads %g, %v; want %g, scaled and offset", i, v, err, want)
					}
					if i == 9 && !errors.Is(err, device.ErrAbsent) {
						t.Errorf("the absent probe reads %g, %v; want ErrAbsent", v, err)
					}
				})
			}
			wait.Wait()
			if took := time.Since(start); took > 1500*time.Millisecond {
				t.Errorf("it took %v; want the measurements at one time", took)
			}
		}
		for i, p := range probes {
			if w.opened != 1 {
				t.Errorf("before probe %d goes the bus is open %d times; want once", i, w.opened)
			}
			if err := errors.Join(p.Close(), p.Close()); err != nil {
				t.Error(err)
			}
		}
		if w.opened != 0 {
			t.Errorf("after the last probe the bus is open %d times", w.opened)
		}
		_, err := OpenProbe(t.Context(), Stanza{Where: "farm.toml:9", Name: "lower/soil", Driver: "ds18b20", ID: "26-0000075a1c01", Bus: "soil wire"})
		if err == nil || !strings.HasPrefix(err.Error(), "farm.toml:9: probe lower/soil at 26-0000075a1c01 on soil wire: family 26 is no thermometer") || w.opened != 0 {
			t.Errorf("another kind of chip: %v, bus open %d times; want it refused and the bus closed", err, w.opened)
		}
	})
}

// TestBoardRefuses runs where there are no GPIO chips and no 1-Wire bus, as on a build server.
func TestBoardRefuses(t *testing.T) {
	if chips, _ := filepath.Glob("/dev/gpiochip*"); len(chips) > 0 {
		t.Skip("this machine has GPIO chips")
	}
	if _, err := os.Stat("/sys/bus/w1"); err == nil {
		t.Skip("this machine has 1-Wire")
	}
	tests := []struct {
		name string
		s    Stanza
		fan  bool
		is   error
		want string
	}{
		{
			"a relay",
			Stanza{Where: "farm.toml:4", Name: "east", Driver: "relay", Pin: "GPIO17", Levels: []float64{1}},
			true, ErrAbsent,
			`farm.toml:4: fan east: the device is not there: no GPIO line named "GPIO17"; this machine has no gpiochip`,
		},
		{
			"a relay with speeds",
			Stanza{Name: "east", Driver: "relay", Pin: "GPIO17", Levels: []float64{0.5, 1}},
			true, nil,
			"fan east: a relay has no levels [0.5 1]; it is off or at full speed",
		},
		{
			"a relay for each speed",
			Stanza{Name: "east", Driver: "relay", Pins: []string{"GPIO17", "GPIO18"}, Levels: []float64{0.5, 1}},
			true, ErrAbsent,
			`fan east: the device is not there: no GPIO line named "GPIO17"; this machine has no gpiochip`,
		},
		{
			"a relay for each of other speeds",
			Stanza{Name: "east", Driver: "relay", Pins: []string{"GPIO17", "GPIO18"}, Levels: []float64{1}},
			true, nil,
			"fan east: 2 pins do not suit levels [1]; each speed has its own relay",
		},
		{
			"a meter",
			Stanza{Name: "power", Driver: "pulse", Pin: "GPIO23", PerKWh: 1000},
			false, ErrAbsent,
			`probe power: the device is not there: no GPIO line named "GPIO23"; this machine has no gpiochip`,
		},
		{
			"a contact",
			Stanza{Name: "smoke", Driver: "contact", Pin: "gpiochip0:4"},
			false, ErrAbsent,
			"probe smoke: gpiochip0: the device is not there: no such file or directory",
		},
		{
			"a thermometer",
			Stanza{Name: "soil", Driver: "ds18b20", ID: "28-0000075a1c01"},
			false, ErrAbsent,
			"probe soil: the device is not there: no 1-Wire bus; switch it on in the board's device tree (overlay w1-gpio) or plug its adapter in, and start again",
		},
		{
			"a thermometer without an id",
			Stanza{Name: "soil", Driver: "ds18b20"},
			false, nil,
			`probe soil: "" is not a 1-Wire id; it is written like 28-0000075a1c01, as /sys/bus/w1/devices shows it`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var err error
			var opened bool
			if tt.fan {
				var f Fan
				f, err = OpenFan(t.Context(), tt.s)
				opened = f != nil
			} else {
				var p Probe
				p, err = OpenProbe(t.Context(), tt.s)
				opened = p != nil
			}
			if opened || err == nil || err.Error() != tt.want || tt.is != nil && !errors.Is(err, tt.is) {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}
