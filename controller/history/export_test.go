package history

import "runtime"

// Keep waits until the writer has taken most of what was given: a test is faster than a farm.
func (db *DB) Keep() {
	for len(db.queue) > queued/2 {
		runtime.Gosched()
	}
}

// Stall keeps the writer from taking anything until the returned function is called. It returns
// when the writer stands.
func (db *DB) Stall() (release func()) {
	standing, goOn := make(chan error), make(chan struct{})
	db.queue <- item{flush: standing}
	go func() { <-goOn; <-standing }()
	for len(db.queue) > 0 {
		runtime.Gosched()
	}
	return func() { close(goOn) }
}

// Queued is how many items the writer may be behind.
const Queued = queued
