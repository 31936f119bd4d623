package main

import (
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// plainWidth is the width of pages that no terminal measures.
const plainWidth = 80

// terminal reports whether w is a terminal a person looks at.
func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// width is how many columns w shows.
func width(w io.Writer) int {
	if f, ok := w.(*os.File); ok && terminal(w) {
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 20 {
			return min(columns, 120)
		}
	}
	return plainWidth
}

// wrap breaks text at spaces to fit columns; lines after the first are indented.
func wrap(text string, columns, indent int) string {
	var out strings.Builder
	at := 0
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > columns:
			out.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			out.WriteByte(' ')
			at++
		}
		out.WriteString(word)
		at += n
	}
	return out.String()
}
