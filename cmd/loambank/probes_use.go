package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"loambank/config"
	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/find"
)

// user is a device of the settings.
type user struct {
	drivers.Stanza
	as      string // "air crop", "fan", "bell"
	measure find.Measure
}

func (u user) String() string { return u.Name + " (" + u.as + ")" }

// usersOf lists the devices of a farm with what they stand for.
func usersOf(s *config.Settings) []user {
	var all []user
	if s.Alarm.Present {
		all = append(all, user{Stanza: s.Alarm.Output, as: "bell"})
	}
	for i := range s.Houses {
		h := &s.Houses[i]
		for p, stanza := range h.Probes {
			settings := h.House.Probes[p].Judge
			as := settings.Role.String()
			if settings.Place != judge.NoPlace {
				as += " " + settings.Place.String()
			}
			all = append(all, user{stanza, as, measureOf(settings.Role)})
		}
		for _, fans := range h.Fans {
			for _, stanza := range fans {
				all = append(all, user{Stanza: stanza, as: "fan"})
			}
		}
	}
	return all
}

func measureOf(r judge.Role) find.Measure {
	switch {
	case r.Temperature():
		return find.Temperature
	case r == judge.Humidity:
		return find.Humidity
	case r == judge.CO2:
		return find.CO2
	case r == judge.Light:
		return find.Light
	}
	return find.Nothing
}

// take joins what was found with the settings.
func (v *survey) take(r find.Report) {
	v.advice = r.Advice
	met := make([]bool, len(v.users))
	for _, f := range r.Found {
		i := &item{Found: f}
		for n, u := range v.users {
			if uses(u, f) {
				met[n] = true
				i.users = append(i.users, u)
			}
		}
		i.adopt()
		v.items = append(v.items, i)
	}
	for n, u := range v.users {
		switch {
		case met[n]:
		case u.Driver == "file" && u.Path != "":
			v.items = append(v.items, v.plainFile(u))
		case u.ID != "" || u.Pin != "" || len(u.Pins) > 0 || drivers.Address(u.Driver) != 0:
			v.absent = append(v.absent, u)
		}
	}
}

// adopt reads the item as its user would, who may have calibrated it. A chip is never heated by
// looking at it.
func (i *item) adopt() {
	for _, u := range i.users {
		if probe, _ := drivers.Opens(u.Driver); !probe || i.Stanza.Driver == "" || u.as == "fan" {
			continue
		}
		if i.Kind == find.Wire && i.Stanza.Driver == "file" { // the bus itself may not be asked
			i.Stanza.Scale, i.Stanza.Offset = u.Scale, u.Offset
			return
		}
		i.Stanza = u.Stanza
		i.Stanza.HeaterBurst = 0
		if u.measure != find.Nothing {
			i.Measure = u.measure
		}
		return
	}
}

// plainFile is a file that the settings name and no search finds.
func (v *survey) plainFile(u user) *item {
	i := &item{Found: find.Found{Kind: find.File, At: u.Path, How: "by the settings", Measure: u.measure}, users: []user{u}}
	if u.as != "fan" && u.as != "bell" {
		i.Stanza = u.Stanza
	}
	return i
}

// uses reports whether a device of the settings is what was found.
func uses(u user, f find.Found) bool {
	switch f.Kind {
	case find.Wire:
		return u.ID == f.At || u.Driver == "file" && slices.Contains(strings.Split(filepath.ToSlash(u.Path), "/"), f.At)
	case find.File:
		return u.Driver == "file" && samePath(u.Path, f.At)
	case find.Line:
		return slices.ContainsFunc(append(slices.Clone(u.Pins), u.Pin), func(pin string) bool {
			return pin != "" && (pin == f.At || pin == f.Bus)
		})
	}
	if chipAddress(u.Stanza) == 0 || chipAddress(u.Stanza) != chipAddress(f.Stanza) || !sameBus(u.Bus, f.Bus) {
		return false
	}
	switch {
	case f.Measure == find.Nothing: // a chip that is left alone, or a converter
		return true
	case f.Measure == find.Voltage:
		return u.Driver == f.Stanza.Driver && u.Channel == f.Input
	}
	return u.Quantity == f.Stanza.Quantity
}

// chipAddress is the address of a chip, 0 of anything else.
func chipAddress(s drivers.Stanza) uint16 {
	if s.Address != 0 {
		return s.Address
	}
	return drivers.Address(s.Driver)
}

// sameBus reports whether two names are of one bus: I2C1, /dev/i2c-1 and 1 are.
func sameBus(a, b string) bool {
	number := func(s string) string { return s[len(strings.TrimRight(s, "0123456789")):] }
	return a == b || number(a) != "" && number(a) == number(b)
}

func samePath(a, b string) bool {
	if filepath.Clean(a) == filepath.Clean(b) {
		return true
	}
	x, err := filepath.EvalSymlinks(a)
	if err != nil {
		return false
	}
	y, err := filepath.EvalSymlinks(b)
	return err == nil && x == y
}

// leave is why a chip must not be touched while a loambank runs.
func (v *survey) leave(bus string, addr uint16) string {
	for _, u := range v.users {
		if chipAddress(u.Stanza) == addr && sameBus(u.Bus, bus) {
			return "the loambank that runs reads it, so it is left alone; its page shows the reading"
		}
	}
	return ""
}

// idle reports whether an item is new to the settings and of use to them.
func (i *item) idle() bool { return len(i.users) == 0 && !i.Own && i.stanza() != "" }

// where names the place of an item for people.
func (i *item) where() string {
	switch i.Kind {
	case find.Chip:
		where := i.Bus + " " + i.At
		if i.Measure == find.Voltage || i.Stanza.Driver == "ads1115" {
			where += fmt.Sprintf(" input %d", i.Input)
		}
		return where
	case find.Line:
		if i.At == "" {
			return i.Bus
		}
	}
	return i.At
}
