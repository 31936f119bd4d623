package history

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"errors"
	"iter"
	"slices"
	"time"

	"loambank/controller/house"
)

// Entry is one line of the journal: a Mark, or a tick.
type Entry struct {
	Mark *Mark // not nil: what the next tick begins from; the fields of a tick are zero
	// Now is the wall time that the tick was given, UTC: give it to a replay in the zone of the
	// last Mark.
	Now    time.Time
	Seen   house.Seen
	Digest uint64 // of the decision; see Digest
	Gap    bool   // ticks before it are missing: a replay can only go on from the next Mark, or from this one
}

// Mark is a Begin as it was kept.
type Mark struct {
	Layout *Layout
	Kind   Kind
	Now    time.Time // UTC
	Zone   string    // of the site, such as "Europe/Rome"
	Hash   string    // of the settings; see Reader.SettingsText
	Saved  house.Saved
}

// Journal yields what the ticks of a house were given, in the order in which they happened,
// whatever its clock did. It begins with the last Mark before from, where one is kept, so that
// what follows can be replayed. What is left out as its time is not before to, where a clock was set
// back afterwards, is a gap, and so is a block that is damaged, or that went as its time was old.
func (r *Reader) Journal(house string, from, to time.Time) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		keys, err := r.blocks(house, from.Unix())
		if err != nil {
			yield(Entry{}, err)
			return
		}
		gap, last := false, int64(0)
		for _, key := range keys {
			before := last
			last = key.n
			if key.at >= ceil(to) {
				gap = true // the clock may be set back after it
				continue
			}
			after, entries, err := r.block(house, key)
			switch {
			case errors.Is(err, sql.ErrNoRows):
				gap = true // pruned since
				continue
			case errors.Is(err, errDamaged):
				r.damaged++
				gap = true
				continue
			case err != nil:
				yield(Entry{}, damage(err))
				return
			}
			gap = gap || before != 0 && after != 0 && after != before
			for _, e := range entries {
				if e.Mark == nil && !e.Now.Before(to) {
					gap = true
					continue
				}
				e.Gap, gap = e.Gap || gap, false
				if !yield(e, nil) {
					return
				}
			}
		}
	}
}

// blocks returns the keys of a house's blocks and marks in their order, to the last. They are few: a
// month has three thousand.
func (r *Reader) blocks(house string, from int64) ([]row, error) {
	if r.version == 0 {
		return nil, nil
	}
	marks, err := r.keys(markTable, house, 0)
	if err != nil {
		return nil, err
	}
	begin := row{at: from - quarterS}
	for _, m := range marks {
		if m.at <= from && (begin.n == 0 || m.n > begin.n) {
			begin = m
		}
	}
	ticks, err := r.keys(journalTable, house, min(begin.at, from-quarterS))
	if err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(append(marks, ticks...), func(x row) bool { return x.n < begin.n || begin.n == 0 && x.at < begin.at })
	slices.SortFunc(all, func(a, b row) int { return cmp.Compare(a.n, b.n) })
	return all, nil
}

// keys returns the rows of a house in from <= at without their data.
func (r *Reader) keys(t table, house string, from int64) ([]row, error) {
	found, err := r.db.Query("SELECT at, house, n FROM "+tables[t].name+" WHERE at >= ?", from)
	if err != nil {
		return nil, damage(err)
	}
	defer found.Close()
	var all []row
	for found.Next() {
		x := row{table: t}
		if err := found.Scan(&x.at, &x.house, &x.n); err != nil {
			return nil, damage(err)
		}
		if r.books[house][x.house] != nil {
			all = append(all, x)
		}
	}
	if err := found.Err(); err != nil {
		return nil, damage(err)
	}
	return all, nil
}

// block reads one block or mark, and the number of what it follows; 0 is not known.
func (r *Reader) block(house string, key row) (after int64, entries []Entry, err error) {
	query := "SELECT data FROM " + tables[key.table].name + " WHERE at = ? AND house = ? AND n = ?"
	if err := r.db.QueryRow(query, key.at, key.house, key.n).Scan(&key.data); err != nil {
		return 0, nil, err
	}
	entries, err = openRow(key, func(p []byte) (all []Entry, err error) {
		if key.table == journalTable {
			after, all, err = decodeEntries(p)
		} else {
			after, all, err = decodeMark(p, &r.books[house][key.house].Layout)
		}
		return all, err
	})
	return after, entries, err
}

func decodeEntries(payload []byte) (after int64, entries []Entry, err error) {
	after, block, err := decodeBlock(payload)
	if err != nil {
		return 0, nil, err
	}
	entries = make([]Entry, len(block))
	for i, e := range block {
		entries[i] = Entry{Now: unixNs(e.ns), Seen: e.seen, Digest: e.digest, Gap: e.gap}
	}
	return after, entries, nil
}

func decodeMark(payload []byte, l *Layout) (after int64, entries []Entry, err error) {
	var b begin
	if err := json.Unmarshal(payload, &b); err != nil {
		return 0, nil, errors.Join(errDamaged, err)
	}
	m := &Mark{Layout: l, Kind: b.Kind, Now: unixNs(b.Ns), Zone: b.Zone, Hash: b.Hash}
	if err := json.Unmarshal(b.Saved, &m.Saved); err != nil {
		return 0, nil, errors.Join(errDamaged, err)
	}
	return b.After, []Entry{{Mark: m, Gap: b.Gap}}, nil
}
