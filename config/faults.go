package config

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"loambank/config/unit"
)

// Fault is one thing wrong, or one warning.
type Fault struct {
	File   string
	Line   int // from 1; 0 where the fault is not in the file's text
	Column int // from 1, in characters; 0 where only the line is known
	Key    string
	What   string // what is wrong
	Remedy string // what would be right
}

// String returns "file:line:column: key: what is wrong; what would be right".
func (f Fault) String() string {
	var s strings.Builder
	s.WriteString(f.File)
	if f.Line > 0 {
		fmt.Fprintf(&s, ":%d", f.Line)
	}
	if f.Line > 0 && f.Column > 0 {
		fmt.Fprintf(&s, ":%d", f.Column)
	}
	s.WriteString(": ")
	if f.Key != "" {
		s.WriteString(f.Key + ": ")
	}
	s.WriteString(f.What)
	if f.Remedy != "" {
		s.WriteString("; " + f.Remedy)
	}
	return s.String()
}

// Faults is everything wrong with one file, in the order of its lines. It is an error.
type Faults []Fault

// maxShown bounds a printed list: past it a file is not a farm's settings at all.
const maxShown = 100

// Error returns one fault a line.
func (fs Faults) Error() string {
	var lines []string
	for i, f := range fs {
		if i == maxShown {
			lines = append(lines, fmt.Sprintf("and %d more", len(fs)-i))
			break
		}
		lines = append(lines, f.String())
	}
	return strings.Join(lines, "\n")
}

// tidy puts the faults in the order of the file and drops repetitions.
func (fs Faults) tidy() Faults {
	slices.SortStableFunc(fs, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Key, b.Key), cmp.Compare(a.What, b.What))
	})
	return slices.Compact(fs)
}

// parts takes an error apart into what is wrong and what would be right.
func parts(err error) (what, remedy string) {
	if e := (*unit.Error)(nil); errors.As(err, &e) {
		return e.What, e.Remedy
	}
	what, remedy, _ = strings.Cut(err.Error(), "; ")
	return what, remedy
}
