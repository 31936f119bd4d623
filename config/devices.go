package config

import (
	"fmt"
	"slices"

	"loambank/drivers"
)

// device is what a kind of driver needs to be told, and whether it can be a fan.
type device struct {
	kind   string
	needs  []string
	probe  bool
	fan    bool
	single string // the key that no two probes can share
}

// devices has a line for every kind in drivers.Kinds.
var devices = [...]device{
	{kind: "ads1115", needs: []string{"bus", "pin"}, probe: true},
	{kind: "bme280", needs: []string{"bus"}, probe: true},
	{kind: "contact", needs: []string{"pin"}, probe: true, single: "pin"},
	{kind: "dac", needs: []string{"bus"}, fan: true},
	{kind: "ds18b20", needs: []string{"id"}, probe: true, single: "id"},
	{kind: "file", needs: []string{"path"}, probe: true, fan: true},
	{kind: "modbus", needs: []string{"path", "id"}, probe: true, fan: true},
	{kind: "model", probe: true, fan: true},
	{kind: "mqtt", needs: []string{"bus", "path"}, probe: true, fan: true},
	{kind: "pulse", needs: []string{"pin"}, probe: true, single: "pin"},
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

// buildDevice checks the keys that lead to a device and returns its stanza.
func (b *builder) buildDevice(table, name string, k DeviceKeys, isFan bool) drivers.Stanza {
	where := fmt.Sprintf("%s:%d", b.name, b.pos.find(table).line)
	stanza := drivers.Stanza{
		Where: where, Name: name, Driver: k.Driver,
		Path: k.Path, Format: k.Format, ID: k.ID, Bus: k.Bus, Pin: k.Pin,
	}
	what := "probe"
	if isFan {
		what = "fan"
	}
	var fitting []string
	for _, d := range devices {
		if isFan && d.fan || !isFan && d.probe {
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
		b.fault(join(table, "driver"), quote(k.Driver)+" cannot be a "+what, suggest(k.Driver, fitting))
	default:
		b.address(table, k, devices[i], isFan)
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
func (b *builder) address(table string, k DeviceKeys, d device, isFan bool) {
	for _, key := range d.needs {
		if k.value(key) == "" {
			b.missing(table, key, "where the device is, such as "+exampleOf(key))
		}
	}
	for _, key := range []string{"path", "format", "id", "bus", "pin"} {
		optional := d.kind == "file" && key == "format" || key == "bus" && d.kind == "ds18b20" || key == "id" && slices.Contains(d.needs, "bus")
		if k.value(key) != "" && !slices.Contains(d.needs, key) && !optional {
			b.fault(join(table, key), "a "+d.kind+" has no `"+key+"`", "remove it, or name another driver")
		}
	}
	switch {
	case isFan:
		for _, key := range d.needs {
			b.alone(b.outputs, table, key, k, len(d.needs) == 1)
		}
	case d.single != "":
		b.alone(b.sensors, table, d.single, k, true)
	}
}

// alone notices two devices in one place. whole says that the key alone is the place.
func (b *builder) alone(taken map[string]string, table, key string, k DeviceKeys, whole bool) {
	if k.value(key) == "" {
		return
	}
	place := key + " " + k.value(key)
	if !whole {
		place = "device " + k.Driver + " " + k.Bus + " " + k.Path + " " + k.ID
	}
	at := join(table, key)
	if first, is := taken[place]; is && first != table {
		b.fault(at, fmt.Sprintf("%s %s is taken by %s in line %d", key, quote(k.value(key)), first, b.pos.find(first).line),
			"give each its own")
		return
	}
	taken[place] = table
}
