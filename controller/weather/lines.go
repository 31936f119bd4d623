package weather

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
)

// longestLine is far beyond any line of such a file, bytes.
const longestLine = 64 << 10

// lines gives a file's lines one by one, without their ends.
type lines struct {
	name string
	from *bufio.Reader
	line int // number of the last line given, from 1
}

func newLines(name string, r io.Reader) (*lines, error) {
	l := &lines{name: name, from: bufio.NewReaderSize(r, longestLine)}
	if head, _ := l.from.Peek(2); len(head) == 2 && head[0] == 0x1f && head[1] == 0x8b {
		z, err := gzip.NewReader(l.from)
		if err != nil {
			return nil, l.broken(err)
		}
		l.from = bufio.NewReaderSize(z, longestLine)
	}
	if head, _ := l.from.Peek(3); bytes.Equal(head, []byte("\xef\xbb\xbf")) {
		_, _ = l.from.Discard(len(head)) // a byte order mark
	}
	return l, nil
}

// next returns the next line; ok is false at the file's end. The bytes hold until the next call.
func (l *lines) next() (text []byte, ok bool, err error) {
	text, err = l.from.ReadSlice('\n')
	if len(text) == 0 && err == io.EOF {
		return nil, false, nil
	}
	l.line++
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return nil, false, l.fault("the line is longer than 64 kB", formats)
	case err != nil && err != io.EOF:
		return nil, false, l.broken(err)
	case bytes.IndexByte(text, 0) >= 0:
		return nil, false, l.fault("the line holds a zero byte", formats)
	}
	text = bytes.TrimSuffix(text, []byte("\n"))
	return bytes.TrimSuffix(text, []byte("\r")), true, nil
}

func (l *lines) broken(err error) error {
	what := "cannot be read on from here: " + err.Error()
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, gzip.ErrHeader) || errors.Is(err, gzip.ErrChecksum) {
		what = "the compressed file is damaged or cut short: " + err.Error()
	}
	return &Fault{File: l.name, Line: l.line, What: what, Remedy: "fetch the file again", err: err}
}

// fault speaks of the last line given.
func (l *lines) fault(what, remedy string) error {
	return &Fault{File: l.name, Line: l.line, What: what, Remedy: remedy}
}
