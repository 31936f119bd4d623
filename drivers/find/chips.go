package find

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers"
	"loambank/drivers/device"
)

// notOurs are words in the names of buses that belong to screens and mainboards, which hold chips
// that take questions for orders. Common practice, no source.
var notOurs = [...]string{"smbus", "ddc", "hdmi", "gmbus", "dpmst", "nvidia", "amdgpu", "radeon", "aux"}

// findChips asks the I²C addresses that known chips have.
func (f *Finder) findChips(ctx context.Context, r *Report) {
	buses, err := f.chips(ctx)
	if err != nil {
		r.advise(Chip, fmt.Sprintf("the I²C buses cannot be asked: %v", err))
	}
	if len(buses) == 0 && err == nil {
		r.advise(Chip, f.noI2C())
	}
	for _, b := range buses {
		name := f.adapter(b.name)
		if slices.ContainsFunc(notOurs[:], func(word string) bool { return strings.Contains(strings.ToLower(name), word) }) {
			r.advise(Chip, fmt.Sprintf("%s is left alone: its name, %q, says that it serves the machine itself", b.name, name))
			continue
		}
		if err := f.scan(ctx, b, r); err != nil {
			r.advise(Chip, fmt.Sprintf("%s cannot be asked further: %v; %s", b.name, err, remedy(err)))
		}
	}
}

func remedy(err error) string {
	if errors.Is(err, os.ErrPermission) || strings.Contains(err.Error(), "permission denied") {
		return "let your user into the group that owns the file in /dev, often i2c, or run this with sudo"
	}
	return "look at the wires; with one chip unplugged after the other, find the one that holds the bus"
}

// noI2C says why there is no bus.
func (f *Finder) noI2C() string {
	adapters, _ := filepath.Glob(filepath.Join(f.sys, "bus/i2c/devices/i2c-*"))
	if len(adapters) > 0 {
		return fmt.Sprintf("the kernel has an I²C bus and %s has no file for it; load the module i2c-dev (modprobe i2c-dev, and its name in /etc/modules)", f.dev)
	}
	return "this machine has no I²C bus; switch it on in the board's device tree (on many boards the line dtparam=i2c_arm=on in config.txt) or plug its adapter in, and start the board again"
}

// number is that of a bus, as sysfs counts it.
func number(bus string) string { return bus[len(strings.TrimRight(bus, "0123456789")):] }

// adapter is the kernel's name for a bus.
func (f *Finder) adapter(bus string) string {
	return f.word("bus/i2c/devices/i2c-" + number(bus) + "/name")
}

// word is what a small file of the kernel says, "" where it is not there.
func (f *Finder) word(path string) string {
	b, err := os.ReadFile(filepath.Join(f.sys, path))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}

// scan asks every address of a bus where a known chip may be.
func (f *Finder) scan(ctx context.Context, b bus[i2c.BusCloser], r *Report) error {
	bus, err := b.open(ctx)
	if err != nil {
		return err
	}
	defer bus.Close()
	for _, t := range tests {
		for addr := t.first; addr <= t.last; addr++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			found, err := f.ask(ctx, bus, b.name, addr, t.ask)
			r.add(found...)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// ask finds what is at one address. An error is the bus's.
func (f *Finder) ask(ctx context.Context, bus i2c.Bus, name string, addr uint16, ask question) ([]Found, error) {
	place := Found{Kind: Chip, Bus: name, At: fmt.Sprintf("0x%02x", addr), Stanza: drivers.Stanza{Bus: name, Address: addr}}
	if f.Leave != nil {
		if why := f.Leave(name, addr); why != "" {
			place.Note = why
			return []Found{place}, nil
		}
	}
	if driver, is := f.driven(name, addr); is {
		place.Note = "the kernel's driver " + driver + " has this chip; it shows its readings as files, see there"
		return []Found{place}, nil
	}
	a := &asking{ctx: ctx, bus: bus, addr: addr, sleep: f.sleep}
	driver, how := ask(a)
	switch {
	case a.fault != nil:
		return nil, a.fault
	case driver != "":
		return chipOf(place, driver, how), nil
	case a.answered:
		place.Note = "something answers and is no chip known here"
		return []Found{place}, nil
	}
	return nil, nil
}

// driven reports the kernel's driver that has a chip.
func (f *Finder) driven(bus string, addr uint16) (string, bool) {
	dir := filepath.Join(f.sys, fmt.Sprintf("bus/i2c/devices/%s-%04x", number(bus), addr))
	if _, err := os.Stat(filepath.Join(dir, "driver")); err != nil {
		return "", false
	}
	if link, err := filepath.EvalSymlinks(filepath.Join(dir, "driver")); err == nil {
		return filepath.Base(link), true
	}
	return "that it names not", true
}

// chipOf lists what a recognised chip tells.
func chipOf(place Found, driver, how string) []Found {
	place.Stanza.Driver, place.How = driver, how
	if drivers.Address(driver) == place.Stanza.Address {
		place.Stanza.Address = 0 // which is the usual one
	}
	tells := func(measures ...Measure) []Found {
		var all []Found
		for _, m := range measures {
			one := place
			one.Measure, one.Stanza.Quantity = m, quantities[m]
			all = append(all, one)
		}
		return all
	}
	switch driver {
	case "sht3x", "sht4x":
		return tells(Temperature, Humidity)
	case "bme280":
		return tells(Temperature, Humidity, Pressure)
	case "bmp280": // no driver's name: the same driver serves it
		place.Stanza.Driver = "bme280"
		return tells(Temperature, Pressure)
	case "scd4x":
		place.Note = "its temperature and humidity are those of a warm chip"
		return tells(CO2)
	case "ads1115":
		var all []Found
		for input := range 4 {
			one := place
			one.Measure, one.Stanza.Channel, one.Input = Voltage, input, input
			all = append(all, one)
		}
		return all
	}
	place.Note = "it sets the speed of a fan and is not read here"
	return []Found{place}
}

var quantities = map[Measure]device.Quantity{
	Temperature: device.Temperature, Humidity: device.Humidity, Pressure: device.Pressure, CO2: device.CO2,
}
