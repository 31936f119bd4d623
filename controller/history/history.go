package history

import (
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"
)

// queued bounds what waits for the writer: seven minutes of three houses.
const queued = 128

// DB is the history of a farm, open for writing. Use Open, with the state directory locked; its
// methods may be called by many goroutines. Every one but Flush and Close returns at once.
type DB struct {
	log   *slog.Logger
	queue chan item
	ended chan struct{}

	mu     sync.Mutex
	closed bool
	status Status
	lanes  map[string]*producer
}

// producer is what the calling side knows of a house.
type producer struct {
	begun bool // the journal has a Begin that the next tick follows
	gap   bool // ticks were dropped since the last that was taken
	keyed int64
	lastS int64 // Unix, of its last tick
}

// Status is how the history does, for metrics.
type Status struct {
	LastCommit time.Time // time of the newest tick that is safely on disk; zero is none since Open
	Dropped    int64     // ticks that are in no journal and no sample since Open
	Lost       int64     // rows that never reached the disk since Open, as it stayed full or broken
	Damaged    int64     // files that were moved aside since Open, Open's own included
	LastError  string    // of the last write; empty is that it went well
}

// Notes is what was found on opening. The zero value is nothing amiss.
type Notes struct {
	Aside []Aside
}

// Aside is a history that could not be gone on with.
type Aside struct {
	KeptAs string // as it is named now, in the same directory
	Err    error  // what is wrong; ErrSchema where nothing is but the schema
}

// Open opens the history of a state directory, begins one where there is none, and brings one of
// an older schema to the newest. One that is damaged, foreign or of a newer schema is moved aside
// with now in its name, and noted. It is an error when the directory is not there or may not be
// written. log hears of what goes wrong later; nil is silent.
func Open(dir string, now time.Time, log *slog.Logger) (*DB, Notes, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	s, aside, err := openAnew(dir, 0, now)
	if err != nil {
		return nil, Notes{}, fmt.Errorf("history: %w", err)
	}
	db := &DB{
		log: log, queue: make(chan item, queued), ended: make(chan struct{}),
		lanes: map[string]*producer{},
	}
	db.status.Damaged = int64(len(aside))
	w := &writer{db: db, s: s, n: s.first, dir: dir, at: now, known: newCatalogue(), fresh: newCatalogue()}
	go w.loop()
	return db, Notes{Aside: aside}, nil
}

// openAnew opens the store of a directory, and sets aside what cannot be opened.
func openAnew(dir string, after int64, now time.Time) (*store, []Aside, error) {
	s, err := openStore(dir, after)
	if !unusable(err) {
		return s, nil, err
	}
	kept, moved := setAside(dir, now)
	if moved != nil {
		return nil, nil, errors.Join(err, moved)
	}
	aside := []Aside{{KeptAs: kept, Err: err}}
	s, err = openStore(dir, after)
	return s, aside, err
}

// Flush waits until everything recorded so far is on the disk, or says why it is not: then it is
// tried again with what comes later.
func (db *DB) Flush() error {
	done := make(chan error, 1)
	select {
	case db.queue <- item{flush: done}:
	case <-db.ended:
		return errClosed
	}
	select {
	case err := <-done:
		return err
	case <-db.ended:
		return errClosed
	}
}

var errClosed = errors.New("history is closed")

// Close flushes, ends the writer and closes the file. Later calls record nothing.
func (db *DB) Close() error {
	db.mu.Lock()
	already := db.closed
	db.closed = true
	db.mu.Unlock()
	if already {
		<-db.ended
		return nil
	}
	done := make(chan error, 1)
	db.queue <- item{flush: done, stop: true}
	<-db.ended
	return <-done
}

// Status returns how the history does.
func (db *DB) Status() Status {
	db.mu.Lock()
	defer db.mu.Unlock()
	return db.status
}
