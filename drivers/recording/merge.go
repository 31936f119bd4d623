package recording

import (
	"io"
	"time"
)

// Merged gives several recordings as if they were one, in order of time.
type Merged struct {
	sources []source
	columns []Column
	begun   bool
	err     error
}

// source is one of the recordings, with its next row.
type source struct {
	r    *Reader
	row  Row
	live bool
	to   []int // place of each of its columns among all
}

// Merge joins recordings. Its columns are those of all, in the order they are first met: columns
// that hold the same probe in several recordings become one.
func Merge(readers ...*Reader) *Merged {
	m := &Merged{}
	place := map[string]int{}
	for _, r := range readers {
		s := source{r: r}
		for _, c := range r.Columns() {
			i, met := place[c.same()]
			if !met {
				i = len(m.columns)
				place[c.same()] = i
				c.Index = i
				m.columns = append(m.columns, c)
			}
			s.to = append(s.to, i)
		}
		m.sources = append(m.sources, s)
	}
	return m
}

// Columns returns the columns of values, in the order of Row.Values. It is not to be changed.
func (m *Merged) Columns() []Column { return m.columns }

// Stats returns what all the readers met so far, one row ahead of Next: Rows counts the rows of
// each recording.
func (m *Merged) Stats() Stats {
	var sum Stats
	for i := range m.sources {
		s := m.sources[i].r.Stats()
		sum.Rows += s.Rows
		sum.Missing += s.Missing
		sum.Repeated += s.Repeated
		sum.SecondPasses += s.SecondPasses
		sum.InGap += s.InGap
	}
	return sum
}

// Next fills row with the next row, whose slices it reuses. Rows of several recordings at one time
// become one row: where two have a value for a column, the later recording's holds; Line and the
// time's zone are the first's. It returns io.EOF after the last row; any other error lasts too.
func (m *Merged) Next(row *Row) error {
	if !m.begun {
		m.begun = true
		for i := range m.sources {
			m.advance(&m.sources[i])
		}
	}
	if m.err != nil {
		return m.err
	}
	first := m.earliest()
	if first == nil {
		return io.EOF
	}
	m.clear(row)
	row.Time, row.Line = first.row.Time, first.row.Line
	for i := range m.sources {
		s := &m.sources[i]
		if !s.live || !s.row.Time.Equal(row.Time) {
			continue
		}
		for j, to := range s.to {
			if s.row.OK[j] {
				row.Values[to], row.OK[to] = s.row.Values[j], true
			}
		}
		m.advance(s)
	}
	return nil
}

func (m *Merged) earliest() *source {
	var first *source
	for i := range m.sources {
		s := &m.sources[i]
		if s.live && (first == nil || s.row.Time.Before(first.row.Time)) {
			first = s
		}
	}
	return first
}

func (m *Merged) advance(s *source) {
	err := s.r.Next(&s.row)
	s.live = err == nil
	if err != nil && err != io.EOF && m.err == nil {
		m.err = err
	}
}

// clear makes all values of a row missing.
func (m *Merged) clear(row *Row) {
	if cap(row.Values) < len(m.columns) || cap(row.OK) < len(m.columns) {
		row.Values = make([]float64, len(m.columns))
		row.OK = make([]bool, len(m.columns))
	}
	row.Values, row.OK = row.Values[:len(m.columns)], row.OK[:len(m.columns)]
	clear(row.Values)
	clear(row.OK)
	row.Time = time.Time{}
}
