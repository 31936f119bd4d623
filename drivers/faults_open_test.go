package drivers_test

import (
	"sync/atomic"
	"testing"
	"time"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/mqtt"
)

// openingFaults are of probes that the daemon opens in vain, tries again, and goes on without.
func openingFaults() []fault {
	open := func(s drivers.Stanza) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
		s.Name, s.Where = "lower/air", "farm.toml:7"
		return func(t *testing.T, _ *atomic.Bool) (drivers.Probe, error) { return drivers.OpenProbe(t.Context(), s) }
	}
	row := func(name string, s drivers.Stanza, is error, says string) fault {
		return fault{
			driver: s.Driver, name: name, role: judge.Air, place: judge.Crop, open: open(s), is: is, says: says,
			atOnce: judge.Missing, later: judge.Missing, network: true,
		}
	}
	return []fault{
		row("an id of another family", drivers.Stanza{Driver: "ds18b20", ID: "3a-0000075a1c01"}, nil, "farm.toml:7: probe lower/air"),
		row("an id that is none", drivers.Stanza{Driver: "ds18b20", ID: "0000075a1c01"}, nil, "is not a 1-Wire id"),
		row("no simulated house", drivers.Stanza{Driver: "model"}, nil, "no simulated house is behind it"),
		row("a recording that is not there", drivers.Stanza{Driver: "recording", Path: "no-such.csv"}, drivers.ErrAbsent, "the device is not there"),
		row("a bus that leads nowhere", drivers.Stanza{Driver: "modbus", URL: "http://192.0.2.7"}, nil, "leads to no bus"),
		row("a certificate that is not there", drivers.Stanza{
			Driver: "mqtt", URL: "mqtts://192.0.2.7", MQTT: drivers.MQTT{Topic: "a", Stale: time.Minute, Login: mqtt.Login{CAFile: "no-such.pem"}},
		}, nil, "no-such.pem"),
	}
}
