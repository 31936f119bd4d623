package decide

import (
	"time"

	"loambank/controller/season"
	"loambank/controller/tariff"
)

// lateS is how late a tick may come to an action that fell due: longer ago is missed, and missed
// ones are not made up.
const lateS = 60

// setBackS is how far the clock may have been set back since an action fired for it not to fire
// again; further ahead than that, the clock was wrong when it fired.
const setBackS = 86400

// pendingS is how long a due action waits for its minimum rest before it is dropped, s.
const pendingS = 15 * 60

// calendar renews the slot when now has left it and starts the actions that fell due.
func (t *tick) calendar(now time.Time) {
	slot, unix := &t.st.Slot, now.Unix()
	if unix >= slot.From && unix < slot.Until && slot.Believed == t.in.Believed {
		return
	}
	if !t.in.Believed {
		*slot = t.unbelieved(unix)
		return
	}
	*slot = t.slot(now)
	for i := range t.s.Stores {
		if ss := &t.st.Stores[i]; ss.DryUnix != slot.Midnight {
			ss.DryUnix, ss.DryS = slot.Midnight, 0
		}
	}
	t.fire(now)
}

// unbelieved is the slot of a board that does not know the time: no window closes anything, the
// base price holds, and the fallback duty reckons with a winter's night.
func (t *tick) unbelieved(unix int64) Slot {
	best := time.January
	for m := time.January; m <= time.December; m++ {
		if t.s.Tariff.Shares[m-1] > t.s.Tariff.Shares[best-1] {
			best = m
		}
	}
	const hour = 3600
	return Slot{
		From: unix, Until: unix + hour, Window: -1, Night: true, Cold: true,
		Prices: tariff.Base(t.s.Tariff, best),
	}
}

// slot asks the calendar and how long its answers hold.
func (t *tick) slot(now time.Time) Slot {
	site := t.s.Season.Site
	local := site.Local(now)
	year, month, day := local.Date()
	window, until := season.First(site, t.s.Season.Windows, now)
	prices, priced := tariff.At(t.s.Tariff, now)
	until = earlier(until, priced)
	until = earlier(until, season.NextDue(t.s.Season, now))

	midnight, tomorrow := season.DayBounds(site, year, month, day)
	until = earlier(until, tomorrow)
	slot := Slot{
		From: now.Unix(), Believed: true, Window: int8(window), Midnight: midnight.Unix(),
		Cold: t.s.Cold.Contains(year, month, day), Prices: prices, Until: until.Unix(),
	}
	if old := &t.st.Slot; old.Believed && old.Sun.Known && old.Midnight == slot.Midnight {
		slot.Sun = old.Sun
	} else {
		sun := season.DaylightOn(site, year, month, day)
		slot.Sun = Sun{
			Known: true, Polar: sun.Polar, Rise: sun.Sunrise.Unix(), Set: sun.Sunset.Unix(),
			SetBefore: season.DaylightOn(site, year, month, day-1).Sunset.Unix(),
		}
	}
	slot.light()
	return slot
}

// light fills in what the day's sun says, and from when on it says something else.
func (s *Slot) light() {
	sun := &s.Sun
	switch {
	case sun.Polar == season.PolarNight:
		s.Night = true
	case sun.Polar == season.PolarDay:
	case s.From < sun.Rise:
		s.Night, s.Sunset, s.Until = true, sun.SetBefore, min(s.Until, sun.Rise)
	case s.From < sun.Set:
		s.Sunset, s.Until = sun.SetBefore, min(s.Until, sun.Set)
	default:
		s.Night, s.Sunset = true, sun.Set
	}
}

// earlier returns the earlier of two times; a zero time is never.
func earlier(a, b time.Time) time.Time {
	if b.IsZero() || (!a.IsZero() && a.Before(b)) {
		return a
	}
	return b
}

// fire marks the calendar actions that fell due since the last tick. A jump of the clock makes
// nothing due but what the elapsed time covers.
func (t *tick) fire(now time.Time) {
	st := t.st
	if len(t.s.Actions) == 0 || st.LastUnix == 0 {
		return
	}
	from := max(st.LastUnix, t.unix-int64(t.dt)-lateS)
	var buf [MaxActions]season.Firing
	for _, due := range season.Due(buf[:0], t.s.Season, time.Unix(from, 0), now) {
		at, fired := due.At.Unix(), st.Fired[due.Action]
		if at <= fired && fired-t.unix < setBackS {
			continue
		}
		st.Fired[due.Action] = at
		a := &t.s.Actions[due.Action]
		for i := range t.s.Stores {
			if a.Stores[i] {
				ss := &st.Stores[i]
				ss.Action, ss.ActionRunS, ss.ActionDueS = int8(due.Action)+1, a.RunS, pendingS
			}
		}
	}
}
