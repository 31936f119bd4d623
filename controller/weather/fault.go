package weather

import "fmt"

// Fault is what is wrong with a weather file and what would be right.
type Fault struct {
	File   string // as given to Read
	Line   int    // from 1; 0 speaks of the file as a whole
	What   string
	Remedy string
	err    error
}

// Error is "file:line: what; remedy".
func (f *Fault) Error() string {
	where := f.File
	if f.Line > 0 {
		where = fmt.Sprintf("%s:%d", f.File, f.Line)
	}
	return where + ": " + f.What + "; " + f.Remedy
}

// Unwrap returns what the reader said, or nil.
func (f *Fault) Unwrap() error { return f.err }
