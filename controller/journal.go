package controller

import (
	"errors"
	"fmt"
	"time"

	"loambank/controller/history"
	"loambank/controller/house"
)

// openHistory opens the history of a state directory that the keeper holds. The farm runs on without
// one, which is said.
func (c *Controller) openHistory(dir string) {
	if c.board.keeper.held() != nil {
		c.log.Error("no history is kept: the state directory cannot be had")
		return
	}
	db, notes, err := history.Open(dir, c.board.clock.Now(), c.log)
	if err != nil {
		c.log.Error("no history is kept", keyError, err)
		return
	}
	for _, a := range notes.Aside {
		c.log.Error("history cannot be gone on with and is kept aside; a new one begins", "kept_as", a.KeptAs, keyError, a.Err)
	}
	c.board.history = db
}

// closeHistory has all of it written.
func (c *Controller) closeHistory() error {
	if c.board.history == nil {
		return nil
	}
	return c.board.history.Close()
}

// held is why the keeper does not hold its directory, or nil.
func (k *keeper) held() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.file == nil {
		return errors.Join(k.err, errors.New("the state directory is not held"))
	}
	return nil
}

// begins notes in the journal what the next tick of the house begins from.
func (r *runner) begins(kind history.Kind, saved house.Saved) {
	if r.board.history == nil {
		return
	}
	r.board.history.Begin(history.Begin{
		House: &r.s.House, Kind: kind, Now: r.now(), Settings: r.source, Saved: saved,
	})
}

// now is the wall time at the site.
func (r *runner) now() time.Time { return r.s.House.Decide.Season.Site.Local(r.board.clock.Now()) }

// journal keeps what a tick was given, what came of it, and who ordered what.
func (r *runner) journal(now time.Time, seen *house.Seen, result *house.Result, said []said) {
	db := r.board.history
	if db == nil {
		r.trust() // no replay needs to know when
		return
	}
	for _, s := range said {
		db.Note(history.Note{
			At: now, House: r.s.House.Name, Kind: history.HandNote, UID: s.who.UID, User: s.who.Name, Text: s.what,
		})
	}
	if db.Record(r.s.House.Name, now, seen, result, r.account) {
		r.trust()
		r.begins(history.Key, r.house.Save())
	}
}

// fault notes that something failed or came back.
func (r *runner) fault(format string, args ...any) {
	if r.board.history == nil {
		return
	}
	r.board.history.Note(history.Note{
		At: r.now(), House: r.s.House.Name, Kind: history.FaultNote, Text: fmt.Sprintf(format, args...),
	})
}

// Person is who gave an order, as the kernel or the web server knows it. UID is −1 where it is not
// known.
type Person struct {
	UID  int64
	Name string
}

// String names the person for a log.
func (p Person) String() string {
	switch {
	case p.UID < 0 && p.Name == "":
		return "unknown"
	case p.UID < 0:
		return p.Name
	case p.Name == "":
		return fmt.Sprintf("uid %d", p.UID)
	}
	return fmt.Sprintf("%s (uid %d)", p.Name, p.UID)
}
