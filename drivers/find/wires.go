package find

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"periph.io/x/conn/v3/onewire"

	"loambank/drivers"
	"loambank/drivers/device"
	"loambank/drivers/ds18b20"
)

const noWire = "switch it on in the board's device tree (on many boards the line dtoverlay=w1-gpio in " +
	"config.txt) or plug its adapter in, and start the board again"

// findWires searches the 1-Wire buses, and adds what the kernel's own search shows and ours cannot.
func (f *Finder) findWires(ctx context.Context, r *Report) {
	buses, err := f.wires(ctx)
	if err != nil {
		r.advise(Wire, fmt.Sprintf("the 1-Wire buses cannot be asked: %v", err))
	}
	seen := map[string]bool{}
	for _, b := range buses {
		all, err := search(ctx, b)
		if err != nil {
			r.advise(Wire, fmt.Sprintf("%s cannot be searched: %v; %s", b.name, err, rights))
			continue
		}
		slices.SortFunc(all, func(a, b onewire.Address) int { return strings.Compare(ds18b20.FormatID(a), ds18b20.FormatID(b)) })
		if len(all) == 0 {
			r.advise(Wire, b.name+" is there and nothing answers on it; look at the three wires of a probe and for the resistor of 4.7 kΩ from the data wire to the supply")
		}
		for _, a := range all {
			id := ds18b20.FormatID(a)
			seen[id] = true
			name := b.name
			if len(buses) == 1 {
				name = "" // then the first is the one
			}
			r.add(thermometer(a, b.name, drivers.Stanza{Driver: "ds18b20", ID: id, Bus: name}))
		}
	}
	f.kernelWires(r, seen, len(buses) > 0)
}

// rights is what lets a program speak on a 1-Wire bus.
const rights = "searching needs root's rights (CAP_NET_ADMIN): run this with sudo"

func search(ctx context.Context, b bus[onewire.BusCloser]) ([]onewire.Address, error) {
	wire, err := b.open(ctx)
	if err != nil {
		return nil, err
	}
	defer wire.Close()
	return wire.Search(false)
}

// thermometer is a device of a 1-Wire bus, which may be of another family.
func thermometer(a onewire.Address, bus string, s drivers.Stanza) Found {
	id := ds18b20.FormatID(a)
	found := Found{Kind: Wire, Bus: bus, At: id, How: "by a search of the bus"}
	_, err := ds18b20.New(nil, a, ds18b20.Opts{})
	switch {
	case errors.Is(err, device.ErrCRC):
		found.Note = "its address does not match its checksum, so it came damaged over the wire: look at the wiring"
		return found
	case err != nil:
		found.Note = fmt.Sprintf("family %02x is no thermometer of the DS18B20 family (28, 22 or 10)", byte(a))
		return found
	}
	found.Measure, found.Stanza = Temperature, s
	return found
}

// kernelWires adds devices that the kernel shows as files and no search of ours has found.
func (f *Finder) kernelWires(r *Report, seen map[string]bool, searched bool) {
	root := filepath.Join(f.sys, "bus/w1/devices")
	entries, err := os.ReadDir(root)
	masters, before := 0, len(seen)
	for _, e := range entries {
		id := e.Name()
		if strings.HasPrefix(id, "w1_bus_master") {
			masters++
		}
		a, bad := ds18b20.ParseID(id)
		if bad != nil || seen[id] {
			continue
		}
		path := filepath.Join(root, id, "w1_slave")
		found := thermometer(a, "", drivers.Stanza{Driver: "file", Path: path})
		found.How = "by the kernel's search, in " + root
		if _, err := os.Stat(path); err != nil && found.Note == "" {
			found.Stanza, found.Measure = drivers.Stanza{}, Nothing
			found.Note = "the kernel shows no w1_slave file of it; load the module w1_therm"
		}
		seen[id] = true
		r.add(found)
	}
	switch {
	case searched:
	case err != nil && !os.IsNotExist(err):
		r.advise(Wire, fmt.Sprintf("%s cannot be read: %v", root, plain(err)))
	case masters == 0:
		r.advise(Wire, "this machine has no 1-Wire bus; "+noWire)
	case len(seen) > before:
		r.advise(Wire, "the kernel's list of 1-Wire devices is shown, which may be a minute old and holds unplugged ones for a while; "+rights)
	default:
		r.advise(Wire, "a 1-Wire bus is there and the kernel lists no device on it; look at the wires and the resistor of 4.7 kΩ from data to supply; "+rights)
	}
}

// plain drops what a path error repeats.
func plain(err error) error {
	if pe, ok := err.(*fs.PathError); ok { //nolint:errorlint // as os returns it
		return pe.Err
	}
	return err
}
