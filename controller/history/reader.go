package history

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// ErrNone says that a state directory has no history.
var ErrNone = errors.New("no history is kept here; run the daemon with this state directory")

// Reader reads a history, also while a daemon writes it: it sees what was on the disk when it asks.
// It belongs to one goroutine. What it yields is in no memory but the day, or block, at hand.
type Reader struct {
	db      *sql.DB
	version int
	books   map[string]map[int64]*book // by house, then by layout
	damaged int64
}

// OpenReader opens the history of a state directory and changes nothing. The error is ErrNone
// where there is none, ErrSchema where a newer program wrote it.
func OpenReader(dir string) (*Reader, error) {
	path, err := filepath.Abs(filepath.Join(dir, fileName))
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(path); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = fmt.Errorf("%s: %w", dir, ErrNone)
		}
		return nil, err
	}
	options := []string{"mode=ro&_pragma=busy_timeout(5000)&_pragma=cache_size(-256)"}
	if _, err := os.Stat(path + "-wal"); err != nil {
		// Nobody writes, and in a directory that may only be read SQLite could not make its log.
		options = append(options, options[0]+"&immutable=1")
	}
	for _, o := range options {
		r := &Reader{}
		if err = r.open(path, o); err == nil {
			return r, nil
		}
	}
	return nil, fmt.Errorf("%s: %w", path, err)
}

func (r *Reader) open(path, options string) (err error) {
	if r.db, err = connect(path, options); err != nil {
		return err
	}
	if err = r.load(context.Background()); err != nil {
		return errors.Join(damage(err), r.db.Close())
	}
	return nil
}

// load reads what rows refer to.
func (r *Reader) load(ctx context.Context) (err error) {
	if r.version, err = version(ctx, r.db); err != nil {
		return err
	}
	r.books = map[string]map[int64]*book{}
	if r.version == 0 {
		return nil // it was begun this very moment
	}
	rows, err := r.db.QueryContext(ctx, "SELECT id, data FROM layout")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var blob []byte
		if err := rows.Scan(&id, &blob); err != nil {
			return err
		}
		b := new(book)
		if r.spoilt(b.parse(blob)) {
			continue
		}
		if r.books[b.House] == nil {
			r.books[b.House] = map[int64]*book{}
		}
		r.books[b.House][id] = b
	}
	return rows.Err()
}

func (b *book) parse(blob []byte) error {
	text, err := unseal(blob)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, b)
}

// spoilt counts a row that is not what was written.
func (r *Reader) spoilt(err error) bool {
	if err != nil {
		r.damaged++
	}
	return err != nil
}

// Close closes the file.
func (r *Reader) Close() error { return r.db.Close() }

// Damaged returns how many rows were skipped so far, as they are not what was written.
func (r *Reader) Damaged() int64 { return r.damaged }

// Houses returns the names of the houses that there is anything of, sorted.
func (r *Reader) Houses() []string {
	var names []string
	for name := range r.books {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// SettingsText returns the settings file that a Mark names, or nil where it is not there.
func (r *Reader) SettingsText(hash string) ([]byte, error) {
	var blob []byte
	err := r.db.QueryRow("SELECT data FROM settings WHERE hash = ?", hash).Scan(&blob)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, damage(err)
	}
	return unseal(blob)
}

// Decisions yields what a house decided in from <= time < to, in the order of its clock.
func (r *Reader) Decisions(house string, from, to time.Time) iter.Seq2[Decision, error] {
	return func(yield func(Decision, error) bool) {
		for day := range r.days(from, to, decisionTable) {
			rows, err := r.rows(decisionTable, max(day, from.Unix()), min(day+dayS, ceil(to)))
			if err != nil {
				yield(Decision{}, err)
				return
			}
			for _, x := range rows {
				b := r.books[house][x.house]
				if b == nil {
					continue
				}
				d, err := openRow(x, func(p []byte) (Decision, error) { return decodeDecision(p, b) })
				if !r.spoilt(err) && !d.At.Before(from) && d.At.Before(to) && !yield(d, nil) {
					return
				}
			}
		}
	}
}

// Notes yields what people ordered and what failed in from <= time < to, of all houses.
func (r *Reader) Notes(from, to time.Time) iter.Seq2[Note, error] {
	return func(yield func(Note, error) bool) {
		if r.version < 2 {
			return // schema 1 had none
		}
		for day := range r.days(from, to, noteTable) {
			rows, err := r.rows(noteTable, max(day, from.Unix()), min(day+dayS, ceil(to)))
			if err != nil {
				yield(Note{}, err)
				return
			}
			for _, x := range rows {
				n, err := openRow(x, decodeNote)
				if !r.spoilt(err) && !n.At.Before(from) && n.At.Before(to) && !yield(n, nil) {
					return
				}
			}
		}
	}
}

func decodeNote(payload []byte) (n Note, err error) {
	err = json.Unmarshal(payload, &n)
	return n, err
}

// ceil is the first whole second not before t, Unix.
func ceil(t time.Time) int64 {
	if t.Nanosecond() > 0 {
		return t.Unix() + 1
	}
	return t.Unix()
}

func openRow[T any](x row, decode func([]byte) (T, error)) (v T, err error) {
	payload, err := unseal(x.data)
	if err != nil {
		return v, err
	}
	return decode(payload)
}

// days yields the begins of the days, UTC, that have rows in a range of any of the tables. Years
// without any cost nothing. A fault yields the day where it was met, for the next reading to meet.
func (r *Reader) days(from, to time.Time, of ...table) iter.Seq[int64] {
	return func(yield func(int64) bool) {
		after, end := from.Unix(), ceil(to)
		for r.version > 0 && after < end {
			first := end
			for _, t := range of {
				first = min(first, r.first(t, after, end))
			}
			if first >= end || !yield(floor(first, dayS)) {
				return
			}
			after = floor(first, dayS) + dayS
		}
	}
}

// first is the time of the first row in a range; its end where there is none.
func (r *Reader) first(t table, from, to int64) int64 {
	var at sql.NullInt64
	err := r.db.QueryRow("SELECT min(at) FROM "+tables[t].name+" WHERE at >= ? AND at < ?", from, to).Scan(&at)
	switch {
	case err != nil:
		return from
	case at.Valid:
		return at.Int64
	}
	return to
}

// rows returns the rows of a table in from <= at < to, of all houses.
func (r *Reader) rows(t table, from, to int64) ([]row, error) {
	query := "SELECT at, house, n, data FROM " + tables[t].name + " WHERE at >= ? AND at < ? ORDER BY at, n"
	found, err := r.db.Query(query, from, to)
	if err != nil {
		return nil, damage(err)
	}
	defer found.Close()
	var all []row
	for found.Next() {
		x := row{table: t}
		if err := found.Scan(&x.at, &x.house, &x.n, &x.data); err != nil {
			return nil, damage(err)
		}
		all = append(all, x)
	}
	if err := found.Err(); err != nil {
		return nil, damage(err)
	}
	return all, nil
}
