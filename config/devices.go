package config

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"loambank/drivers"
)

// device is what a kind of driver needs to be told, and whether it can be a fan.
type device struct {
	kind   string
	needs  []string
	probe  bool
	fan    bool
	single bool // no two probes can share it
}

// devices has a line for every kind in drivers.Kinds.
var devices = [...]device{
	{kind: "ads1115", needs: []string{"bus", "pin"}, probe: true},
	{kind: "bme280", needs: []string{"bus"}, probe: true},
	{kind: "contact", needs: []string{"pin"}, probe: true, single: true},
	{kind: "dac", needs: []string{"bus"}, fan: true},
	{kind: "ds18b20", needs: []string{"id"}, probe: true, single: true},
	{kind: "file", needs: []string{"path"}, probe: true, fan: true},
	{kind: "modbus", needs: []string{"path", "id"}, probe: true, fan: true},
	{kind: "model", probe: true, fan: true},
	{kind: "mqtt", needs: []string{"bus", "path"}, probe: true, fan: true},
	{kind: "pulse", needs: []string{"pin"}, probe: true, single: true},
	{kind: "recording", needs: []string{"path"}, probe: true},
	{kind: "relay", needs: []string{"pin"}, fan: true},
	{kind: "scd4x", needs: []string{"bus"}, probe: true},
	{kind: "sht3x", needs: []string{"bus"}, probe: true},
	{kind: "sht4x", needs: []string{"bus"}, probe: true},
}

// examples of the keys that say where a device is.
func exampleOf(key string) string {
	switch key {
	case "path":
		return `path = "/sys/class/hwmon/hwmon0/temp1_input"`
	case "id":
		return `id = "28-0000075a1c01"`
	case "bus":
		return `bus = "I2C1"`
	}
	return `pin = "GPIO17"`
}

func (k DeviceKeys) value(key string) string {
	switch key {
	case "path":
		return k.Path
	case "format":
		return k.Format
	case "id":
		return k.ID
	case "bus":
		return k.Bus
	}
	return k.Pin
}

// wiring renders where a device is, for people who follow its wire.
func (k DeviceKeys) wiring() string {
	var parts []string
	for _, p := range []string{k.Driver, k.Bus, k.Pin, k.ID, k.Path, k.Format} {
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

// buildDevice checks the keys that lead to a device and returns its stanza.
func (b *builder) buildDevice(table, name string, k DeviceKeys, as use) drivers.Stanza {
	where := fmt.Sprintf("%s:%d", b.name, b.pos.find(table).line)
	stanza := drivers.Stanza{
		Where: where, Name: name, Driver: k.Driver,
		Path: k.Path, Format: k.Format, ID: k.ID, Bus: k.Bus, Pin: k.Pin,
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
		b.address(table, k, devices[i], as)
	}
	return stanza
}

func suggest(word string, known []string) string {
	if near := nearest(word, known); near != "" && near != word {
		return "did you mean " + quote(near) + "?"
	}
	return "write " + either(known)
}

// address checks that the device can be found, and that nothing else is there.
func (b *builder) address(table string, k DeviceKeys, d device, as use) {
	for _, key := range d.needs {
		if k.value(key) == "" {
			b.missing(table, key, "where the device is, such as "+exampleOf(key))
		}
	}
	for _, key := range []string{"path", "format", "id", "bus", "pin"} {
		optional := d.kind == "file" && key == "format" || key == "bus" && d.kind == "ds18b20" || key == "id" && slices.Contains(d.needs, "bus")
		if k.value(key) != "" && !slices.Contains(d.needs, key) && !optional {
			b.fault(join(table, key), "driver "+d.kind+" has no `"+key+"`", "remove it, or name another driver")
		}
	}
	if as != asProbe || d.single {
		b.alone(table, k, d)
	}
}

// alone notices two devices in one place.
func (b *builder) alone(table string, k DeviceKeys, d device) {
	if len(d.needs) == 0 || k.value(d.needs[0]) == "" {
		return
	}
	key := d.needs[0]
	place := strings.Join([]string{k.Driver, k.Bus, k.Path, k.ID}, "\x00")
	switch key {
	case "pin":
		place = k.Pin // whatever the driver
	case "path":
		place = filepath.Clean(k.Path) + "\x00" + k.ID
	}
	if first, is := b.devices[place]; is {
		b.fault(join(table, key), fmt.Sprintf("%s %s is taken by %s in line %d", key, quote(k.value(key)), first, b.pos.find(first).line),
			"give each its own")
		return
	}
	b.devices[place] = table
}
