// Package drivers opens the devices of a farm: the probes that are read and the fans that are
// switched.
//
// Here are the two interfaces the controller works with, the description of a device as
// configured, and the table from the kind of a driver to its opener. The drivers themselves are
// one package per family below this one; judging a reading, retrying and smoothing are not here.
//
// Always: every call is bounded in time, every error names the device, a device may be unplugged
// and plugged back, and a fan is off after OpenFan and after Close.
package drivers

import (
	"context"
	"path/filepath"
	"reflect"
	"strings"
	"time"

	"loambank/drivers/ads1115"
	"loambank/drivers/device"
	"loambank/drivers/modbus"
	"loambank/drivers/model"
	"loambank/drivers/mqtt"
)

// Probe is one sensor. It is used by one goroutine at a time.
type Probe interface {
	// Read measures once: °C for temperatures, a share from 0 to 1 for humidity, W for power,
	// 0 or 1 for a contact, as the probe's role asks. The value is finite wherever the error is
	// nil; it is not judged. Read returns by the deadline of ctx, also when the device hangs.
	Read(ctx context.Context) (float64, error)
	// String names the probe as its owner would find it.
	String() string
	// Close lets the device go. It may be called twice.
	Close() error
}

// Fan is one air mover. It is used by one goroutine at a time.
type Fan interface {
	// Set runs the fan at a stage, 0 is off, and checks that the device took it over. Every Set
	// writes. After an error the fan's stage is unknown.
	Set(ctx context.Context, stage Stage) error
	// String names the fan as its owner would find it.
	String() string
	// Close puts the fan off and lets the device go. It may be called twice.
	Close() error
}

// Stage is the speed a fan is told to run at: 0, the zero value, is off, n runs at Levels[n-1].
type Stage = device.Stage

// Faults a caller branches on, wrapped by the drivers.
var (
	ErrAbsent  = device.ErrAbsent  // the device is not there; it may come back
	ErrCRC     = device.ErrCRC     // what was read was damaged on its way
	ErrFormat  = device.ErrFormat  // something answered, but not in the configured form
	ErrPowerOn = device.ErrPowerOn // a thermometer that has not measured yet
	ErrBusy    = device.ErrBusy    // an earlier call has not come back
)

// Stanza is one device as configured. A kind of driver uses the fields it needs and refuses
// what it cannot obey; the zero value of a field is "not stated".
type Stanza struct {
	Where  string // file:line of the stanza, for errors
	Name   string // as people know it, for example "lower/beds/east"
	Driver string // one of Kinds

	Path   string // of a file, a serial port or a recording
	Format string // of a file: see package drivers/file; "" is found out from path and content
	ID     string // of a 1-Wire device, for example "28-0000075a1c01"
	Bus    string // of an I²C or 1-Wire device, for example "I2C1"
	Pin    string // of a GPIO line, for example "GPIO17"
	// NormallyClosed says that a contact is closed at rest.
	NormallyClosed bool

	Address uint16 // of an I²C chip; 0 is the one that its kind usually has, see Address
	// Pins are the GPIO lines of relays that each stand for one speed, slowest first.
	Pins []string

	// Quantity is what a chip that measures several things is asked for.
	Quantity device.Quantity
	Channel  int     // of a chip with several inputs, from 0
	NTC      *NTC    // the thermistor at that input; nil reads its voltage, V
	PerKWh   float64 // pulses of a meter for one kWh
	// HeaterBurst lets a humidity chip heat itself dry, at most once in that time; 0 never does. No
	// other probe may share the chip then.
	HeaterBurst time.Duration

	URL      string          // of a Modbus bus or an MQTT broker
	Unit     uint8           // of a Modbus station
	Register modbus.Register // of a Modbus station
	Values   []float64       // what is written to it for each stage of a fan, off first; none is 0 and 1 of a coil
	MQTT     MQTT            // what hangs on a broker is told

	// A probe's value is its raw value times Scale plus Offset. A Scale of 0 is taken as 1.
	Scale, Offset float64

	// ActiveLow says that the output's low level, or its zero, runs the fan.
	ActiveLow bool
	// Levels are a fan's speeds as fractions of full flow, rising, in (0, 1], the last 1. None
	// is an on/off fan, the same as [1].
	Levels []float64

	Column string         // of a recording: its header; "" is that of Name with a unit
	Zone   *time.Location // of a recording's times without an offset; nil refuses them

	Simulated Simulated // of a model device
	// Now is the clock that a recording is played by; the settings file cannot state it. Nil is the
	// machine's.
	Now func() time.Time
}

// MQTT is where a device is heard at a broker, and how that is met.
type MQTT struct {
	Topic    string        // of a probe's values or of a fan's orders
	JSON     string        // path to the value within a payload; "" is the whole payload
	State    string        // topic that a fan tells its stage on; "" for none
	Payloads []string      // of a fan's stages, off first; none is 0, 1 and so on
	Stale    time.Duration // a probe's value that is older is none
	Login    mqtt.Login
}

// NTC is a thermistor in a divider.
type NTC = ads1115.NTC

// Simulated is what stands behind a model device; the settings file cannot state it, whoever
// opens the device does.
type Simulated struct {
	House *model.House
	Store int // of a fan
	Index int // of a probe among its house's probes, of a fan among its store's fans
}

// Hardware reports whether the device is, or may be, real hardware: anything but a model, a
// recording, or a file outside the kernel's /sys, /dev and /proc trees. A scaled clock is refused
// then. Links in the path are followed.
func (s Stanza) Hardware() bool {
	switch s.Driver {
	case "model", "recording":
		return false
	case "file":
		return kernelPath(s.Path)
	}
	return true
}

func kernelPath(path string) bool {
	abs, err := filepath.Abs(path)
	if err != nil {
		return true
	}
	for _, p := range []string{abs, resolve(abs)} {
		for _, tree := range []string{"/sys", "/dev", "/proc"} {
			if p == tree || strings.HasPrefix(p, tree+"/") {
				return true
			}
		}
	}
	return false
}

// resolve follows links as far as the path exists.
func resolve(abs string) string {
	rest := ""
	for p := abs; ; p = filepath.Dir(p) {
		if real, err := filepath.EvalSymlinks(p); err == nil {
			return filepath.Join(real, rest)
		}
		if p == filepath.Dir(p) {
			return abs
		}
		rest = filepath.Join(filepath.Base(p), rest)
	}
}

// Same reports whether both stanzas describe the same device in the same way, wherever they are
// written, whatever stands behind a model and whichever clock a recording has: such a device is carried over a reload untouched.
func (s Stanza) Same(o Stanza) bool {
	s.Where, o.Where = "", ""
	s.Simulated, o.Simulated = Simulated{}, Simulated{}
	s.Now, o.Now = nil, nil
	if s.Zone != nil && o.Zone != nil && s.Zone.String() == o.Zone.String() {
		s.Zone, o.Zone = nil, nil // one zone that was loaded twice holds other caches
	}
	return reflect.DeepEqual(s, o)
}
