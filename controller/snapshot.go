package controller

import (
	"fmt"
	"slices"
	"time"

	"loambank/config"
	"loambank/controller/alarm"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/sentence"
)

// Snapshot is one house as of one tick. It is never changed.
type Snapshot struct {
	Settings *config.House
	Currency string // three letters, empty where no price is stated
	Time     time.Time
	Inputs   decide.Inputs
	Decision decide.Decision // as asked for
	State    decide.State
	Verdicts []judge.Verdict // in the order of the house's probes
	Down     []string        // names of fans that do not obey
	Account  *ledger.House   // up to this tick
	Sentence string
	Tonight  learn.Tonight
	Found    Found
	// Saved is what was saved of the day, the month and the season so far; one without a beginning is
	// not told.
	Saved [ledger.Spans]ledger.Saving
	// Look is the house as one who commissions it sees it.
	Look         commission.Look
	Commissioned Commissioned

	Ticked time.Time     // when it was, by the machine's clock
	Took   time.Duration // how long it took, by the machine's clock
	Tick   time.Duration // how long it is to the next at most, by the machine's clock
}

// take copies what others may see, after the house has remembered its account.
func (r *runner) take(result *house.Result, now time.Time, took time.Duration) *Snapshot {
	s := &Snapshot{
		Settings: r.s, Currency: r.currency, Time: now, Inputs: result.Inputs, Decision: result.Decision,
		State: *r.house.Decided(), Verdicts: slices.Clone(result.Verdicts),
		Account: r.memory.Load().account, Ticked: time.Now(), Took: took, Tick: r.board.clock.machine(r.tick),
	}
	view := sentence.View{
		Settings: &r.s.House.Decide, Inputs: &s.Inputs, Decision: &s.Decision, State: &s.State,
		Zone: r.s.House.Decide.Season.Site.Zone,
	}
	for i := range s.Verdicts {
		if v := &s.Verdicts[i]; v.Quality.Usable() {
			view.OldestS = max(view.OldestS, v.AgeS)
		}
	}
	for _, f := range r.fans {
		if f.err != nil {
			s.Down = append(s.Down, f.stanza.Name)
			view.Disobey[f.store][f.index] = true
		}
	}
	s.Tonight = r.tonight(result, now)
	s.Found = r.found()
	view.Tonight, view.Sunrise = &s.Tonight, r.nights.sunrise()
	s.Sentence = r.speaker.Tell(view)
	s.Saved = r.savings.now(s.Account)
	s.Look = r.look(result, &s.Decision)
	s.Look.At, s.Look.TickS, s.Look.Speed = s.Ticked, r.tick.Seconds(), r.board.clock.speed
	s.Commissioned = r.commissioned(&s.Look, now)
	return s
}

// View is the farm as of now, for those who show it. It is never changed.
type View struct {
	Houses   []Shown // those that have ticked
	Waiting  []string
	Believed bool // the wall clock is a calendar
	Reloaded bool // the settings file that was last read is the one in force
	Kept     Kept // what is on disk; the zero value where nothing is to be kept
	Alarm    [alarm.Causes]bool
	History  *history.Status // nil where none is kept
}

// Sounds reports whether the bell sounds.
func (v *View) Sounds() bool { return v.Alarm != [alarm.Causes]bool{} }

// lateBy is how far a tick may be late, besides three ticks, before a house counts as stuck.
const lateBy = 10 * time.Second

// Stuck names the houses that have not ticked for long, each with how long that is. now is by the
// machine's clock.
func (v *View) Stuck(now time.Time) (all []string) {
	for _, s := range v.Houses {
		if age := now.Sub(s.Ticked); age > 3*s.Tick+lateBy {
			all = append(all, fmt.Sprintf("%s has not ticked for %v", s.Settings.House.Name, age.Round(time.Second)))
		}
	}
	return all
}

// lookAtDisk ends a sentence about what cannot be written.
const lookAtDisk = ". The fans run on as before. Look whether the disk of the state directory is full, or can no longer be written."

// Troubles are what is wrong with the farm, but with no one house, each a sentence.
func (v *View) Troubles() (all []string) {
	if v.Kept.Fault != "" {
		all = append(all, "NOT KEPT: counters stand still, and a restart forgets what happens now: "+v.Kept.Fault+lookAtDisk)
	}
	if v.Kept.Lost {
		all = append(all, "The ledger was damaged when the program started: every counter began at zero. The damaged files are kept in the state directory.")
	}
	if !v.Reloaded {
		all = append(all, "The settings file has faults; older settings are in force. `loambank check` names the faults.")
	}
	if !v.Believed {
		all = append(all, "The clock is not set: every window is open, at the base price. Connect the board to a time service, or give it a battery clock.")
	}
	if h := v.History; h != nil && h.LastError != "" {
		all = append(all, "The history is not written: "+h.LastError+lookAtDisk)
	}
	if h := v.History; h != nil && h.Damaged > 0 {
		all = append(all, "The history was damaged and begins anew. The damaged files are kept in the state directory.")
	}
	return all
}

// Shown is one house, and its account as far as it is safe from a power cut.
type Shown struct {
	*Snapshot
	Counted *ledger.House // nil while nothing is
}

// View returns the farm as of now. It is safe from any goroutine.
func (c *Controller) View() *View {
	v := &View{Believed: c.board.believed(), Reloaded: !c.stale.Load(), Alarm: *c.sounding.Load()}
	if c.board.keeper != nil {
		v.Kept = *c.board.keeper.kept.Load()
	}
	if c.board.history != nil {
		status := c.board.history.Status()
		v.History = &status
	}
	for _, r := range *c.runners.Load() {
		s := r.snapshot.Load()
		if s == nil {
			v.Waiting = append(v.Waiting, r.s.House.Name)
			continue
		}
		shown := Shown{Snapshot: s, Counted: s.Account}
		if c.board.keeper != nil {
			shown.Counted = v.Kept.Accounts[s.Settings.House.Name]
		}
		v.Houses = append(v.Houses, shown)
	}
	return v
}
