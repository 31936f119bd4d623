package replay

import (
	"io"
	"slices"

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

// Again gives its rows from the first.
func (k *Kept) Again() Rows { return &again{Kept: k} }

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
