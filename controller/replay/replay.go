package replay

import (
	"errors"
	"fmt"
	"io"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/drivers/recording"
)

// Rows is a recording, or several merged.
type Rows interface {
	Next(*recording.Row) error // io.EOF after the last
	Columns() []recording.Column
}

// Options says which part of a recording is replayed and how.
type Options struct {
	From, Until time.Time // rows outside [From, Until) are passed over; zero is no bound
	// LongestS is the longest time without a tick, s, at least 1: longer gaps in the recording are
	// ticked through without readings. 0 is 15 minutes.
	LongestS float64
	// OnChange is told of every tick in which a store's state or stages changed, in order.
	OnChange func(Change)
	// OnTick is told of every tick, in order.
	OnTick func(*Tick)
	// Amend may change what the probes of a house read at a row, before the house is given it.
	Amend func(house int, raw []judge.Raw)
}

// covers reports whether a row of that time is replayed.
func (o Options) covers(at time.Time) bool {
	return (o.From.IsZero() || !at.Before(o.From)) && (o.Until.IsZero() || at.Before(o.Until))
}

// Tick is one tick of one house. The pointers hold only during the call.
type Tick struct {
	Time   time.Time
	StepS  float64          // since the house's last tick, 0 at its first
	House  int              // index into the settings
	Was    *decide.Decision // in force until now
	Result *house.Result
	State  *decide.State
	Sum    *House // added up until now, but for this tick's own reading
}

// Change is one store's new decision. The pointers hold only during the call.
type Change struct {
	Time   time.Time
	House  int // index into the settings
	Store  int
	Result *house.Result
	State  *decide.State
}

// Decision returns the changed store's decision.
func (c *Change) Decision() *decide.StoreDecision { return &c.Result.Decision.Stores[c.Store] }

// Summary is what a replay added up.
type Summary struct {
	First, Last time.Time
	Rows        int64 // rows replayed
	SilentTicks int64 // ticks in gaps, without readings
	Houses      []House
}

// House is the summary of one house.
type House struct {
	Account *ledger.House
	Low     Low     // the lowest crop air
	FrostS  float64 // time with crop air at or under the frost limit
	BlindS  float64 // time without a usable air reading
}

// Low is the lowest crop air and when it was. Known is false where no air was ever read.
type Low struct {
	C     unit.Celsius
	Time  time.Time
	Known bool
}

// ErrNoColumn is returned where no column of the recording belongs to any probe.
var ErrNoColumn = errors.New("no column of the recording belongs to a probe of the config")

const (
	longestS  = 15 * 60
	shortestS = 1 // of a tick without readings: the rest of a stagger may be a rounding error
)

// Run replays rows through the houses of s.
func Run(s *config.Settings, rows Rows, o Options) (*Summary, error) {
	if o.LongestS <= 0 {
		o.LongestS = longestS
	}
	o.LongestS = max(o.LongestS, shortestS)
	runs, err := begin(s, rows.Columns(), &o)
	if err != nil {
		return nil, err
	}
	sum := &Summary{}
	var row recording.Row
	for {
		err := rows.Next(&row)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if !o.covers(row.Time) {
			continue
		}
		if sum.Rows == 0 {
			sum.First = row.Time
		}
		sum.Last = row.Time
		sum.Rows++
		for i := range runs {
			runs[i].advance(&row)
		}
	}
	for i := range runs {
		sum.SilentTicks += runs[i].silent
		sum.Houses = append(sum.Houses, runs[i].sum)
	}
	return sum, nil
}

// run is the replay of one house.
type run struct {
	index   int
	s       *house.Settings
	h       *house.House
	o       *Options
	columns []int // of each probe, -1 for none
	raw     []judge.Raw
	sum     House

	begun  bool
	last   time.Time
	inputs decide.Inputs
	was    decide.Decision
	silent int64
}

// begin binds the recording's columns to the probes.
func begin(s *config.Settings, columns []recording.Column, o *Options) ([]run, error) {
	runs := make([]run, len(s.Houses))
	for i := range s.Houses {
		hs := &s.Houses[i].House
		runs[i] = run{index: i, s: hs, h: house.New(hs, house.State{}), o: o}
		runs[i].was.Window = -1
		runs[i].sum.Account = ledger.New(hs.Name, &hs.Decide)
		runs[i].columns = make([]int, len(hs.Probes))
		runs[i].raw = make([]judge.Raw, len(hs.Probes))
		for p := range hs.Probes {
			runs[i].columns[p] = -1
		}
	}
	found := false
	for k, c := range columns {
		for h := range s.Houses {
			for p, header := range s.Houses[h].Columns {
				if header != "" && header == c.Header {
					runs[h].columns[p], found = k, true
				}
			}
		}
		if h, p, ok := s.FindProbe(c.House, c.Store, c.Probe); ok {
			runs[h].columns[p], found = k, true
		}
	}
	if !found {
		var names []string
		for _, c := range columns {
			names = append(names, c.Header)
		}
		return nil, fmt.Errorf("%w: it has %.200q; name columns house/probe_unit or house/store/probe_unit, or state a probe's column in the config", ErrNoColumn, names)
	}
	return runs, nil
}

// advance ticks up to a row and then with its readings.
func (r *run) advance(row *recording.Row) {
	if r.begun {
		r.idle(row.Time)
	}
	for p, k := range r.columns {
		r.raw[p] = judge.Raw{}
		if k >= 0 && row.OK[k] {
			r.raw[p] = judge.Raw{Value: row.Values[k], OK: true}
		}
	}
	if r.o.Amend != nil {
		r.o.Amend(r.index, r.raw)
	}
	r.tick(row.Time, r.raw)
}

// idle ticks without readings until the next row is no further off than the longest step, or
// than a start that waits only for its stagger.
func (r *run) idle(until time.Time) {
	for {
		step := r.o.LongestS
		if again := r.was.AgainS; again > 0 {
			step = min(step, max(again, shortestS))
		}
		next := r.last.Add(time.Duration(step * float64(time.Second)))
		if !next.Before(until) {
			return
		}
		r.silent++
		r.tick(next, nil)
	}
}

func (r *run) tick(now time.Time, raw []judge.Raw) {
	stepS := 0.0
	if r.begun {
		stepS = now.Sub(r.last).Seconds()
	}
	r.watch(stepS)
	result := r.h.Tick(house.Seen{StepS: stepS, Believed: true, Raw: raw}, now)
	r.sum.Account.Add(&r.s.Decide, &result.Inputs, &r.was, stepS)
	r.sum.Account.Starts(&r.s.Decide, &r.was, &result.Decision)
	state := r.h.Decided()
	for i := range r.s.Decide.Stores {
		is, was := &result.Decision.Stores[i], &r.was.Stores[i]
		if r.o.OnChange != nil && (!r.begun || is.State != was.State || is.Stages != was.Stages) {
			r.o.OnChange(Change{Time: now, House: r.index, Store: i, Result: &result, State: state})
		}
	}
	if r.o.OnTick != nil {
		r.o.OnTick(&Tick{Time: now, StepS: stepS, House: r.index, Was: &r.was, Result: &result, State: state, Sum: &r.sum})
	}
	r.begun, r.last, r.was, r.inputs = true, now, result.Decision, result.Inputs
	if air := result.Inputs.CropLow; air.Quality.Usable() && (!r.sum.Low.Known || air.C < r.sum.Low.C) {
		r.sum.Low = Low{C: air.C, Time: now, Known: true}
	}
}

// watch counts the time since the last tick in which the crop's air was as it was seen then.
func (r *run) watch(stepS float64) {
	air, policy := r.inputs.CropLow, &r.s.Decide.Policies[r.was.Window+1]
	switch {
	case !r.begun:
	case !air.Quality.Usable():
		r.sum.BlindS += stepS
	case policy.Crop && air.C <= policy.Frost:
		r.sum.FrostS += stepS
	}
}
