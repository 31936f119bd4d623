package replay

import (
	"fmt"
	"io"
	"slices"
	"time"

	"loambank/drivers/recording"
)

// Kept is a recording held in memory, to be replayed more than once.
type Kept struct {
	columns []recording.Column
	rows    []recording.Row
}

// Keep reads all of rows.
func Keep(rows Rows) (*Kept, error) {
	k := &Kept{columns: rows.Columns()}
	var row recording.Row
	for {
		switch err := rows.Next(&row); err {
		case nil:
		case io.EOF:
			return k, nil
		default:
			return nil, err
		}
		kept := row
		kept.Values, kept.OK = slices.Clone(row.Values), slices.Clone(row.OK)
		k.rows = append(k.rows, kept)
	}
}

// Mark writes what makes the recording itself, to be hashed.
func (k *Kept) Mark(w io.Writer) {
	for i := range k.columns {
		fmt.Fprintln(w, k.columns[i].Header)
	}
	for i := range k.rows {
		r := &k.rows[i]
		fmt.Fprintln(w, r.Time.UnixNano(), r.Values, r.OK)
	}
}

// Again gives its rows from the first.
func (k *Kept) Again() Rows { return &again{Kept: k} }

// Span is when its first and last row within [from, until) are, zero is no bound; both are zero without
// such a row.
func (k *Kept) Span(from, until time.Time) (first, last time.Time) {
	for i := range k.rows {
		at := k.rows[i].Time
		if !(Options{From: from, Until: until}).covers(at) {
			continue
		}
		if first.IsZero() {
			first = at
		}
		last = at
	}
	return first, last
}

type again struct {
	*Kept
	next int
}

func (a *again) Columns() []recording.Column { return a.columns }

// Next gives rows that their reader must not change.
func (a *again) Next(row *recording.Row) error {
	if a.next == len(a.rows) {
		return io.EOF
	}
	*row = a.rows[a.next]
	a.next++
	return nil
}
