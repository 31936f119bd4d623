package recording

import "time"

// zone turns local times into instants. Its times are unix seconds, civil ones as if in UTC.
type zone struct {
	loc *time.Location
	// Between lo and hi, civil, the offset off holds alone.
	lo, hi, off int64
}

const (
	day    = 86400
	widest = 27 * 3600 // no two offsets of the world lie further apart, s
	often  = 6 * 3600  // no offset that is looked for holds for a shorter time, s
)

// instants returns the instant, or both instants, first and second, at which clocks showed a
// civil time. In the gap where clocks were put forward there is none: then both are the instant
// that a clock not put forward would have shown, and gap is true.
func (z *zone) instants(civil int64) (first, second int64, gap bool) {
	if z.lo <= civil && civil < z.hi {
		return civil - z.off, civil - z.off, false
	}
	offs := z.around(civil)
	if len(offs) == 1 {
		return civil - offs[0], civil - offs[0], false
	}
	found := false
	for _, off := range offs {
		at := civil - off
		if z.offset(at) != off {
			continue
		}
		if !found {
			first, second, found = at, at, true
		}
		first, second = min(first, at), max(second, at)
	}
	if found {
		return first, second, false
	}
	// Before the gap the first offset held: it takes the time past the change.
	return civil - offs[0], civil - offs[0], true
}

// around returns the offsets that hold near the day of a civil time, in their order. It asks for
// samples: the standard library's bounds of an offset are wrong on the last day of leap years.
func (z *zone) around(civil int64) []int64 {
	begin := civil - ((civil%day)+day)%day
	var offs []int64
	for t := begin - widest; t <= begin+day+widest; t += often {
		if off := z.offset(t); len(offs) == 0 || off != offs[len(offs)-1] {
			offs = append(offs, off)
		}
	}
	if len(offs) == 1 {
		z.lo, z.hi, z.off = begin, begin+day, offs[0]
	}
	return offs
}

func (z *zone) offset(t int64) int64 {
	_, off := time.Unix(t, 0).In(z.loc).Zone()
	return int64(off)
}
