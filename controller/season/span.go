package season

import "time"

// Span is when a window or a price period holds: on its dates and days, during its hours. The zero
// value is always.
type Span struct {
	Dates Dates
	Hours Hours
	Days  Days
}

// On returns the stretch that starts on the local date, from included and to not. ok is false where
// none does. to may lie on the next date.
func (s Span) On(site Site, year int, month time.Month, day int) (from, to time.Time, ok bool) {
	d := civilOf(year, month, day)
	a := newAlmanac(site, d)
	first, last, ok := s.on(&a, d)
	if !ok {
		return time.Time{}, time.Time{}, false
	}
	return time.Unix(first, 0).In(a.zone), time.Unix(last, 0).In(a.zone), true
}

// Covers reports whether the span covers now.
func (s Span) Covers(site Site, now time.Time) bool {
	covers, _ := s.Holds(site, now)
	return covers
}

// Holds reports whether the span covers now, and the instant up to which, itself excluded, that
// certainly stays so: after now, at the latest the next local midnight.
func (s Span) Holds(site Site, now time.Time) (covers bool, until time.Time) {
	at := now.Unix()
	today, end := dateOf(site.zone(), at)
	a := newAlmanac(site, today)
	covers, change := s.holds(&a, at, end)
	return covers, time.Unix(change, 0).In(a.zone)
}

// First returns the index of the first span that covers now, -1 for none, and the instant up to
// which, itself excluded, that certainly stays the answer: after now, at the latest the next local
// midnight.
func First(site Site, spans []Span, now time.Time) (index int, until time.Time) {
	at := now.Unix()
	today, change := dateOf(site.zone(), at)
	a := newAlmanac(site, today)
	index = -1
	for i := range spans {
		covers, next := spans[i].holds(&a, at, change)
		change = next
		if covers {
			index = i
			break
		}
	}
	return index, time.Unix(change, 0).In(a.zone)
}

// holds is Holds with end no later than the end of the almanac's base date; until is at most end.
func (s *Span) holds(a *almanac, now, end int64) (covers bool, until int64) {
	if !s.Hours.set {
		return s.starts(a.base), end
	}
	first, last := a.base, a.base
	if s.Hours.overnight() {
		first--
	}
	if s.Hours.sunny() { // an offset moves a start over midnight either way
		first, last = a.base-almanacDays, a.base+1
	}
	until = end
	for d := first; d <= last; d++ {
		from, to, ok := s.on(a, d)
		switch {
		case !ok || to <= now:
		case from <= now:
			covers, until = true, min(until, to)
		default:
			until = min(until, from)
		}
	}
	return covers, until
}

// starts reports whether the span may start on the date.
func (s *Span) starts(d civil) bool {
	return s.Days.Contains(d.weekday()) && s.Dates.Contains(d.date())
}

// on returns the stretch that starts on the date, Unix seconds.
func (s *Span) on(a *almanac, d civil) (from, to int64, ok bool) {
	if !s.starts(d) {
		return 0, 0, false
	}
	from, to = dayStart(a.zone, d), dayStart(a.zone, d+1)
	if !s.Hours.set || from == to { // from == to: the zone skipped this date
		return from, to, from < to
	}
	end := d
	if s.Hours.overnight() {
		end++
	}
	from, to = a.start(s.Hours.from, d), a.end(s.Hours.to, end)
	return from, to, from < to
}
