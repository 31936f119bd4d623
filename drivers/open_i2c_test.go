package drivers

import (
	"errors"
	"math"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2creg"
	"periph.io/x/conn/v3/physic"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// airBus is an I²C bus with SHT4x chips, each of which measures for 8 ms and acknowledges nothing
// meanwhile.
type airBus struct {
	sync.Mutex
	t      *testing.T
	chips  map[uint16]*airChip
	opened int
	uses   int // under way
}

type airChip struct {
	temperature, humidity uint16
	ready                 time.Time
	asked                 bool
}

func (b *airBus) open() (i2c.BusCloser, error) {
	b.Lock()
	defer b.Unlock()
	b.opened++
	return b, nil
}

func (b *airBus) String() string                  { return "air bus" }
func (b *airBus) SetSpeed(physic.Frequency) error { return nil }

func (b *airBus) Close() error {
	b.Lock()
	defer b.Unlock()
	b.opened--
	return nil
}

func (b *airBus) Tx(addr uint16, w, r []byte) error {
	b.Lock()
	b.uses++
	if b.uses > 1 {
		b.t.Error("two transfers at once")
	}
	b.Unlock()
	time.Sleep(500 * time.Microsecond)
	b.Lock()
	defer b.Unlock()
	b.uses--
	c := b.chips[addr]
	if c == nil || time.Now().Before(c.ready) || len(r) > 0 && !c.asked {
		return errors.New("sysfs-i2c: remote I/O error")
	}
	if len(w) > 0 {
		c.asked, c.ready = true, time.Now().Add(8*time.Millisecond)
		return nil
	}
	c.asked = false
	for i, v := range []uint16{c.temperature, c.humidity} {
		word := []byte{byte(v >> 8), byte(v)}
		copy(r[3*i:], append(word, chip.CRC8(word)))
	}
	return nil
}

// Thirty-two probes, two for each quantity of eight chips, read at once: each gets its own chip's
// value, and no chip hears a second order before it has answered the first.
func TestManyProbesOnOneI2CBus(t *testing.T) {
	b := &airBus{t: t, chips: map[uint16]*airChip{}}
	if err := i2creg.Register("air bus", nil, -1, b.open); err != nil {
		t.Fatal(err)
	}
	defer i2creg.Unregister("air bus")
	synctest.Test(t, func(t *testing.T) {
		var probes []Probe
		want := make([]float64, 32)
		for i := range 32 {
			addr := uint16(0x40 + i%8)
			raw := uint16(0x6000 + 0x100*(i%8))
			b.chips[addr] = &airChip{temperature: raw, humidity: raw}
			s := Stanza{Name: "lower/air", Driver: "sht4x", Bus: "air bus", Address: addr, Quantity: device.Temperature}
			want[i] = -45 + 175*float64(raw)/65535 // as in sensors-S035
			if i%16 >= 8 {
				s.Quantity, want[i] = device.Humidity, -0.06+1.25*float64(raw)/65535 // as in sensors-S037
			}
			p, err := OpenProbe(t.Context(), s)
			if err != nil {
				t.Fatal(err)
			}
			probes = append(probes, p)
		}
		for range 3 {
			var wait sync.WaitGroup
			for i, p := range probes {
				wait.Go(func() {
					if v, err := p.Read(t.Context()); err != nil || math.Abs(v-want[i]) > 1e-9 {
						t.Errorf("%v reads %v, %v; want %v", p, v, err, want[i])
					}
				})
			}
			wait.Wait()
		}
		delete(b.chips, 0x43)
		if v, err := probes[3].Read(t.Context()); v != 0 || !errors.Is(err, ErrAbsent) || !strings.HasPrefix(err.Error(), "probe lower/air at 0x43 on air bus: ") {
			t.Errorf("a chip that was unplugged: %v, %v; want ErrAbsent, with probe, address and bus", v, err)
		}
		b.chips[0x43] = &airChip{temperature: 0x6300, humidity: 0x6300}
		if v, err := probes[3].Read(t.Context()); err != nil || math.Abs(v-want[3]) > 1e-9 {
			t.Errorf("plugged back: %v, %v; want %v", v, err, want[3])
		}
		if b.opened != 1 {
			t.Errorf("the bus is open %d times; want once", b.opened)
		}
		for _, p := range probes {
			if err := errors.Join(p.Close(), p.Close()); err != nil {
				t.Error(err)
			}
		}
		if b.opened != 0 {
			t.Errorf("after the last probe the bus is open %d times", b.opened)
		}
	})
}

func TestI2CStanzasThatAreRefusedLetTheBusGo(t *testing.T) {
	b := &airBus{t: t, chips: map[uint16]*airChip{}}
	if err := i2creg.Register("air bus", nil, -1, b.open); err != nil {
		t.Fatal(err)
	}
	defer i2creg.Unregister("air bus")
	for _, tt := range []struct {
		s    Stanza
		fan  bool
		want string
	}{
		{Stanza{Driver: "sht3x"}, false, "p at 0x44 on air bus: an SHT3x does not measure nothing"},
		{Stanza{Driver: "sht4x", Quantity: device.CO2}, false, "p at 0x44 on air bus: an SHT4x does not measure co2"},
		{Stanza{Driver: "sht3x", Quantity: device.Humidity, HeaterBurst: time.Hour}, false, "too weak"},
		{Stanza{Driver: "bme280", Quantity: device.CO2}, false, "p at 0x76 on air bus: a BME280 does not measure co2"},
		{Stanza{Driver: "scd4x", Quantity: device.Power}, false, "p at 0x62 on air bus: an SCD4x does not measure power"},
		{Stanza{Driver: "ads1115", Channel: 7}, false, "p at 0x48 on air bus: an ADS1115 has no input 7"},
		{Stanza{Driver: "ads1115", NTC: &NTC{}}, false, "no thermistor has"},
		{Stanza{Driver: "sht4x", Quantity: device.Humidity, Address: 3}, false, "p at 0x03 on air bus: no chip has that address"},
		{Stanza{Driver: "dac", Levels: []float64{0.5}}, true, "p at 0x60 on air bus: levels [0.5] must end in 1"},
		{Stanza{Driver: "dac"}, true, "p at 0x60 on air bus: the device is not there: no chip acknowledges"},
	} {
		tt.s.Name, tt.s.Bus, tt.s.Where = "p", "air bus", "farm.toml:7"
		var err error
		if tt.fan {
			_, err = OpenFan(t.Context(), tt.s)
		} else {
			_, err = OpenProbe(t.Context(), tt.s)
		}
		if err == nil || !strings.HasPrefix(err.Error(), "farm.toml:7: ") || !strings.Contains(err.Error(), tt.want) || b.opened != 0 {
			t.Errorf("%s: %v, bus open %d times; want %s, closed", tt.s.Driver, err, b.opened, tt.want)
		}
	}
}

func TestEveryI2CKindOpensAtItsUsualAddress(t *testing.T) {
	b := &airBus{t: t, chips: map[uint16]*airChip{}}
	if err := i2creg.Register("air bus", nil, -1, b.open); err != nil {
		t.Fatal(err)
	}
	defer i2creg.Unregister("air bus")
	for kind, want := range map[string]string{"sht3x": "0x44", "sht4x": "0x44", "bme280": "0x76", "scd4x": "0x62", "ads1115": "0x48"} {
		p, err := OpenProbe(t.Context(), Stanza{Name: "p", Driver: kind, Bus: "air bus", Quantity: device.Temperature, Scale: 2})
		if err != nil || p.String() != "probe p at "+want+" on air bus" {
			t.Errorf("%s: %v, %v; want it at %s, although it is not there yet", kind, p, err, want)
			continue
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
	if Address("relay") != 0 {
		t.Error("a relay has an address")
	}
	if buses, _ := filepath.Glob("/dev/i2c-*"); len(buses) > 0 {
		t.Skip("this machine has an I²C bus")
	}
	i2creg.Unregister("air bus")
	if _, err := OpenProbe(t.Context(), Stanza{Name: "p", Driver: "sht4x", Quantity: device.Humidity}); !errors.Is(err, ErrAbsent) || !strings.HasPrefix(err.Error(), "probe p: the device is not there: no I²C bus; ") {
		t.Errorf("no bus: %v; want ErrAbsent", err)
	}
	if err := i2creg.Register("air bus", nil, -1, b.open); err != nil { // for the deferred call
		t.Fatal(err)
	}
}
