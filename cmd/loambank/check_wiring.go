package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"loambank/config"
	"loambank/drivers"
	"loambank/drivers/modbus"
)

// wire is one place of the board, a bus or a network, and who is there.
type wire struct {
	kind  string // "pin", "1-Wire", "I²C", "modbus", "mqtt", "file"
	bus   string // "" of a pin or file
	at    string
	users []drivers.Stanza
}

// mayBe reports whether two places may be one: a bus that is not named is the first, which may have
// a name elsewhere. Whatever else shares a place is refused as the settings are loaded.
func (w *wire) mayBe(o *wire) bool {
	return w.kind == o.kind && w.at == o.at && w.kind == "1-Wire" && w.bus == "" && o.bus != ""
}

// wiring lists every place that the settings name, sorted.
func wiring(s *config.Settings) []*wire {
	var all []*wire
	add := func(kind, bus, at string, user drivers.Stanza) {
		i := slices.IndexFunc(all, func(w *wire) bool { return w.kind == kind && w.bus == bus && w.at == at })
		if i < 0 {
			all, i = append(all, &wire{kind: kind, bus: bus, at: at}), len(all)
		}
		all[i].users = append(all[i].users, user)
	}
	for _, d := range devicesOf(s) {
		address := d.Address
		if address == 0 {
			address = drivers.Address(d.Driver)
		}
		switch {
		case d.Pin != "" || len(d.Pins) > 0:
			for _, pin := range append(slices.Clone(d.Pins), d.Pin) {
				if pin != "" {
					add("pin", "", pin, d)
				}
			}
		case d.Driver == "ds18b20":
			add("1-Wire", d.Bus, d.ID, d)
		case address != 0:
			add("I²C", d.Bus, fmt.Sprintf("0x%02x", address), d)
		case d.Driver == "modbus":
			bus := d.URL
			if link, err := modbus.ParseLink(d.URL); err == nil {
				bus = link.String()
			}
			add("modbus", bus, fmt.Sprintf("unit %d %v", d.Unit, d.Register), d)
		case d.Driver == "mqtt":
			add("mqtt", d.URL, d.MQTT.Topic, d)
		case d.Path != "":
			add("file", "", d.Path, d)
		}
	}
	slices.SortStableFunc(all, func(a, b *wire) int {
		return strings.Compare(a.kind+"\x00"+a.bus+"\x00"+a.at, b.kind+"\x00"+b.bus+"\x00"+b.at)
	})
	return all
}

// devicesOf lists the stanzas of a farm.
func devicesOf(s *config.Settings) []drivers.Stanza {
	var all []drivers.Stanza
	if s.Alarm.Present {
		all = append(all, s.Alarm.Output)
	}
	for i := range s.Houses {
		all = append(all, s.Houses[i].Probes...)
		for _, fans := range s.Houses[i].Fans {
			all = append(all, fans...)
		}
	}
	return all
}

// printWiring writes the wiring as a table and then what may be in conflict, and reports how much.
func printWiring(out io.Writer, s *config.Settings) (conflicts int) {
	rows := [][]string{{"what", "bus", "where", "driver", "device"}}
	all := wiring(s)
	var notes []string
	for _, w := range all {
		bus := w.bus
		if bus == "" && w.kind == "1-Wire" {
			bus = "the first"
		}
		for _, u := range w.users {
			rows = append(rows, []string{w.kind, bus, w.at, wired(u), u.Name})
		}
		for _, o := range all {
			if w.mayBe(o) {
				notes = append(notes, fmt.Sprintf("conflict: %s %s of the first bus, %s, and of %s, %s, may be one; write the same bus for both",
					w.kind, w.at, w.users[0].Name, o.bus, o.users[0].Name))
			}
		}
	}
	printColumns(out, rows)
	if len(notes) == 0 {
		notes = []string{"no conflicts"}
	} else {
		conflicts = len(notes)
	}
	fmt.Fprintf(out, "\n%s\n", strings.Join(notes, "\n"))
	return conflicts
}

// wired is the driver of a device, and which way round it is wired where that is not the usual one.
func wired(d drivers.Stanza) string {
	switch {
	case d.ActiveLow:
		return d.Driver + ", active low"
	case d.NormallyClosed:
		return d.Driver + ", normally closed"
	}
	return d.Driver
}

// printColumns aligns the columns of rows.
func printColumns(out io.Writer, rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], len([]rune(cell)))
		}
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			line += cell + strings.Repeat(" ", widths[i]-len([]rune(cell))+2)
		}
		fmt.Fprintln(out, strings.TrimRight(line, " "))
	}
}
