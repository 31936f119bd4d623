package recording

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// Options says how a recording is to be read.
type Options struct {
	Name       string         // of the file, for errors; "" is "recording"
	Zone       *time.Location // of times without an offset; nil refuses them
	TimeColumn string         // header of the times; "" is "time"
}

// Row is what was recorded at one time. Values and OK have one entry for each column; a missing
// value is 0 and not OK.
type Row struct {
	Time   time.Time // in Options.Zone, or in UTC where that is nil
	Values []float64
	OK     []bool
	Line   int // where the row begins
}

// Stats counts what was met so far; the rows are read one ahead of those given.
type Stats struct {
	Rows         int64 // rows given
	Missing      int64 // cells of them that are missing
	Repeated     int64 // rows dropped because the next one has the same time
	SecondPasses int64 // steps back to the start of a repeated hour, taken as its second pass
	InGap        int64 // rows whose local time no clock showed, shifted forward by the gap
}

// Reader reads one recording.
type Reader struct {
	o        Options
	guard    *guard
	csv      *csv.Reader
	zone     zone
	timeAt   int
	columns  []Column
	measures []measure
	stats    Stats

	ahead Row   // the row read last; it is given once the one after it has another time
	full  bool  // ahead holds a row
	err   error // of the row after ahead; it lasts

	civil int64         // of ahead, as written; only where local
	step  time.Duration // from the row before ahead to ahead
	gap   bool          // ahead was shifted out of a gap
	spare Row           // buffers
}

// NewReader reads the header. Rows follow by Next.
func NewReader(r io.Reader, o Options) (*Reader, error) {
	if o.Name == "" {
		o.Name = "recording"
	}
	if o.TimeColumn == "" {
		o.TimeColumn = "time"
	}
	rd := &Reader{o: o, zone: zone{loc: o.Zone}, guard: &guard{r: r, name: o.Name}}
	rd.guard.complete(0, 0)
	rd.csv = csv.NewReader(bufio.NewReaderSize(rd.guard, bufferSize))
	rd.csv.ReuseRecord = true
	rd.csv.FieldsPerRecord = -1 // counted here, for a clearer error
	cells, err := rd.record()
	if err == io.EOF {
		return nil, fmt.Errorf("%s: the file is empty; it should begin with a header line such as %s,lower/air_degC", o.Name, o.TimeColumn)
	}
	if err == nil {
		err = rd.header(cells)
	}
	if err != nil {
		return nil, err
	}
	return rd, nil
}

// Columns returns the columns of values, in the order of Row.Values. It is not to be changed.
func (r *Reader) Columns() []Column { return r.columns }

// Stats returns what was met so far.
func (r *Reader) Stats() Stats { return r.stats }

// Next fills row with the next row, whose slices it reuses. Of rows with the same time it gives
// the last. It returns io.EOF after the last row; any other error lasts too.
func (r *Reader) Next(row *Row) error {
	for r.err == nil {
		r.err = r.read(&r.spare)
		if r.err != nil {
			break
		}
		given := r.full && !r.spare.Time.Equal(r.ahead.Time)
		if r.full && !given {
			r.stats.Repeated++
		}
		r.ahead, r.spare, r.full = r.spare, r.ahead, true
		if given {
			r.give(row, &r.spare)
			return nil
		}
	}
	if r.full {
		r.full = false
		r.give(row, &r.ahead)
		return nil
	}
	return r.err
}

func (r *Reader) give(row, from *Row) {
	row.Time, row.Line = from.Time, from.Line
	row.Values = append(row.Values[:0], from.Values...)
	row.OK = append(row.OK[:0], from.OK...)
	r.stats.Rows++
	for _, ok := range from.OK {
		if !ok {
			r.stats.Missing++
		}
	}
}

// read reads the row after r.ahead.
func (r *Reader) read(row *Row) error {
	cells, err := r.record()
	if err != nil {
		return err
	}
	row.Line, _ = r.csv.FieldPos(0)
	if have, want := len(cells), len(r.columns)+1; have != want {
		return r.at(row.Line, "%d cells, but %d headers; a missing value is an empty cell between commas", have, want)
	}
	if row.Time, err = r.when(row.Line, cells[r.timeAt]); err != nil {
		return err
	}
	row.Values, row.OK = row.Values[:0], row.OK[:0]
	for i, cell := range cells {
		if i == r.timeAt {
			continue
		}
		v, ok, err := r.value(len(row.Values), cell)
		if err != nil {
			line, _ := r.csv.FieldPos(i)
			return r.at(line, "column %s holds %s; %w", show(r.columns[len(row.Values)].Header), show(cell), err)
		}
		row.Values, row.OK = append(row.Values, v), append(row.OK, ok)
	}
	return nil
}

// record reads one line of CSV.
func (r *Reader) record() ([]string, error) {
	cells, err := r.csv.Read()
	if r.guard.err != nil && err != nil {
		return nil, r.guard.err // rather than what the cut-off row looks like
	}
	if err == nil {
		line, _ := r.csv.FieldPos(0)
		r.guard.complete(r.csv.InputOffset(), line)
	}
	if pe := (*csv.ParseError)(nil); errors.As(err, &pe) {
		return nil, r.at(pe.Line, "%w in column %d; a quote within a quoted cell is doubled", pe.Err, pe.Column)
	}
	return cells, err
}

var (
	errNumber = errors.New("it should hold a decimal number, or nothing where the value is missing")
	errRange  = errors.New("that is out of range; leave the cell empty where the value is missing")
)

// value reads a cell of a column.
func (r *Reader) value(column int, cell string) (v float64, ok bool, err error) {
	cell = strings.TrimSpace(cell)
	if cell == "" || len(cell) == 3 && strings.EqualFold(cell, "nan") {
		return 0, false, nil
	}
	v, err = strconv.ParseFloat(cell, 64)
	if errors.Is(err, strconv.ErrRange) {
		return 0, false, errRange
	}
	if err != nil || strings.ContainsAny(cell, "xX") {
		return 0, false, errNumber
	}
	m := &r.measures[column]
	v = (v - m.zero) * m.num / m.den
	if math.IsInf(v, 0) {
		return 0, false, errRange
	}
	return v, true, nil
}

// at is an error at a line.
func (r *Reader) at(line int, format string, args ...any) error {
	return fmt.Errorf("%s:%d: "+format, append([]any{r.o.Name, line}, args...)...)
}

// show quotes a cell for an error: printable, and short whatever the cell holds.
func show(cell string) string {
	const most = 40
	if len(cell) > most {
		return fmt.Sprintf("%s and %d bytes more", strconv.QuoteToASCII(cell[:most]), len(cell)-most)
	}
	return strconv.QuoteToASCII(cell)
}
