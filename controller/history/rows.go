package history

import (
	"context"
	"database/sql"
	"maps"
)

const (
	dayS     = 86400
	minuteS  = 60
	quarterS = 900
	hourS    = 3600
)

// table is the place of a row in tables.
type table uint8

const (
	minuteTable table = iota
	quarterTable
	hourTable
	decisionTable
	noteTable
	journalTable
	markTable
)

// tables are those that grow, with how long their rows are kept, days.
var tables = [...]struct {
	name  string
	keepD int64
}{
	minuteTable:   {"minute", 35},
	quarterTable:  {"quarter", 731},
	hourTable:     {"hour", 3653},
	decisionTable: {"decision", 3653},
	noteTable:     {"note", 3653},
	journalTable:  {"journal", 30},
	markTable:     {"mark", 30}, // as the journal: a replay must not go from a mark over ticks that are gone
}

// row is one row on its way to the disk. at is Unix s; n sets rows of the same time apart.
type row struct {
	table    table
	at       int64
	house, n int64
	data     []byte
}

// catalogue is what rows refer to: written before them, and never dropped.
type catalogue struct {
	layouts  map[int64][]byte
	settings map[string]setting
}

type setting struct {
	at   int64
	data []byte
}

func newCatalogue() catalogue {
	return catalogue{layouts: map[int64][]byte{}, settings: map[string]setting{}}
}

func (c *catalogue) empty() bool { return len(c.layouts)+len(c.settings) == 0 }

func (c *catalogue) clone() catalogue {
	return catalogue{layouts: maps.Clone(c.layouts), settings: maps.Clone(c.settings)}
}

// write puts rows on the disk, all or none. pruneAt is the time, Unix s, by which old rows are to
// go as well; 0 is not now.
func (s *store) write(ctx context.Context, c *catalogue, rows []row, pruneAt int64) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() //nolint:errcheck // after Commit it does nothing
	for id, data := range c.layouts {
		if _, err := tx.ExecContext(ctx, "INSERT OR REPLACE INTO layout VALUES (?, ?)", id, data); err != nil {
			return err
		}
	}
	for hash, x := range c.settings {
		if _, err := tx.ExecContext(ctx, "INSERT OR IGNORE INTO settings VALUES (?, ?, ?)", hash, x.at, x.data); err != nil {
			return err
		}
	}
	for i := range rows {
		r := &rows[i]
		insert := "INSERT OR REPLACE INTO " + tables[r.table].name + " VALUES (?, ?, ?, ?)"
		if _, err := tx.ExecContext(ctx, insert, r.at, r.house, r.n, r.data); err != nil {
			return err
		}
	}
	if pruneAt != 0 {
		if err := pruneRows(ctx, tx, pruneAt); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// mostPruned bounds, in days, what one pruning takes: a clock that is a year ahead for an hour
// costs days, not the year.
const mostPruned = 4

// pruneRows removes whole days, UTC, so that a day is kept at one step or at another.
func pruneRows(ctx context.Context, tx *sql.Tx, now int64) error {
	for _, t := range tables {
		var oldest sql.NullInt64
		if err := tx.QueryRowContext(ctx, "SELECT min(at) FROM "+t.name).Scan(&oldest); err != nil {
			return err
		}
		end := min(floor(now, dayS)-t.keepD*dayS, floor(oldest.Int64, dayS)+mostPruned*dayS)
		if !oldest.Valid || oldest.Int64 >= end {
			continue
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM "+t.name+" WHERE at < ?", end); err != nil {
			return err
		}
	}
	return nil
}
