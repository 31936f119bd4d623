package season

import "time"

// almanac keeps the sun of the dates around one date, so that many windows ask for each once.
type almanac struct {
	site Site
	zone *time.Location
	base civil
	suns [2*almanacDays + 1]sunDay
	have [2*almanacDays + 1]bool
}

// almanacDays is how far from the base date a window that covers it may look. A start is at most
// 12 h of offset before the sunrise of the next date; an end at most 12 h after the sunrise that
// follows the date before.
const almanacDays = 2

func newAlmanac(site Site, base civil) almanac {
	return almanac{site: site, zone: site.zone(), base: base}
}

func (a *almanac) sun(d civil) *sunDay {
	i := d - a.base + almanacDays
	if !a.have[i] {
		a.suns[i], a.have[i] = sunOn(a.site, d), true
	}
	return &a.suns[i]
}

// start returns when the edge on that date comes first, Unix seconds.
func (a *almanac) start(e edge, d civil) int64 {
	first, _ := a.instants(e, d)
	return first
}

// end returns when the edge on that date comes last, Unix seconds.
func (a *almanac) end(e edge, d civil) int64 {
	_, last := a.instants(e, d)
	return last
}

func (a *almanac) instants(e edge, d civil) (first, last int64) {
	switch {
	case e.word == sunrise:
		first = a.sun(d).rise + int64(e.minutes)*60
		return first, first
	case e.word == sunset:
		first = a.sun(d).set + int64(e.minutes)*60
		return first, first
	case e.minutes == endOfDay:
		first = dayStart(a.zone, d+1)
		return first, first
	}
	return instants(a.zone, int64(d)*daySeconds+int64(e.minutes)*60)
}
