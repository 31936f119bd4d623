package history

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
)

// item is one thing on its way to the writer.
type item struct {
	house string
	tick  *tick
	begin *begin
	note  *Note
	flush chan<- error
	stop  bool // after the flush
	gap   bool // ticks before this one were dropped
}

// tick is a copy of what Record was given.
type tick struct {
	now      time.Time
	seen     house.Seen
	decision decide.Decision
	verdicts []judge.Verdict
	totals   *Totals
}

// Record keeps one tick of a house: what it was given at now, in the site's zone, what came of it,
// and its account after it; a nil account keeps no totals. It copies and returns. It reports
// whether a Begin of kind Key should come before the next tick, as once a day, after a gap and where
// the clock was set back, so that a replay can begin there. A house without a Begin since Open is not
// recorded.
func (db *DB) Record(name string, now time.Time, seen *house.Seen, result *house.Result, account *ledger.House) (wantsKey bool) {
	t := &tick{now: now, seen: *seen, decision: result.Decision, totals: TotalsOf(account)}
	t.seen.Raw = append([]judge.Raw(nil), seen.Raw...)
	t.verdicts = append([]judge.Verdict(nil), result.Verdicts...)
	db.mu.Lock()
	defer db.mu.Unlock()
	p := db.lanes[name]
	if p == nil {
		db.status.Dropped++
		return true
	}
	if !db.put(item{house: name, tick: t, gap: p.gap}) {
		db.status.Dropped++
		p.gap, p.begun = true, false
		return true
	}
	p.gap = false
	back := now.Unix() < p.lastS
	p.lastS = now.Unix()
	return !p.begun || back || floor(now.Unix(), dayS) != p.keyed
}

// put queues an item unless the queue is full or closed. The caller holds mu.
func (db *DB) put(i item) bool {
	if db.closed {
		return false
	}
	select {
	case db.queue <- i:
		return true
	default:
		return false
	}
}

// Kind is why a Begin is in the journal. The zero value is Started.
type Kind uint8

// The closed list of kinds.
const (
	Started   Kind = iota // the program was started
	Reloaded              // with changed settings
	Recovered             // after a programmer's mistake
	Key                   // nothing happened: a place for a replay to begin
)

var kindNames = [...]string{"started", "reloaded", "recovered", "key"}

// String returns the kind's word.
func (k Kind) String() string {
	if int(k) >= len(kindNames) {
		return fmt.Sprintf("kind(%d)", uint8(k))
	}
	return kindNames[k]
}

// Begin is what a house is before its next tick: with the settings' text it is all that a replay
// begins from. After any kind but Key the house really was restored from Saved; at a Key it went
// on as it was.
type Begin struct {
	House    *house.Settings
	Kind     Kind
	Now      time.Time // in the site's zone
	Settings []byte    // the text of the settings file; each is kept once
	Saved    house.Saved
}

// begin is a Begin as it is stored, but for what the layout says.
type begin struct {
	Kind  Kind
	Ns    int64  // Unix
	Zone  string // of the site
	Hash  string // SHA-256 of the settings' text, hexadecimal; empty is not known
	Saved json.RawMessage
	Gap   bool  `json:",omitempty"` // ticks before it were dropped
	After int64 `json:",omitempty"` // the number of the house's block or mark before it; 0 is not known

	book     book
	settings []byte
}

// Begin keeps the state that the next tick of a house begins from. It copies and returns. One that
// cannot be kept is logged and counted as lost; then Record goes on asking for one.
func (db *DB) Begin(b Begin) {
	saved, err := json.Marshal(&b.Saved)
	if err != nil {
		db.lose(fmt.Errorf("what house %s remembers: %w", b.House.Name, err))
		return
	}
	x := &begin{Kind: b.Kind, Ns: b.Now.UnixNano(), Zone: b.Now.Location().String(), Saved: saved, book: bookOf(b.House)}
	if len(b.Settings) > 0 {
		x.Hash, x.settings = fmt.Sprintf("%x", sha256.Sum256(b.Settings)), append([]byte(nil), b.Settings...)
	}
	db.mu.Lock()
	if p := db.lanes[b.House.Name]; p != nil {
		x.Gap = p.gap
	}
	kept := db.put(item{house: b.House.Name, begin: x})
	if kept {
		db.lanes[b.House.Name] = &producer{begun: true, keyed: floor(b.Now.Unix(), dayS), lastS: b.Now.Unix()}
	}
	db.mu.Unlock()
	if !kept {
		db.lose(errFull)
	}
}

// NoteKind is what a Note is about. The zero value is a hand order.
type NoteKind uint8

// The closed list of kinds of notes.
const (
	HandNote  NoteKind = iota // a person gave an order
	FaultNote                 // a fan, a probe or a house failed or came back
)

// Note is something that people look for afterwards: who ordered what, what failed.
type Note struct {
	At    time.Time
	House string
	Kind  NoteKind
	UID   int64  // of who gave a hand order
	User  string // the name of that user; empty is not known
	Text  string
}

// Note keeps a note, and has everything before it written at once. It copies and returns; one that
// cannot be kept is logged and counted as lost.
func (db *DB) Note(n Note) {
	db.mu.Lock()
	kept := db.put(item{house: n.House, note: &n})
	db.mu.Unlock()
	if !kept {
		db.lose(errFull)
	}
}

var errFull = fmt.Errorf("the queue of %d is full, or closed", queued)

// lose counts and tells what will never be on the disk.
func (db *DB) lose(err error) {
	db.mu.Lock()
	db.status.Lost++
	db.mu.Unlock()
	db.log.Error("not kept in history", "err", err)
}
