package judge

import "math"

// Raw is one reading as a driver gave it: °C, a share 0 to 1, W, 0 or 1 of a contact, ppm, lux,
// Bq/m³. The zero value is no reading in this tick.
type Raw struct {
	Value float64
	OK    bool
}

// State is what Probe remembers of one probe between ticks: plain data that survives JSON. The
// zero value is a probe that was never read.
type State struct {
	Value   float64 // the last accepted
	AgeS    float64 // since then, s
	SilentS float64 // since the last reading of any kind, s
	Quality Quality // of the last verdict
	Cause   Cause

	Recovered int     // good readings in a row since it was bad
	Trial     Trial   // of a jump
	Anchor    float64 // the value it has not left by more than StuckBand
	StillS    float64 // for this long, s
}

// Trial is a jump that waits to be confirmed. The zero value is none.
type Trial struct {
	Value  float64 // the newest reading
	AgeS   float64 // since then, s
	N      int     // readings in a row that agree with it
	StoodS float64 // since the first of those, s
	JumpS  float64 // since the first jump that nothing has settled, s
	Tries  int     // readings since then
}

const (
	confirmS = 5 * minuteS // a jump that stood this long is believed at its second reading
	pinned   = 0.005       // from either end of the humidity scale
	longestS = 1e9         // times are counted up to here, 32 years
)

// Probe judges what one probe said, or did not say, in a tick of stepS seconds.
//
// A first reading is good at once: a board that starts must act within seconds. A reading that
// cannot be true makes the probe bad at once; afterwards Recover readings in a row, none of which
// jumps from the one before, make it good again, and until then it is doubtful with the newest
// of them as its value. A jump keeps the value from before it, doubtful, until as many readings,
// or two over five minutes, have stayed there; when none settles within StaleS and twice as many
// readings, it is bad.
//
// A tick without a reading leaves the last verdict standing until ticks without one add up to
// StaleS: a long step that ends in a reading is not silence. A stepS that is no time counts as 0.
//
// It moves st on and keeps neither pointer.
func Probe(s *Settings, st *State, raw Raw, stepS float64) Verdict {
	st.wait(stepS)
	if raw.OK {
		st.SilentS = 0
		if c := refuse(s, raw.Value); c != Fine {
			st.bad(c)
		} else {
			st.reading(s, raw.Value)
		}
	} else {
		st.silence(s)
	}
	return Verdict{Value: st.Value, Quality: st.Quality, Cause: st.Cause, AgeS: st.AgeS}
}

// seconds makes a time of any number.
func seconds(stepS float64) float64 {
	if !(stepS > 0) {
		return 0
	}
	return min(stepS, longestS)
}

func (st *State) wait(stepS float64) {
	stepS = seconds(stepS)
	st.AgeS = min(st.AgeS+stepS, longestS)
	st.SilentS = min(st.SilentS+stepS, longestS)
	if t := &st.Trial; t.N > 0 {
		t.AgeS = min(t.AgeS+stepS, longestS)
		t.StoodS = min(t.StoodS+stepS, longestS)
		t.JumpS = min(t.JumpS+stepS, longestS)
	}
}

// refuse says why v cannot be a reading at all, or Fine.
func refuse(s *Settings, v float64) Cause {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return NotANumber
	case s.Role.Temperature() && (math.Abs(v-85) < 0.001 || math.Abs(v+127) < 0.001):
		// A DS18B20 says 85.000 after power-on, before it measured (sensors-S015), and common
		// software says −127 for one that is gone. House and soil are never at either.
		return ErrorValue
	case s.Role.Contact() && v != 0 && v != 1:
		return ErrorValue
	case !(v >= s.Min && v <= s.Max):
		return OutOfRange
	}
	return Fine
}

func (st *State) silence(s *Settings) {
	never := st.Quality == Bad && st.Cause == Missing
	if !never && s.StaleS > 0 && st.SilentS > s.StaleS {
		st.bad(Stale)
	}
}

func (st *State) bad(c Cause) {
	st.Quality, st.Cause = Bad, c
	st.Recovered = 0
	st.Trial = Trial{}
}

// reading takes in a reading that is possible in itself.
func (st *State) reading(s *Settings, v float64) {
	jumped := s.JumpBand > 0 && math.Abs(v-st.Value) > s.JumpBand+s.JumpPerS*st.AgeS
	switch {
	case st.Quality == Bad && st.Cause == Missing:
		st.move(v)
		st.accept(s, v)
	case st.Quality == Bad || st.Cause == Recovering:
		if st.Recovered == 0 || jumped {
			st.Recovered = 0
			st.move(v)
		}
		st.recover(s, v)
	case jumped:
		st.jump(s, v)
	default:
		st.accept(s, v)
	}
}

func (st *State) recover(s *Settings, v float64) {
	st.Recovered++
	st.accept(s, v)
	if st.Recovered < s.Recover {
		st.Quality, st.Cause = Doubtful, Recovering
	}
}

func (st *State) jump(s *Settings, v float64) {
	t := &st.Trial
	if t.N == 0 || math.Abs(v-t.Value) > s.JumpBand+s.JumpPerS*t.AgeS {
		t.N, t.StoodS = 0, 0
	}
	t.Value, t.AgeS = v, 0
	t.N++
	t.Tries = min(t.Tries+1, 2*s.Recover+1)
	switch {
	case t.N >= s.Recover, t.N >= 2 && t.StoodS >= confirmS:
		st.accept(s, v)
	case s.StaleS > 0 && t.JumpS > s.StaleS && t.Tries > 2*s.Recover:
		st.bad(Jump)
	default:
		st.Quality, st.Cause = Doubtful, Jump
	}
}

// accept makes v the value, and good unless it stands still or at the end of its scale.
func (st *State) accept(s *Settings, v float64) {
	st.Trial = Trial{}
	if math.Abs(v-st.Anchor) > s.StuckBand {
		st.move(v)
	} else {
		st.StillS = min(st.StillS+st.AgeS, longestS)
	}
	st.Value, st.AgeS = v, 0
	switch {
	case s.Role == Humidity && (v <= pinned || v >= 1-pinned):
		st.Quality, st.Cause = Doubtful, Pinned
	case s.StuckS > 0 && st.StillS > s.StuckS:
		st.Quality, st.Cause = Doubtful, Stuck
	default:
		st.Quality, st.Cause = Good, Fine
	}
}

// move starts the count of standing still anew; the time before v says nothing of it.
func (st *State) move(v float64) { st.Anchor, st.StillS, st.AgeS = v, 0, 0 }
