package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"loambank/drivers"
	"loambank/drivers/find"
)

// sheet writes lines of at most so many columns.
type sheet struct {
	out     io.Writer
	columns int
}

func (p sheet) line(text string) { fmt.Fprintln(p.out, strings.TrimRight(text, " ")) }

// prose writes text from a column on, wrapped.
func (p sheet) prose(indent int, text string) {
	p.line(strings.Repeat(" ", indent) + indented(text, p.columns, indent))
}

// indented is wrap with its first line beginning at the indent too.
func indented(text string, columns, indent int) string {
	lines := strings.Split(wrap(text, columns-indent, 0), "\n")
	return strings.Join(lines, "\n"+strings.Repeat(" ", indent))
}

// headings of the kinds.
var headings = [...]struct {
	kind find.Kind
	text string
}{
	{find.Wire, "1-Wire thermometers"},
	{find.Chip, "I²C chips"},
	{find.File, "Sensor files"},
	{find.Line, "GPIO lines"},
}

// Columns of an item: its place, its reading, what it is used for.
const (
	placeAt   = 2
	readingAt = 20
	useAt     = 34
)

// print writes everything for a person.
func (v *survey) print(out io.Writer, columns int) {
	p := sheet{out, columns}
	for _, h := range headings {
		p.line(h.text)
		if h.kind == find.Line {
			v.printLines(p)
		} else {
			v.printItems(p, h.kind)
		}
		if !slices.ContainsFunc(v.items, func(i *item) bool { return i.Kind == h.kind }) {
			p.line("  none found")
		}
		p.line("")
	}
	if v.daemon {
		p.prose(0, "A loambank runs by these settings: it holds its GPIO lines and reads its I²C chips, and both are left to it.")
		p.line("")
	}
	v.printAbsent(p)
	v.printStanzas(p)
	if len(v.advice) > 0 {
		p.line("What is missing, and what to do")
		for _, a := range v.advice {
			p.prose(placeAt, string(a.Kind)+": "+a.Text+".")
		}
	}
}

// printItems writes the items of a kind, with the small print that several share once.
func (v *survey) printItems(p sheet, k find.Kind) {
	shown := ""
	for _, i := range v.items {
		if i.Kind != k {
			continue
		}
		v.printItem(p, i)
		if about := i.about(); about != "" && i.Bus+i.At+about != shown {
			p.prose(placeAt+2, about)
			shown = i.Bus + i.At + about
		}
	}
}

// printLines writes the GPIO lines that are used, each, and then the others.
func (v *survey) printLines(p sheet) {
	var free []string
	for _, i := range v.items {
		switch {
		case i.Kind != find.Line:
		case i.Holder == "" && len(i.users) == 0:
			free = append(free, i.where())
		default:
			v.printLine(p, i)
		}
	}
	if len(free) > 0 {
		p.prose(placeAt, "free, or serving a bus, which looks the same: "+strings.Join(free, ", "))
	}
}

// printItem writes the first line of an item, or two where its place is long.
func (v *survey) printItem(p sheet, i *item) {
	place := strings.Repeat(" ", placeAt) + i.where()
	text := pad(place, readingAt)
	if utf8.RuneCountInString(place) >= readingAt {
		p.line(place)
		text = strings.Repeat(" ", readingAt)
	}
	text = pad(text+i.shows(v), useAt)
	p.line(text + indented(v.usedFor(i), p.columns, useAt))
}

// shows is the reading of an item, "-" where it has none.
func (i *item) shows(v *survey) string {
	if i.value == nil {
		return "-"
	}
	return reading(v.display, i.Measure, *i.value)
}

// usedFor says what the settings use an item for.
func (v *survey) usedFor(i *item) string {
	var names []string
	for _, u := range i.users {
		names = append(names, u.String())
	}
	switch {
	case len(names) > 0:
		return strings.Join(names, ", ")
	case i.Own:
		return "of the machine itself"
	case i.Stanza.Driver == "" || i.stanza() == "":
		return "of no use to a house"
	case !v.known:
		return i.quantity()
	}
	return i.quantity() + ", not used yet"
}

func (i *item) quantity() string {
	if i.Measure == find.Nothing {
		return i.Stanza.Driver
	}
	return i.Measure.String()
}

// about is the small print of an item.
func (i *item) about() string {
	var parts []string
	if driver := i.Stanza.Driver; driver != "" && i.Kind == find.Chip {
		parts = append(parts, driver)
	}
	if i.Kind == find.Wire && i.Bus != "" {
		parts = append(parts, "on "+i.Bus)
	}
	if i.How != "" {
		parts = append(parts, i.How)
	}
	text := strings.Join(parts, ", ")
	if i.Note != "" {
		text = strings.TrimPrefix(text+"; "+i.Note, "; ")
	}
	if i.fault != nil {
		text = strings.TrimPrefix(text+"; no reading: "+i.fault.Error(), "; ")
	}
	return text
}

// printLine writes a GPIO line that somebody holds or that the settings use.
func (v *survey) printLine(p sheet, i *item) {
	text := pad(pad(strings.Repeat(" ", placeAt)+i.where(), readingAt)+i.Bus, useAt)
	held := "free now"
	if i.Holder != "" {
		held = fmt.Sprintf("held by %q", i.Holder)
	}
	if len(i.users) > 0 {
		held += ": " + v.usedFor(i)
	}
	p.line(text + indented(held, p.columns, useAt))
}

func (v *survey) printAbsent(p sheet) {
	if len(v.absent) == 0 {
		return
	}
	p.line("In the settings, and not found")
	for _, u := range v.absent {
		bus := ""
		if u.Bus != "" {
			bus = " on " + u.Bus
		}
		p.prose(placeAt, fmt.Sprintf("%v: %s %s%s", u, u.Driver, placeOf(u), bus))
	}
	p.line("")
}

// printStanzas writes what may be pasted. These lines are not wrapped, since TOML does not allow it.
func (v *survey) printStanzas(p sheet) {
	var probes, fans []string
	relay := ""
	for _, i := range v.items {
		switch {
		case !i.idle():
		case i.Kind == find.Line:
			if relay == "" && strings.HasPrefix(i.At, "GPIO") {
				relay = i.stanza()
			}
		case i.Stanza.Driver == "dac":
			fans = append(fans, i.stanza())
		default:
			probes = append(probes, i.stanza())
		}
	}
	if relay != "" {
		fans = append(fans, relay)
	}
	if len(probes) > 0 {
		p.prose(0, "New probes: put a line into `probe = [ ]` of a house and write the role and place it really has. "+
			"One in the soil or in a duct goes into that of its store, as role = \"soil\", place = \"between\", depth = \"18 in\".")
		for _, s := range probes {
			p.line(s)
		}
		p.line("")
	}
	if len(fans) > 0 {
		p.prose(0, "A fan, such as a relay at a free line: put its line into `fan = [ ]` of its store and write its own name, pin, power and flow.")
		for _, s := range fans {
			p.line(s)
		}
		p.line("")
	}
}

// kindOf is where a device of the settings would be found.
func kindOf(u user) find.Kind {
	switch {
	case u.ID != "":
		return find.Wire
	case u.Pin != "" || len(u.Pins) > 0:
		return find.Line
	case drivers.Address(u.Driver) != 0:
		return find.Chip
	}
	return find.File
}

// placeOf is where a device of the settings is.
func placeOf(u user) string {
	switch kindOf(u) {
	case find.Wire:
		return u.ID
	case find.Line:
		if u.Pin == "" {
			return strings.Join(u.Pins, ", ")
		}
		return u.Pin
	case find.Chip:
		return fmt.Sprintf("0x%02x", chipAddress(u.Stanza))
	}
	return u.Path
}

// pad fills text up to a column; longer text gets one space.
func pad(text string, column int) string {
	return text + strings.Repeat(" ", max(1, column-utf8.RuneCountInString(text)))
}
