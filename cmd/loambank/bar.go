package main

import (
	"time"

	"github.com/schollz/progressbar/v3"
)

// bar shows how far long work is, with the time left, where a person waits; else it is silent. It may
// be used from several goroutines.
type bar struct{ shown *progressbar.ProgressBar }

// newBar begins work of so many parts.
func newBar(w *world, what string, parts int) *bar {
	if !terminal(w.stderr) {
		return &bar{}
	}
	return &bar{progressbar.NewOptions(parts, progressbar.OptionSetWriter(w.stderr),
		progressbar.OptionSetDescription(what), progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetPredictTime(true), progressbar.OptionClearOnFinish())}
}

// add says that one more part is done. A terminal that cannot be drawn on shows nothing.
func (b *bar) add() {
	if b.shown != nil {
		_ = b.shown.Add(1)
	}
}

// at says that so many parts are done.
func (b *bar) at(parts int) {
	if b.shown != nil {
		_ = b.shown.Set(parts)
	}
}

func (b *bar) finish() {
	if b.shown != nil {
		_ = b.shown.Finish()
	}
}
