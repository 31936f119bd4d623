package ledger

import (
	"encoding/json"
	"slices"
	"time"
)

// Checkpoint is all that must outlive the program: the accounts of all houses, also of those that
// are gone, and what each house remembers. The zero value is a farm that never ran.
type Checkpoint struct {
	Unix     int64 // wall time at which it was taken, s
	Believed bool  // that wall time was believed
	Houses   []Entry
}

// Entry is one house of a checkpoint, under its account's name.
type Entry struct {
	Account House
	// State is what the house remembers, as JSON of whoever ticks it; empty for one that is gone.
	// The ledger only keeps it: one that its owner cannot read costs no counter.
	State json.RawMessage `json:",omitempty"`
}

// DownS returns the time that passed between the checkpoint and now, s, and whether it may be
// counted: the wall clock was believed then and is now, and has not gone back.
func (c *Checkpoint) DownS(now time.Time, believed bool) (downS float64, counts bool) {
	downS = now.Sub(time.Unix(c.Unix, 0)).Seconds()
	if !c.Believed || !believed || downS < 0 {
		return 0, false
	}
	return downS, true
}

// Account returns the account of the named house, or nil.
func (c *Checkpoint) Account(name string) *House {
	if e := c.house(name); e != nil {
		return &e.Account
	}
	return nil
}

// house returns the entry of that name, or nil.
func (c *Checkpoint) house(name string) *Entry {
	i := slices.IndexFunc(c.Houses, func(e Entry) bool { return e.Account.Name == name })
	if i < 0 {
		return nil
	}
	return &c.Houses[i]
}

// with returns the checkpoint with those houses of before that it does not have, without state.
func (c Checkpoint) with(before *Checkpoint) Checkpoint {
	c.Houses = slices.Clone(c.Houses)
	for i := range before.Houses {
		account := &before.Houses[i].Account
		if c.house(account.Name) == nil {
			c.Houses = append(c.Houses, Entry{Account: *account})
		}
	}
	return c
}

// clone returns a copy that shares nothing with c.
func (c Checkpoint) clone() Checkpoint {
	c.Houses = slices.Clone(c.Houses)
	for i := range c.Houses {
		e := &c.Houses[i]
		e.Account, e.State = *e.Account.Clone(), slices.Clone(e.State)
	}
	return c
}
