package config

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Columns of the printed settings.
const (
	keyWidth = 20
	minWidth = 60 // narrower terminals get this
)

// Print shows the settings as they were understood, with defaults marked, then the year of each
// house as a strip, then the warnings, wrapped to width columns (80 where it is 0).
func (s *Settings) Print(w io.Writer, width int) error {
	if width == 0 {
		width = 80
	}
	p := printer{bufio.NewWriter(w), max(width, minWidth)}
	for i, l := range s.Effective {
		if strings.HasPrefix(l.Group, "house ") {
			continue
		}
		p.line(l, i == 0 || s.Effective[i-1].Group != l.Group)
	}
	for i := range s.Houses {
		h := &s.Houses[i]
		own := "house " + h.House.Name
		group := ""
		for _, l := range s.Effective {
			if l.Group == own || strings.HasPrefix(l.Group, own+",") {
				p.line(l, l.Group != group)
				group = l.Group
			}
		}
		p.strip(h)
	}
	p.warnings(s.Warnings)
	return p.out.Flush()
}

type printer struct {
	out   *bufio.Writer
	width int
}

func (p *printer) line(l Line, opens bool) {
	if opens {
		fmt.Fprintf(p.out, "\n%s\n", l.Group)
	}
	text := l.Value
	if l.Default {
		text += " (default)"
	}
	p.wrapped("  "+pad(l.Key, keyWidth), text)
}

// wrapped prints text behind head, broken between words, each further line indented like it.
func (p *printer) wrapped(head, text string) {
	indent := strings.Repeat(" ", min(utf8.RuneCountInString(head), p.width/2))
	line := head
	empty := true
	for _, word := range strings.Fields(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > p.width {
			fmt.Fprintln(p.out, strings.TrimRight(line, " "))
			line, empty = indent, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	fmt.Fprintln(p.out, strings.TrimRight(line, " "))
}

func (p *printer) warnings(warnings Faults) {
	if len(warnings) == 0 {
		fmt.Fprintf(p.out, "\nno warnings\n")
		return
	}
	fmt.Fprintf(p.out, "\nwarnings\n")
	for _, f := range warnings {
		p.wrapped("  ", f.String())
	}
}

// pad fills text with spaces up to a width, and always one.
func pad(text string, width int) string {
	return text + strings.Repeat(" ", max(1, width-utf8.RuneCountInString(text)))
}
