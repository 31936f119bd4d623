package weather

import (
	"bytes"
	"fmt"
	"io"
)

// formats is what Read can read.
const formats = "a weather file is EPW, its first line beginning with LOCATION, or TMY3, its second with Date"

// Read reads one year, EPW or TMY3, plain or gzip: it looks for itself which. Name stands for the
// file in errors, which are of type *Fault and speak of the first fault found.
func Read(name string, r io.Reader) (*Year, error) {
	l, err := newLines(name, r)
	if err != nil {
		return nil, err
	}
	text, ok, err := l.next()
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, &Fault{File: name, What: "the file is empty", Remedy: formats}
	}
	y := &Year{Name: name}
	read := y.readTMY3
	if bytes.HasPrefix(text, []byte("LOCATION,")) {
		read = y.readEPW
	}
	if err := read(l, string(text)); err != nil {
		return nil, err
	}
	if len(y.Rows) != yearHours && len(y.Rows) != leapHours {
		return nil, y.short(l)
	}
	if err := y.complete(); err != nil {
		return nil, err
	}
	if err := y.plausible(); err != nil {
		return nil, err
	}
	return y, nil
}

// short says that the file ended before its year did.
func (y *Year) short(l *lines) error {
	last := "before its first hour"
	if n := len(y.Rows); n > 0 {
		last = fmt.Sprintf("after %s, with %d hours", y.Rows[n-1].label(), n)
	}
	return l.fault("the file ends "+last, "a year has 8760 hours, 8784 with a 29 February; fetch the file again")
}
