package drivers

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"loambank/drivers/modbus"
)

func TestDevicesOfANetworkThatCannotBe(t *testing.T) {
	coil := modbus.Register{Table: modbus.Coil}
	for _, c := range []struct {
		name, want string
		s          Stanza
	}{
		{"no bus", "leads to no bus", Stanza{Driver: "modbus", URL: "http://h", Register: coil}},
		{"no values", "0 values do not suit 1 stages", Stanza{Driver: "modbus", URL: "tcp://127.0.0.1:1"}},
		{"a coil of two speeds", "2 values do not suit 2 stages", Stanza{Driver: "modbus", URL: "tcp://127.0.0.1:1", Register: coil, Levels: []float64{0.5, 1}}},
		{"values and a low level", "not a low level", Stanza{Driver: "modbus", URL: "tcp://127.0.0.1:1", ActiveLow: true, Values: []float64{0, 1}}},
		{"nobody at the bus", "connecting: ", Stanza{Driver: "modbus", URL: "tcp://127.0.0.1:1", Register: coil}},
		{"an order with a low level", "exchange the payloads", Stanza{Driver: "mqtt", URL: "mqtt://127.0.0.1:1", ActiveLow: true}},
		{"a payload too few", "2 payloads do not suit 2 stages", Stanza{Driver: "mqtt", URL: "mqtt://127.0.0.1:1", Levels: []float64{0.5, 1}, MQTT: MQTT{Topic: "a", Payloads: []string{"0", "1"}}}},
		{"nobody at the broker", "no connection: ", Stanza{Driver: "mqtt", URL: "mqtt://127.0.0.1:1", MQTT: MQTT{Topic: "a"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
			defer cancel()
			c.s.Name, c.s.Where = "lower/beds/east", "farm.toml:7"
			f, err := OpenFan(ctx, c.s)
			if f != nil || err == nil || !strings.HasPrefix(err.Error(), "farm.toml:7: fan lower/beds/east") || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v; want %s", err, c.want)
			}
		})
	}
	if !(Stanza{Driver: "mqtt"}).Hardware() || !(Stanza{Driver: "modbus"}).Hardware() {
		t.Error("a device of a network is not taken for hardware")
	}
}

// A probe is opened while nobody is there, and says so when it is read.
func TestProbesOfANetworkThatIsAway(t *testing.T) {
	for _, s := range []Stanza{
		{Driver: "modbus", URL: "tcp://127.0.0.1:1", Scale: 0.1},
		{Driver: "mqtt", URL: "mqtt://127.0.0.1:1", MQTT: MQTT{Topic: "air", Stale: time.Minute}},
	} {
		s.Name = "lower/air"
		p, err := OpenProbe(t.Context(), s)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrAbsent) {
			t.Errorf("%s: %v; want ErrAbsent", s.Driver, err)
		}
		if err := errors.Join(p.Close(), p.Close()); err != nil {
			t.Error(err)
		}
	}
}
