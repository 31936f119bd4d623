package history

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"
)

// writer is the goroutine that owns the file. It reads no clock: time is that of the ticks.
type writer struct {
	db    *DB
	dir   string
	s     *store // nil while there is none to be had
	n     int64  // the last number given out
	lanes []*lane
	at    time.Time // of the newest tick

	known   catalogue // all that the rows of this run refer to
	fresh   catalogue // what of it is not on the disk
	rows    []row
	waiting bool // something is to be committed
	waitS   float64
	pruned  int64 // the day for which old rows went
	fault   error // of the last commit
}

const (
	commitS = 1800 // between two commits while nothing happens, s
	// waitS is how long a closed block waits for those of the other houses, so that they are
	// written together.
	longestWaitS = 30
	// mostRows bounds what is kept while the disk takes nothing: about eight hours of three houses.
	mostRows = 512
)

func (w *writer) loop() {
	defer close(w.db.ended)
	for i := range w.db.queue {
		err := w.survive(&i)
		if i.stop {
			if w.s != nil {
				err = errors.Join(err, w.s.close())
			}
			i.flush <- err
			return
		}
		if i.flush != nil {
			i.flush <- err
		}
	}
}

// survive is handle, but a programmer's mistake here costs an item, never the fans.
func (w *writer) survive(i *item) (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%v", fault)
			w.db.log.Error("history lost an item", "fault", fault, "stack", string(debug.Stack()))
			w.db.lose(err)
		}
	}()
	if err = w.handle(i); err != nil && i.flush == nil && w.fault == nil {
		w.db.lose(err)
	}
	return err
}

func (w *writer) handle(i *item) error {
	switch {
	case i.tick != nil:
		return w.tick(i)
	case i.begin != nil:
		return w.begin(i)
	case i.note != nil:
		return w.note(i.note)
	}
	return w.flush()
}

func (w *writer) lane(name string) *lane {
	if i := slices.IndexFunc(w.lanes, func(l *lane) bool { return l.name == name }); i >= 0 {
		return w.lanes[i]
	}
	return nil
}

func (w *writer) tick(i *item) error {
	l, t := w.lane(i.house), i.tick
	if l == nil {
		return fmt.Errorf("a tick of house %s, which has no layout", i.house)
	}
	w.at = t.now
	breaks := l.breaks(t)
	if breaks || l.closes(t) {
		due := w.waiting
		if err := w.close(l, t.now, breaks); err != nil {
			return err
		}
		// The first quarter of a half hour waits for the second: each commit costs the card pages.
		w.waiting = due || breaks || t.now.Unix()%commitS < quarterS
	}
	if breaks {
		l.restart(w.next())
	}
	w.rows = append(w.rows, l.add(t, i.gap, w.next())...)
	if w.waiting {
		w.waitS += t.seen.StepS / float64(len(w.lanes))
	}
	if w.waiting && w.waitS >= longestWaitS {
		w.commit()
	}
	return nil
}

// next returns a number greater than all before it, also those of earlier runs.
func (w *writer) next() int64 {
	w.n++
	return w.n
}

// close hands what a lane holds on to the next commit.
func (w *writer) close(l *lane, now time.Time, all bool) error {
	rows, err := l.close(w.next(), now.Unix(), all)
	w.rows = append(w.rows, rows...)
	if !w.waiting {
		w.waiting, w.waitS = true, 0
	}
	return err
}

// begin takes up a house, or gives the one of that name new settings.
func (w *writer) begin(i *item) error {
	b := i.begin
	id, blob, err := b.book.id()
	if err != nil {
		return err
	}
	w.at = unixNs(b.Ns)
	l := w.lane(i.house)
	switch {
	case l == nil:
		l = &lane{name: i.house}
		w.lanes = append(w.lanes, l)
	default:
		if err := w.close(l, w.at, true); err != nil {
			return err
		}
	}
	if b.Kind != Key || id != l.id {
		l.restart(w.next())
	}
	l.id, l.book = id, &b.book
	w.know(id, blob, b)
	return w.mark(l, b)
}

// know puts what rows will refer to on the disk with the next commit, once.
func (w *writer) know(id int64, blob []byte, b *begin) {
	if w.known.layouts[id] == nil {
		w.known.layouts[id], w.fresh.layouts[id] = blob, blob
	}
	if _, ok := w.known.settings[b.Hash]; ok || b.Hash == "" {
		return
	}
	text, err := seal(b.settings)
	if err != nil {
		w.db.lose(err)
		return
	}
	x := setting{at: b.Ns / 1e9, data: text}
	w.known.settings[b.Hash], w.fresh.settings[b.Hash] = x, x
}

// mark puts a Begin into the journal.
func (w *writer) mark(l *lane, b *begin) error {
	b.After = l.after
	text, err := json.Marshal(b)
	if err != nil {
		return err
	}
	blob, err := seal(text)
	if err != nil {
		return err
	}
	l.after = w.next()
	w.rows = append(w.rows, row{table: markTable, at: b.Ns / 1e9, house: l.id, n: l.after, data: blob})
	return nil
}

func (w *writer) note(n *Note) error {
	text, err := json.Marshal(n)
	if err != nil {
		return err
	}
	w.rows = append(w.rows, row{table: noteTable, at: n.At.Unix(), n: w.next(), data: sealPlain(text)})
	return w.flush()
}

// flush writes all there is.
func (w *writer) flush() error {
	var faults []error
	for _, l := range w.lanes {
		faults = append(faults, w.close(l, w.at, true))
	}
	w.commit()
	return errors.Join(append(faults, w.fault)...)
}

// commit writes what is closed. What cannot be written stays for the next time, the oldest of too
// much goes.
func (w *writer) commit() {
	w.waiting = false
	if len(w.rows) == 0 && w.fresh.empty() {
		return
	}
	err := w.write()
	if unusable(err) {
		w.replace(err)
		err = w.write()
	}
	w.tell(err)
	if err != nil {
		w.drop(len(w.rows) - mostRows)
		return
	}
	clear(w.rows)
	w.rows, w.fresh = w.rows[:0], newCatalogue()
}

func (w *writer) write() error {
	if w.s != nil && !w.s.there() {
		w.abandon()
	}
	if w.s == nil {
		s, aside, err := openAnew(w.dir, w.n, w.at)
		w.count(aside)
		if err != nil {
			return err
		}
		w.s, w.n = s, s.first
	}
	pruneAt := int64(0)
	if day := floor(w.at.Unix(), dayS); day != w.pruned && w.believed() {
		pruneAt = w.at.Unix()
	}
	if err := w.s.write(context.Background(), &w.fresh, w.rows, pruneAt); err != nil {
		return damage(err)
	}
	if pruneAt != 0 {
		w.pruned = floor(pruneAt, dayS)
	}
	return nil
}

// believed reports whether every house took its last tick's time for the true one.
func (w *writer) believed() bool {
	return !slices.ContainsFunc(w.lanes, func(l *lane) bool { return l.begun && !l.belief })
}

// replace sets a file aside that turned bad in use.
func (w *writer) replace(fault error) {
	w.abandon()
	kept, err := setAside(w.dir, w.at)
	if err != nil {
		w.db.log.Error("damaged history stays in its place", "err", err)
		return
	}
	w.count([]Aside{{KeptAs: kept, Err: fault}})
}

// abandon lets go of the file. Whatever file comes next needs all that rows refer to, and a Begin
// for each house.
func (w *writer) abandon() {
	if err := w.s.close(); err != nil {
		w.db.log.Debug("history closes badly", "err", err)
	}
	w.s = nil
	w.fresh = w.known.clone()
	w.db.mu.Lock()
	defer w.db.mu.Unlock()
	for _, p := range w.db.lanes {
		p.begun = false
	}
}

func (w *writer) count(aside []Aside) {
	for _, a := range aside {
		w.db.log.Error("history was damaged and is kept aside; a new one begins", "file", a.KeptAs, "err", a.Err)
	}
	w.db.mu.Lock()
	defer w.db.mu.Unlock()
	w.db.status.Damaged += int64(len(aside))
}

// tell says how a commit went: in the status, and in the log when that has changed.
func (w *writer) tell(err error) {
	switch {
	case err != nil && w.fault == nil:
		w.db.log.Error("history cannot be written; it is tried again", "err", err)
	case err == nil && w.fault != nil:
		w.db.log.Info("history is written again")
	}
	if w.fault = nil; err != nil {
		w.fault = fmt.Errorf("history: %w", err)
	}
	w.db.mu.Lock()
	defer w.db.mu.Unlock()
	if err != nil {
		w.db.status.LastError = err.Error()
		return
	}
	w.db.status.LastError, w.db.status.LastCommit = "", w.at
}

// drop loses the oldest n rows.
func (w *writer) drop(n int) {
	if n <= 0 {
		return
	}
	w.rows = slices.Delete(w.rows, 0, n)
	w.db.mu.Lock()
	defer w.db.mu.Unlock()
	w.db.status.Lost += int64(n)
}
