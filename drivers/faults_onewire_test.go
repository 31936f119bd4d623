package drivers_test

import (
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/ds18b20"
)

const soilID = "28-0000075a1c01"

// wires is a 1-Wire bus with one thermometer, which is as bad tells it to be while broken.
type wires struct {
	broken *atomic.Bool
	bad    func(command byte, answer []byte) error
	found  []onewire.Address // by a search while broken
	self   onewire.Address
}

func (*wires) String() string { return "OneWire1" }

// pad is a scratchpad with its checksum.
func pad(b ...byte) []byte { return append(b, onewire.CalcCRC(b)) }

// mild is 10.125 °C at 12 bits, the word of sensors-S011 with its sign turned.
var mild = pad(0xa2, 0x00, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10)

func (w *wires) Tx(order, answer []byte, _ onewire.Pullup) error {
	command := order[9] // behind 0x55 and the address
	switch command {
	case 0xbe:
		copy(answer, mild)
	case 0xb4:
		answer[0] = 0xff
	}
	if w.broken.Load() {
		return w.bad(command, answer)
	}
	return nil
}

func (w *wires) Search(bool) ([]onewire.Address, error) {
	if w.broken.Load() {
		return w.found, nil
	}
	return []onewire.Address{w.self}, nil
}

// wireFault is an error of the bus, as adapters tell them.
type wireFault struct{ none, short bool }

func (wireFault) Error() string     { return "status 255" }
func (e wireFault) NoDevices() bool { return e.none }
func (e wireFault) IsShorted() bool { return e.short }

// answers changes the scratchpad into another.
func answers(p []byte) func(byte, []byte) error {
	return func(command byte, answer []byte) error {
		if command == 0xbe {
			copy(answer, p)
		}
		return nil
	}
}

func refuses(err error) func(byte, []byte) error { return func(byte, []byte) error { return err } }

func thermometer(bad func(byte, []byte) error, found ...onewire.Address) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		addr, err := ds18b20.ParseID(soilID)
		if err != nil {
			t.Fatal(err)
		}
		d, err := ds18b20.New(&wires{broken, bad, found, addr}, addr, ds18b20.Opts{Name: "lower/air"})
		return d, err
	}
}

func oneWireFaults() []fault {
	other, _ := ds18b20.ParseID("28-0000075a1c02")
	status := errors.New("status 255")
	idle := []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}
	torn := append(mild[:5:5], 0xff, 0xff, 0xff, 0xff)
	row := func(name string, open func(*testing.T, *atomic.Bool) (drivers.Probe, error), is error, says string) fault {
		return fault{
			driver: "ds18b20", name: name, role: judge.Air, place: judge.Crop, open: open, is: is, says: says,
			atOnce: judge.Fine, later: judge.Stale,
		}
	}
	hung := row("a kernel that does not answer", hangingThermometer, nil, "an earlier call has not come back")
	soil := row("soil whose probe is unplugged", thermometer(answers(idle)), drivers.ErrAbsent, "nothing drives the wire")
	soil.role, soil.place = judge.Soil, judge.Between
	hot := row("a sleeve that fills with sun, 71 °C", thermometer(answers(pad(0x70, 0x04, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10))), nil, "")
	hot.reads, hot.atOnce, hot.later = 71, judge.OutOfRange, judge.OutOfRange
	jumps := row("a probe that falls out of its tube into the snow, by 12 K", thermometer(answers(pad(0xe2, 0xff, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10))), nil, "")
	jumps.reads, jumps.atOnce, jumps.later = -1.875, judge.Jump, judge.Fine // what stays is believed
	stuck := row("a chip that repeats its last measurement", thermometer(answers(mild)), nil, "")
	stuck.reads, stuck.lasts = 10.125, 7*time.Hour
	stuck.atOnce, stuck.later, stuck.mended = judge.Fine, judge.Stuck, judge.Stuck
	return []fault{
		row("unplugged", thermometer(answers(idle)), drivers.ErrAbsent, "the device is not there: nothing drives the wire"),
		row("a wire shorted to ground", thermometer(answers(make([]byte, 9))), drivers.ErrFormat, "all bytes are zero, as on a shorted wire"),
		row("a wrong bit", thermometer(answers(append(mild[:8:8], mild[8]^0x40))), drivers.ErrCRC, "the checksum does not match"),
		row("an answer torn in its middle", thermometer(answers(torn)), drivers.ErrCRC, "a2 00 4b 46 7f ff ff ff ff"),
		// sensors-S015
		row("the power-on value", thermometer(answers(pad(0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10))), drivers.ErrPowerOn, "85.000 °C"),
		row("a resolution that was lost", thermometer(answers(pad(0xa2, 0x00, 0x4b, 0x46, 0x1f, 0xff, 0x0c, 0x10))), drivers.ErrPowerOn, "answers in 9 bits where 12 were set"),
		row("a configuration that cannot be", thermometer(answers(pad(0xa2, 0x00, 0x4b, 0x46, 0x00, 0xff, 0x0c, 0x10))), drivers.ErrFormat, "configuration 00 cannot be"),
		row("a temperature that no such chip has", thermometer(answers(pad(0xff, 0x7f, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10))), drivers.ErrFormat, "outside -55..125 °C"),
		row("a bus that says nobody is there", thermometer(refuses(wireFault{none: true})), drivers.ErrAbsent, "the device is not there"),
		row("a bus that says it is shorted", thermometer(refuses(wireFault{short: true})), nil, "shorted to ground"),
		row("a bus whose search finds another only", thermometer(refuses(status), other), drivers.ErrAbsent, "finds 1 others"),
		row("a bus whose search finds nobody", thermometer(refuses(status)), drivers.ErrAbsent, "finds 0 others"),
		row("a bus that others keep", thermometer(refuses(drivers.ErrBusy)), drivers.ErrBusy, "an earlier call has not come back"),
		row("its supply wire broken, so that it lives on the data wire", thermometer(parasite()), nil, "connect its supply pin to 3.3 V or 5 V"),
		hung, soil, hot, jumps, stuck,
	}
}

// parasite loses its power once, so that it is met again, and then says how it is powered.
func parasite() func(byte, []byte) error {
	lost := false
	return func(command byte, answer []byte) error {
		switch {
		case command == 0xbe && !lost:
			lost = true
			copy(answer, pad(0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10))
		case command == 0xb4:
			answer[0] = 0xfe
		}
		return nil
	}
}

func hangingThermometer(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
	hang := func(byte, []byte) error {
		for broken.Load() {
			time.Sleep(time.Second)
		}
		return nil
	}
	return thermometer(hang)(t, broken)
}
