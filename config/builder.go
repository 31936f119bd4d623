package config

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"loambank/config/unit"
)

// builder turns a File into Settings. It never stops at a fault: it notes it, takes the default
// and goes on, so that one run finds them all.
type builder struct {
	name     string
	pos      positions
	faults   Faults
	warnings Faults
	display  unit.Display
	defaults defaults
	ownCrops map[string]crop
	currency string
	tickS    float64
	zone     *time.Location // of the farm

	group string // of the lines that follow
	lines []Line

	devices map[string]string  // place of a device that can be only one → its table
	wires   map[string]lineUse // place of a Modbus bus → its first use
	chips   map[string]chipUse // place of an I²C chip → its first use
	columns map[string]string  // header → key
	meant   map[string]bool    // keys that a misspelt one was meant to be
	removed map[string]bool    // keys that were taken out with a fault, their value being of a wrong type
}

// Line is one effective setting, for people.
type Line struct {
	Group   string // "site", "house lower, store beds", …
	Key     string // as in the file
	Value   string // with its unit
	Default bool   // it is not written in the file
}

// grouped brings the lines of each group together, groups in the order in which they begin.
func grouped(lines []Line) []Line {
	order := map[string]int{}
	for _, l := range lines {
		if _, known := order[l.Group]; !known {
			order[l.Group] = len(order)
		}
	}
	slices.SortStableFunc(lines, func(a, b Line) int { return order[a.Group] - order[b.Group] })
	return lines
}

func newBuilder(name string, pos positions) *builder {
	return &builder{
		name: name, pos: pos, defaults: standard(), ownCrops: map[string]crop{},
		devices: map[string]string{}, chips: map[string]chipUse{}, wires: map[string]lineUse{}, columns: map[string]string{}, meant: map[string]bool{}, removed: map[string]bool{},
	}
}

func (b *builder) fault(key, what, remedy string) {
	b.faults = append(b.faults, b.at(key, what, remedy))
}

func (b *builder) warn(key, what, remedy string) {
	b.warnings = append(b.warnings, b.at(key, what, remedy))
}

func (b *builder) at(key, what, remedy string) Fault {
	at := b.pos.find(key)
	return Fault{File: b.name, Line: at.line, Column: at.column, Key: key, What: what, Remedy: remedy}
}

// wrong notes an error of a parser.
func (b *builder) wrong(key string, err error) {
	what, remedy := parts(err)
	b.fault(key, what, remedy)
}

// missing notes a required key that is absent. One that is there, but of a wrong type or misspelt,
// has its fault already.
func (b *builder) missing(table, key, remedy string) {
	if at := join(table, key); !b.pos.has(at) && !b.meant[at] && !b.removed[table] {
		b.fault(table, "`"+key+"` is missing", "write "+remedy)
	}
}

// blank reports whether a text key is written with nothing in it.
func (b *builder) blank(table, key, text string) bool {
	at := join(table, key)
	return text == "" && b.pos.has(at) && !b.removed[at]
}

// faultyWithin reports whether something in the table or list has a fault already.
func (b *builder) faultyWithin(key string) bool {
	return slices.ContainsFunc(b.faults, func(f Fault) bool {
		rest, within := strings.CutPrefix(f.Key, key)
		return within && (rest == "" || rest[0] == '.' || rest[0] == '[')
	})
}

// line notes an effective setting.
func (b *builder) line(key, value string, isDefault bool) {
	b.lines = append(b.lines, Line{b.group, key, value, isDefault})
}

// option is a value that may be stated. The zero value is not.
type option[T any] struct {
	value  T
	stated bool
}

// or is the value, else another's.
func (o option[T]) or(p option[T]) option[T] {
	if o.stated {
		return o
	}
	return p
}

// otherwise is the value, else the default.
func (o option[T]) otherwise(standard T) T {
	if o.stated {
		return o.value
	}
	return standard
}

// set takes a stated value or the default, and notes it as a line.
func set[T any](b *builder, key string, o option[T], standard T, show func(T) string) T {
	if !o.stated {
		o.value = standard
	}
	b.line(key, show(o.value), !o.stated)
	return o.value
}

// choice reads one of a closed list of words; "" is the first.
func (b *builder) choice(table, key, word string, words ...string) string {
	if word == "" {
		if b.blank(table, key, word) {
			b.fault(join(table, key), "nothing is written", "write "+either(words))
		}
		return words[0]
	}
	for _, w := range words {
		if w == word {
			return w
		}
	}
	b.fault(join(table, key), quote(word)+" is not known", "write "+either(words))
	return words[0]
}

// number reads a number without a unit.
func (b *builder) number(table, key string, n *float64, low, high float64) option[float64] {
	if n == nil {
		return option[float64]{}
	}
	if !(*n >= low && *n <= high) {
		b.fault(join(table, key), fmt.Sprintf("%v is out of range", *n), fmt.Sprintf("write %v to %v", low, high))
		return option[float64]{}
	}
	return option[float64]{*n, true}
}

func plainNumber(v float64) string { return fmt.Sprintf("%.6g", v) }

// maxName bounds the names of houses, stores, fans, probes and windows: they are labels and
// parts of headers.
const maxName = 40

// named checks a name's letters.
func (b *builder) named(table, key, name string) bool {
	at := join(table, key)
	if name == "" {
		if b.blank(table, key, name) {
			b.fault(at, "the name is empty", "write a name such as \"lower\"")
		}
		b.missing(table, key, "a name, such as "+key+" = \"lower\"")
		return false
	}
	good := len(name) <= maxName && strings.TrimSpace(name) == name
	for _, r := range name {
		good = good && (r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune(" -_.", r))
	}
	if !good {
		b.fault(at, fmt.Sprintf("%.50q cannot be a name", name),
			"write at most 40 letters, digits, - _ . or spaces within")
	}
	return good
}

// names notices a name that is taken.
type names map[string]string

// take notes the name, or the fault that another has it.
func (b *builder) take(n names, kind, table, name string) {
	key := join(table, "name")
	if !b.pos.has(key) {
		key = table
	}
	if first, taken := n[name]; taken {
		b.fault(key, fmt.Sprintf("another %s is named %q, in line %d", kind, name, b.pos.find(first).line),
			"give each its own name")
		return
	}
	n[name] = key
}

func quote(s string) string { return fmt.Sprintf("%.60q", s) }

// either lists words as a choice.
func either(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = quote(w)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return strings.Join(quoted[:len(quoted)-1], ", ") + " or " + quoted[len(quoted)-1]
}
