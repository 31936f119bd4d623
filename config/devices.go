package config

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"loambank/drivers"
	quantities "loambank/drivers/device"
)

// device is what a kind of driver needs to be told, and whether it can be a fan.
type device struct {
	kind     string
	needs    []string
	may      []string // be told
	probe    bool
	fan      bool
	single   bool                  // no two probes can share it
	measures []quantities.Quantity // nil is whatever its wire stands for
}

// devices has a line for every kind in drivers.Kinds.
var devices = [...]device{
	{kind: "ads1115", needs: []string{"bus", "channel"}, may: []string{"address", "ntc"}, probe: true},
	{kind: "bme280", needs: []string{"bus"}, may: []string{"address"}, probe: true, measures: airs},
	{kind: "contact", needs: []string{"pin"}, may: []string{"normally"}, probe: true, single: true},
	{kind: "dac", needs: []string{"bus"}, may: []string{"address"}, fan: true},
	{kind: "ds18b20", needs: []string{"id"}, may: []string{"bus"}, probe: true, single: true},
	{kind: "file", needs: []string{"path"}, may: []string{"format"}, probe: true, fan: true},
	{kind: "modbus", needs: []string{"url", "unit", "register"}, may: []string{"type", "word_order", "values"}, probe: true, fan: true},
	{kind: "model", probe: true, fan: true},
	{kind: "mqtt", needs: []string{"url", "topic"}, may: append([]string{"json", "payloads", "state"}, logins...), probe: true, fan: true},
	{kind: "pulse", needs: []string{"pin", "pulses_per_kwh"}, probe: true, single: true, measures: []quantities.Quantity{quantities.Power}},
	{kind: "recording", needs: []string{"path"}, probe: true},
	{kind: "relay", needs: []string{"pin"}, may: []string{"pins"}, fan: true},
	{kind: "scd4x", needs: []string{"bus"}, probe: true, measures: append(airs[:2:2], quantities.CO2)},
	{kind: "sht3x", needs: []string{"bus"}, may: []string{"address"}, probe: true, measures: airs},
	{kind: "sht4x", needs: []string{"bus"}, may: []string{"address", "heater_burst"}, probe: true, measures: airs},
}

// logins are the keys that say how a broker is met.
var logins = []string{"ca_file", "cert_file", "key_file", "user", "password_file"}

var airs = []quantities.Quantity{quantities.Temperature, quantities.Humidity}

// exampleOf a key that a device needs.
func exampleOf(key string) string {
	switch key {
	case "path":
		return `where the device is, such as path = "/sys/class/hwmon/hwmon0/temp1_input"`
	case "id":
		return `where the device is, such as id = "28-0000075a1c01"`
	case "bus":
		return `where the device is, such as bus = "I2C1"`
	case "url":
		return `where it is, such as url = "tcp://192.0.2.7:502" for modbus or "mqtt://192.0.2.7:1883" for mqtt`
	case "unit":
		return "which station of the bus it is, such as unit = 1"
	case "register":
		return `where the value stands, such as register = "holding 100"`
	case "topic":
		return `what it is called at the broker, such as topic = "lower/air"`
	case "channel":
		return "which input of the chip it is, channel = 0 to 3"
	case "pulses_per_kwh":
		return "what stands on the front of the meter, such as pulses_per_kwh = 1000"
	}
	return `where the device is, such as pin = "GPIO17"`
}

// wiring renders where a device is, for people who follow its wire.
func (k DeviceKeys) wiring() string {
	var parts []string
	address := ""
	if k.Address != 0 {
		address = fmt.Sprintf("0x%02x", k.Address)
	}
	unit := ""
	if k.Register != "" {
		unit = fmt.Sprintf("unit %d", k.Unit)
	}
	for _, p := range []string{
		k.Driver, k.Bus, address, k.Pin, k.ID, k.Path, k.Format,
		k.URL, unit, k.Register, k.Type, k.WordOrder, k.Topic, k.JSON,
	} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return strings.Join(parts, " ")
}

// use is what a device is for.
type use uint8

const (
	asProbe use = iota
	asFan
	asOutput // of the alarm
)

func (u use) String() string { return [...]string{"a probe", "a fan", "an alarm output"}[u] }

// fits reports whether a kind of driver can be used so. A simulated house has no bell.
func (u use) fits(d device) bool {
	switch u {
	case asProbe:
		return d.probe
	case asFan:
		return d.fan
	}
	return d.fan && d.kind != "model"
}

// buildDevice checks the keys that lead to a device and returns its stanza. A fan may have pins
// instead of a pin.
func (b *builder) buildDevice(table, name string, k DeviceKeys, pins []string, as use) drivers.Stanza {
	where := fmt.Sprintf("%s:%d", b.name, b.pos.find(table).line)
	stanza := drivers.Stanza{
		Where: where, Name: name, Driver: k.Driver,
		Path: k.Path, Format: k.Format, ID: k.ID, Bus: k.Bus, Pin: k.Pin, Pins: slices.Clone(pins),
		Address: b.chipAddress(table, k.Address), URL: k.URL,
	}
	var fitting []string
	for _, d := range devices {
		if as.fits(d) {
			fitting = append(fitting, d.kind)
		}
	}
	i := slices.IndexFunc(devices[:], func(d device) bool { return d.kind == k.Driver })
	switch {
	case k.Driver == "":
		b.missing(table, "driver", "the kind of device, such as driver = \"file\"")
	case i < 0:
		b.fault(join(table, "driver"), quote(k.Driver)+" is not a known driver", suggest(k.Driver, fitting))
	case !slices.Contains(fitting, k.Driver):
		b.fault(join(table, "driver"), quote(k.Driver)+" cannot be "+as.String(), suggest(k.Driver, fitting))
	default:
		b.address(table, k, pins, devices[i], as)
		b.network(table, k, as, &stanza)
	}
	return stanza
}

func suggest(word string, known []string) string {
	if near := nearest(word, known); near != "" && near != word {
		return "did you mean " + quote(near) + "?"
	}
	return "write " + either(known)
}

// addressed are the keys that say where a device is, or how it answers.
var addressed = []string{
	"path", "format", "id", "bus", "address", "pin", "pins", "channel", "ntc", "pulses_per_kwh", "heater_burst", "normally",
	"url", "unit", "register", "type", "word_order", "values", "topic", "json", "payloads", "state",
	"ca_file", "cert_file", "key_file", "user", "password_file",
}

// address checks that the device can be found, and that nothing else is there.
func (b *builder) address(table string, k DeviceKeys, pins []string, d device, as use) {
	for _, key := range d.needs {
		at := join(table, key)
		switch {
		case key == "pin" && len(pins) > 0:
			if k.Pin != "" {
				b.fault(at, "a fan has one relay or one for each speed, not both", "remove pin or pins")
			}
		case b.blank(table, key, k.text(key)):
			b.fault(table, "`"+key+"` is empty", "write "+exampleOf(key))
		default:
			b.missing(table, key, exampleOf(key))
		}
	}
	for _, key := range addressed {
		if at := join(table, key); b.pos.has(at) && !b.removed[at] && !slices.Contains(d.needs, key) && !slices.Contains(d.may, key) {
			b.fault(at, "driver "+d.kind+" has no `"+key+"`", "remove it, or name another driver")
		}
	}
	switch {
	case len(pins) > 0:
		for i, pin := range pins {
			b.placed(index(join(table, "pins"), i), "pin", pin, table, pin)
		}
	case as != asProbe || d.single:
		b.alone(table, k, d)
	}
	b.oneKind(table, k, d)
}

// text is the value of a key that is written in quotes, or anything for another.
func (k DeviceKeys) text(key string) string {
	switch key {
	case "path":
		return k.Path
	case "id":
		return k.ID
	case "bus":
		return k.Bus
	case "pin":
		return k.Pin
	case "url":
		return k.URL
	case "register":
		return k.Register
	case "topic":
		return k.Topic
	}
	return "written"
}

// chipAddress checks the address of a chip.
func (b *builder) chipAddress(table string, address int64) uint16 {
	at := join(table, "address")
	if !b.pos.has(at) || b.removed[at] {
		return 0
	}
	if address < 0x08 || address > 0x77 {
		b.fault(at, fmt.Sprintf("%#02x is no address of a chip", address), "write 0x08 to 0x77, without quotes")
		return 0
	}
	return uint16(address)
}

// alone notices two devices in one place.
func (b *builder) alone(table string, k DeviceKeys, d device) {
	if len(d.needs) == 0 || k.text(d.needs[0]) == "" {
		return
	}
	key := d.needs[0]
	place := strings.Join([]string{k.Driver, k.Bus, k.Path, k.ID}, "\x00")
	switch {
	case key == "pin":
		place = k.Pin // whatever the driver
	case key == "path":
		place = filepath.Clean(k.Path) + "\x00" + k.ID
	case d.kind == "modbus":
		key = "register"
		place = fmt.Sprintf("%s\x00%d\x00%s", k.bus(), k.Unit, k.Register)
	case d.kind == "mqtt":
		key = "topic"
		place = k.URL + "\x00" + k.Topic
	case drivers.Address(d.kind) != 0:
		place = k.chip()
	}
	b.placed(join(table, key), key, k.text(key), table, place)
}

// placed notes that a place is taken, or the fault that another has it.
func (b *builder) placed(at, key, value, table, place string) {
	if first, is := b.devices[place]; is {
		b.fault(at, fmt.Sprintf("%s %s is taken by %s in line %d", key, quote(value), first, b.pos.find(first).line),
			"give each its own")
		return
	}
	b.devices[place] = table
}

// chip is where a chip is: its bus and its address.
func (k DeviceKeys) chip() string {
	address := uint16(k.Address)
	if address == 0 {
		address = drivers.Address(k.Driver)
	}
	return fmt.Sprintf("%s\x000x%02x", k.Bus, address)
}

// oneKind notices chips of two kinds at one address of a bus, which would both answer, and one that
// heats itself while another probe reads it.
func (b *builder) oneKind(table string, k DeviceKeys, d device) {
	if drivers.Address(d.kind) == 0 || k.Bus == "" {
		return
	}
	first, is := b.chips[k.chip()]
	_, address, _ := strings.Cut(k.chip(), "\x00")
	heats := b.pos.has(join(table, "heater_burst"))
	switch {
	case !is:
		b.chips[k.chip()] = chipUse{table, d.kind, heats}
	case first.kind != d.kind:
		b.fault(table, fmt.Sprintf("a chip of driver %s has the address %s on bus %s already, in line %d", first.kind, address, k.Bus, b.pos.find(first.table).line),
			"give each chip its own address, or write the driver of the one that is there")
	case heats || first.heats:
		b.fault(table, fmt.Sprintf("the chip at %s on bus %s heats itself and serves another probe too, in line %d", address, k.Bus, b.pos.find(first.table).line),
			"remove `heater_burst`, or use two chips")
	}
}

// chipUse is the first use of a chip.
type chipUse struct {
	table, kind string
	heats       bool
}
