package season

import "time"

const daySeconds = 86400

// civil is a calendar date without a zone: days since 1970-01-01.
type civil int64

func civilOf(year int, month time.Month, day int) civil {
	return civil(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / daySeconds)
}

func (d civil) date() (year int, month time.Month, day int) {
	return time.Unix(int64(d)*daySeconds, 0).UTC().Date()
}

func (d civil) weekday() time.Weekday {
	const first = 4 // 1970-01-01 was a Thursday
	return time.Weekday(((int64(d)+first)%7 + 7) % 7)
}

// dayStart returns the first instant of the local date, Unix seconds.
func dayStart(zone *time.Location, d civil) int64 {
	first, _ := instants(zone, int64(d)*daySeconds)
	return first
}

// dateOf returns the local date of which now is part. Where midnight happens twice the new date
// stays once it has begun.
func dateOf(zone *time.Location, now int64) (d civil, end int64) {
	d = civilOf(time.Unix(now, 0).In(zone).Date())
	for {
		if end = dayStart(zone, d+1); now < end {
			return d, end
		}
		d++
	}
}

// instants returns the first and the last instant at which the zone's clock shows wall, all in Unix
// seconds, wall as if its fields were UTC. Where the clock skips wall both are the end of the gap.
//
// It samples offsets and does not ask time.ZoneBounds, whose bounds of the 31 December of a leap
// year after 2037 exclude that day.
func instants(zone *time.Location, wall int64) (first, last int64) {
	const reach = 16 * 3600 // no zone was ever further from UTC
	early, late := offsetAt(zone, wall-reach), offsetAt(zone, wall+reach)
	first, last = wall-max(early, late), wall-min(early, late)
	atFirst, atLast := offsetAt(zone, first) == wall-first, offsetAt(zone, last) == wall-last
	switch {
	case atFirst && atLast:
		return first, last
	case atFirst:
		return first, first
	case atLast:
		return last, last
	}
	for lo, hi := wall-reach, wall+reach; ; {
		if hi-lo == 1 {
			return hi, hi
		}
		if mid := lo + (hi-lo)/2; mid+offsetAt(zone, mid) < wall {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// offsetAt is the zone's offset from UTC, s.
func offsetAt(zone *time.Location, unix int64) int64 {
	_, offset := time.Unix(unix, 0).In(zone).Zone()
	return int64(offset)
}
