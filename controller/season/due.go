package season

import (
	"slices"
	"time"
)

// Firing is one action that fell due.
type Firing struct {
	Action int // index into Settings.Actions
	At     time.Time
}

// Due appends to buf what fell due after from, up to and including to, in time order, and those of
// one instant in the order of the actions. Of an action that came more than once only the latest is
// kept: missed ones are not made up.
func Due(buf []Firing, s Settings, from, to time.Time) []Firing {
	if !to.After(from) {
		return buf
	}
	had := len(buf)
	for i := range s.Actions {
		if at, ok := s.Actions[i].latest(from, to); ok {
			buf = append(buf, Firing{Action: i, At: at})
		}
	}
	slices.SortStableFunc(buf[had:], func(a, b Firing) int { return a.At.Compare(b.At) })
	return buf
}

// latest returns the last time after from, up to and including to. It halves the stretch instead of
// walking through it, which could be years of minutes.
func (s Schedule) latest(from, to time.Time) (time.Time, bool) {
	at := s.Next(from)
	if at.IsZero() || at.After(to) {
		return time.Time{}, false
	}
	none := to // nothing comes between here and to
	for {
		probe := at
		if gap := none.Sub(at); gap > time.Minute {
			probe = at.Add(gap / 2)
		}
		next := s.Next(probe)
		switch {
		case !next.IsZero() && !next.After(to):
			at = next
		case probe.Equal(at):
			return at, true
		default:
			none = probe
		}
	}
}

// NextDue returns the earliest time after that at which an action falls due, or zero where none
// does.
func NextDue(s Settings, after time.Time) time.Time {
	var earliest time.Time
	for i := range s.Actions {
		at := s.Actions[i].Next(after)
		if !at.IsZero() && (earliest.IsZero() || at.Before(earliest)) {
			earliest = at
		}
	}
	return earliest
}
