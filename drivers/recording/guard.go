package recording

import (
	"bytes"
	"fmt"
	"io"
)

const (
	longestRow = 1 << 20  // bytes of one row, its line ends within quotes included
	bufferSize = 64 << 10 // of the buffered reader that sits on a guard
)

// guard stands between a recording and the CSV reader, which by itself would take a row of any
// length into memory. It drops a byte order mark and refuses zero bytes.
type guard struct {
	r     io.Reader
	name  string
	begun bool
	given int64 // bytes handed on
	limit int64 // bytes that may be handed on until the next row is complete
	lines int   // line ends handed on
	cr    bool  // a carriage return was handed on in the first line
	row   int   // line of the last complete row
	err   error // what was refused; it lasts
}

func (g *guard) Read(p []byte) (int, error) {
	if g.err != nil {
		return 0, g.err
	}
	n, err := g.take(p)
	if err != nil && err != io.EOF {
		g.err = err
	}
	return n, err
}

func (g *guard) take(p []byte) (int, error) {
	if !g.begun {
		g.begun = true
		if err := g.begin(); err != nil {
			return 0, err
		}
	}
	switch {
	case g.given < g.limit:
	case g.lines == 0 && g.cr:
		return 0, fmt.Errorf("%s: %s", g.name, onlyCR)
	default:
		return 0, fmt.Errorf("%s: after line %d: a row is longer than %d bytes; is a quote not closed, or is this not CSV?",
			g.name, g.row, longestRow)
	}
	n, err := g.r.Read(p[:min(int64(len(p)), g.limit-g.given)])
	b := p[:n]
	if i := bytes.IndexByte(b, 0); i >= 0 {
		line := g.lines + bytes.Count(b[:i], []byte{'\n'}) + 1
		return 0, fmt.Errorf("%s:%d: a zero byte: this is not a text file; save it as CSV in UTF-8", g.name, line)
	}
	g.given += int64(n)
	g.cr = g.cr || g.lines == 0 && bytes.IndexByte(b, '\r') >= 0
	g.lines += bytes.Count(b, []byte{'\n'})
	if err != nil && err != io.EOF {
		err = fmt.Errorf("%s: %w", g.name, err)
	}
	return n, err
}

const onlyCR = "lines end with a carriage return alone; save the file with LF or CRLF line ends"

// begin drops a byte order mark.
func (g *guard) begin() error {
	mark := make([]byte, 3)
	n, err := io.ReadFull(g.r, mark)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return fmt.Errorf("%s: %w", g.name, err)
	}
	if string(mark[:n]) != "\ufeff" {
		g.r = io.MultiReader(bytes.NewReader(mark[:n]), g.r)
	}
	return nil
}

// complete tells that the rows up to this many bytes are complete, the last of them at a line.
func (g *guard) complete(offset int64, line int) {
	g.limit, g.row = offset+longestRow+bufferSize, line
}
