package history

import (
	"slices"

	"loambank/controller/decide"
)

// lane is what the writer has of one house that is not on its way to the disk yet.
type lane struct {
	name  string
	id    int64 // of its layout
	book  *book
	run   int64 // tells its samples from those of earlier starts and clocks
	begun bool  // it has ticked in this run

	entries []entry
	after   int64 // the number of the last block or mark; 0 is none in this run
	lastS   int64 // Unix, of the last tick
	belief  bool

	minutes               sampleWriter // those that are over, of this quarter
	minute, quarter, hour period
	decision              decide.Decision
}

// breaks reports whether a tick cannot stand in the same samples as the one before it.
func (l *lane) breaks(t *tick) bool {
	return l.begun && (t.now.Unix() < l.lastS || t.seen.Believed != l.belief)
}

// closes reports whether the block must be closed before a tick.
func (l *lane) closes(t *tick) bool {
	return len(l.entries) >= maxEntries || l.quarter.ticks > 0 && !l.quarter.holds(t.now.Unix())
}

// restart lets samples and decisions begin anew, as after a start.
func (l *lane) restart(run int64) {
	l.run, l.begun, l.minutes = run, false, sampleWriter{}
	l.minute, l.quarter, l.hour = period{stepS: minuteS}, period{stepS: quarterS}, period{stepS: hourS}
}

// add takes a tick in, and returns the row of its decision where that has changed.
func (l *lane) add(t *tick, gap bool, n int64) (changed []row) {
	unix := t.now.Unix()
	l.entries = append(l.entries, entry{ns: t.now.UnixNano(), seen: t.seen, digest: Digest(&t.decision), gap: gap})
	if l.minute.ticks > 0 && !l.minute.holds(unix) {
		l.minutes.add(l.quarter.at, &l.minute)
	}
	if !l.quarter.holds(unix) {
		l.minutes = sampleWriter{}
	}
	for _, p := range [...]*period{&l.minute, &l.quarter, &l.hour} {
		if !p.holds(unix) {
			p.begin(unix, &l.book.Layout)
		}
		p.add(t.verdicts, &t.decision)
	}
	l.hour.totals = t.totals.of(&l.book.Layout)
	if !l.begun || !sameToPeople(&l.decision, &t.decision) {
		blob := sealPlain(encodeDecision(t.now.UnixNano(), &t.decision, len(l.book.Stores)))
		changed = []row{{table: decisionTable, at: unix, house: l.id, n: n, data: blob}}
	}
	l.begun, l.lastS, l.belief, l.decision = true, unix, t.seen.Believed, t.decision
	return changed
}

// close returns the rows of what the lane holds. Its samples go on: the rows of a period that is
// not over come again, fuller, in the place of these. now is the time of the tick that follows; an
// hour that goes on then waits, unless all is asked for.
func (l *lane) close(n, now int64, all bool) ([]row, error) {
	if len(l.entries) == 0 {
		return nil, nil
	}
	journal, err := seal(encodeBlock(l.after, l.entries))
	if err != nil {
		return nil, err
	}
	minutes := sampleWriter{b: slices.Clone(l.minutes.b), last: slices.Clone(l.minutes.last)}
	minutes.add(l.quarter.at, &l.minute)
	minute, err := seal(minutes.b)
	if err != nil {
		return nil, err
	}
	var quarter sampleWriter
	quarter.add(l.quarter.at, &l.quarter)
	rows := []row{
		{table: journalTable, at: l.entries[0].ns / 1e9, house: l.id, n: n, data: journal},
		{table: minuteTable, at: l.quarter.at, house: l.id, n: l.run, data: minute},
		{table: quarterTable, at: l.quarter.at, house: l.id, n: l.run, data: sealPlain(quarter.b)},
	}
	if all || !l.hour.holds(now) {
		var hour sampleWriter
		hour.add(l.hour.at, &l.hour)
		rows = append(rows, row{table: hourTable, at: l.hour.at, house: l.id, n: l.run, data: sealPlain(hour.b)})
	}
	l.entries, l.after = l.entries[:0], n
	return rows, nil
}
