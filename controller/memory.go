package controller

import (
	"encoding/json"
	"log/slog"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/ledger"
)

// memory is what a house has done and remembers as of its last tick. It is never changed.
type memory struct {
	account *ledger.House
	saved   house.Saved
	learned learned
}

// remember makes known what the house has done and remembers.
func (r *runner) remember() {
	r.memory.Store(&memory{account: r.account.Clone(), saved: r.house.Save(), learned: r.know()})
}

// entry is a memory as a checkpoint keeps it.
func (m *memory) entry(log *slog.Logger) ledger.Entry {
	state, err := json.Marshal(m.saved)
	if err != nil { // a number that JSON does not know; the account must not be lost over it
		log.Error("what the house remembers cannot be kept", keyHouse, m.account.Name, keyError, err)
		state = nil
	}
	return ledger.Entry{Account: *m.account, State: state}
}

// book books what the fans did since the last tick, which no reading ends: for a stop, or before
// the settings change. For what the house decides on, that time passes with the next tick.
func (r *runner) book() {
	if !r.begun {
		return
	}
	sinceS := r.board.clock.Now().Sub(r.last).Seconds()
	r.account.Add(&r.s.House.Decide, &decide.Inputs{}, &r.inForce, sinceS-r.bookedS)
	r.bookedS = sinceS
	r.remember()
}
