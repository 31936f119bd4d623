package recording

import (
	"strings"
	"time"
)

// when turns a written time into an instant not before that of r.ahead, and keeps what the next
// row's time must be compared with.
func (r *Reader) when(line int, cell string) (time.Time, error) {
	s, ok := parseStamp(strings.TrimSpace(cell))
	switch {
	case !ok:
		return time.Time{}, r.at(line, "time %s is not understood; write it like 2026-01-31T17:05:00+01:00", show(cell))
	case !s.zoned && r.o.Zone == nil:
		return time.Time{}, r.at(line, "time %s has no offset; pass --zone", show(cell))
	}
	at, gap := s.civil-s.offset, false
	if !s.zoned {
		at, gap = r.local(s)
	}
	t := time.Unix(at, s.nano).UTC()
	if r.o.Zone != nil {
		t = t.In(r.o.Zone)
	}
	if r.full && t.Before(r.ahead.Time) {
		if r.gap {
			return t, r.at(line, "time goes back after a local time that the zone's clocks never showed; "+
				"if the file keeps standard time all year, write its offset into the times")
		}
		return t, r.at(line, "time goes back from %s to %s; sort the file", r.ahead.Time.Format(time.RFC3339), t.Format(time.RFC3339))
	}
	if r.full {
		r.step = t.Sub(r.ahead.Time)
	}
	if gap {
		r.stats.InGap++
	}
	r.civil, r.gap = s.civil, gap
	return t, nil
}

// local finds the instant of a local time. In a repeated hour it is the first pass, but the second
// for a time that would go back, or that stands still in a recording of steps no shorter than what
// is repeated: an hourly recording has the repeated hour as two equal times.
func (r *Reader) local(s stamp) (at int64, gap bool) {
	first, second, gap := r.zone.instants(s.civil)
	if first == second || !r.full {
		return first, gap
	}
	firstAt, secondAt := time.Unix(first, s.nano), time.Unix(second, s.nano)
	still := firstAt.Equal(r.ahead.Time) && r.step >= secondAt.Sub(firstAt)
	if !still && !firstAt.Before(r.ahead.Time) {
		return first, false
	}
	if s.civil <= r.civil && secondAt.After(r.ahead.Time) {
		r.stats.SecondPasses++
	}
	return second, false
}
