package controller

import (
	"slices"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
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
	Errors   []int64         // failed readings of each probe so far
	Down     []string        // names of fans that do not obey
	Account  *ledger.House
	Sentence string
}

// take copies what others may see.
func (r *runner) take(result *house.Result, now time.Time) *Snapshot {
	s := &Snapshot{
		Settings: r.s, Currency: r.currency, Time: now, Inputs: result.Inputs, Decision: result.Decision,
		State: *r.house.Decided(), Verdicts: slices.Clone(result.Verdicts), Account: r.account.Clone(),
	}
	oldest := 0.0
	for i, p := range r.probes {
		s.Errors = append(s.Errors, p.errors)
		if v := &result.Verdicts[i]; v.Quality.Usable() {
			oldest = max(oldest, v.AgeS)
		}
	}
	view := sentence.View{
		Settings: &r.s.House.Decide, Inputs: &s.Inputs, Decision: &s.Decision, State: &s.State,
		Zone: r.s.House.Decide.Season.Site.Zone, OldestS: oldest,
	}
	for _, f := range r.fans {
		if f.err != nil {
			s.Down = append(s.Down, f.stanza.Name)
			view.Disobey[f.store][f.index] = true
		}
	}
	s.Sentence = r.speaker.Tell(view)
	return s
}
