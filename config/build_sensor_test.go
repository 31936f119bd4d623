package config

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/drivers"
	quantities "loambank/drivers/device"
	"loambank/drivers/modbus"
	"loambank/drivers/mqtt"
)

func TestTheFullFarmsDevicesAreToldWhatTheyNeed(t *testing.T) {
	s, err := Load(filepath.Join(testdata, "full.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	h := s.Houses[0]
	got := map[string]drivers.Stanza{}
	for _, p := range h.Probes {
		got[p.Name] = p
	}
	for _, f := range h.Fans[0] {
		got[f.Name] = f
	}
	login := mqtt.Login{
		CAFile: "/etc/loambank/ca.pem", CertFile: "/etc/loambank/board.pem", KeyFile: "/etc/loambank/board.key",
		User: "loambank", PasswordFile: "/etc/loambank/broker.password",
	}
	for name, want := range map[string]drivers.Stanza{
		"tunnel/humidity": {Driver: "sht4x", Bus: "I2C1", Address: 0x45, Quantity: quantities.Humidity, HeaterBurst: time.Hour, Scale: 1},
		"tunnel/co2":      {Driver: "scd4x", Bus: "I2C1", Quantity: quantities.CO2, Scale: 1},
		"tunnel/north bed/fan-power": {
			Driver: "pulse", Pin: "GPIO23", PerKWh: 1000, Quantity: quantities.Power, Scale: 1,
		},
		"tunnel/north bed/airflow-proof": {Driver: "contact", Pin: "GPIO22", NormallyClosed: true, Scale: 1},
		"tunnel/north bed/soil-root-12cm": {
			Driver: "ads1115", Bus: "I2C1", Channel: 1, Quantity: quantities.Temperature, Scale: 1,
			NTC: &drivers.NTC{Beta: 3950, Ohm: 10_000, FixedOhm: 10_000, SupplyV: 3.3, ToSupply: true},
		},
		"tunnel/north bed/soil-root-15cm": { // what is not written is the usual
			Driver: "ads1115", Bus: "I2C1", Channel: 2, Quantity: quantities.Temperature, Scale: 1,
			NTC: &drivers.NTC{Steinhart: [3]float64{1.1253e-3, 2.3471e-4, 0.8566e-7}, FixedOhm: 10_000, SupplyV: 3.3},
		},
		"tunnel/outside": {
			Driver: "modbus", URL: "rtu:///dev/ttyUSB0?speed=9600&parity=none", Unit: 3, Quantity: quantities.Temperature, Scale: 0.1,
			Register: modbus.Register{Table: modbus.Input, Address: 1, Type: modbus.Int32},
		},
		"tunnel/light": {
			Driver: "mqtt", URL: "mqtts://192.0.2.7:8884", Scale: 1,
			MQTT: drivers.MQTT{Topic: "tunnel/light", JSON: "sun.lux", Stale: 3 * time.Minute, Login: login},
		},
		"tunnel/north bed/four": {
			Driver: "modbus", URL: "rtu:///dev/ttyUSB0?speed=9600&parity=none", Unit: 7, Levels: []float64{1}, Values: []float64{0, 42.5},
			Register: modbus.Register{Table: modbus.Holding, Address: 100, Type: modbus.Float32, LowFirst: true},
		},
		"tunnel/north bed/five": {
			Driver: "mqtt", URL: "mqtts://192.0.2.7:8884", Levels: []float64{1},
			MQTT: drivers.MQTT{Topic: "tunnel/five/set", JSON: "relay.0", State: "tunnel/five/is", Payloads: []string{"OFF", "ON"}, Login: login},
		},
		"tunnel/north bed/one": {Driver: "relay", Pins: []string{"GPIO17", "GPIO18"}, ActiveLow: true, Levels: []float64{0.5, 1}},
		"tunnel/north bed/two": {Driver: "dac", Bus: "I2C1", Address: 0x60, Levels: []float64{0.6, 0.7, 0.8, 0.9, 1}},
	} {
		is, there := got[name]
		is.Where, is.Name, is.Zone = "", "", nil
		if diff := cmp.Diff(want, is); !there || diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func TestAThermistorWithNothingStatedIsTheUsualOne(t *testing.T) {
	s := parse(t, `driver = "file", path = "soil"`, `driver = "ads1115", bus = "I2C1", channel = 0, ntc = {}`)
	want := &drivers.NTC{Beta: 3950, Ohm: 10_000, FixedOhm: 10_000, SupplyV: 3.3}
	for _, p := range s.Houses[0].Probes {
		if p.Driver == "ads1115" && !cmp.Equal(p.NTC, want) {
			t.Errorf("got %+v; want %+v", p.NTC, want)
		}
	}
}

func TestTwoQuantitiesOfOneChip(t *testing.T) {
	s := parse(t, `path = "air" }`, `path = "air" }, { role = "humidity", driver = "bme280", bus = "I2C1", address = 0x77 },
{ role = "outside", driver = "bme280", bus = "I2C1", address = 0x77 }`)
	p := s.Houses[0].Probes
	if p[1].Quantity != quantities.Humidity || p[2].Quantity != quantities.Temperature || p[1].Address != 0x77 || p[2].Address != 0x77 {
		t.Errorf("got %+v and %+v; want humidity and temperature at 0x77", p[1], p[2])
	}
}
