package chart

import (
	"math"
	"time"
)

// scale is a value axis: from low to high in round steps.
type scale struct {
	low, high, step float64
}

// scaleOf fits an axis around all that a panel shows.
func scaleOf(p *Panel, lines int) scale {
	low, high := math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		low, high = min(low, v), max(high, v)
	}
	for i := range p.Curves {
		for _, q := range p.Curves[i].Points {
			if !q.Gap {
				take(q.Value)
			}
		}
	}
	for _, r := range p.Rules {
		take(r.Value)
	}
	if p.Zero {
		take(0)
	}
	if low > high { // nothing to show
		low, high = 0, 1
	}
	if high-low < 1e-9*max(1, math.Abs(high)) {
		low, high = low-1, high+1
	}
	step := roundStep((high - low) / float64(max(1, lines)))
	return scale{step * math.Floor(low/step), step * math.Ceil(high/step), step}
}

// roundStep is the smallest of 1, 2 and 5 times a power of ten that is not under v.
func roundStep(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range [...]float64{1, 2, 5} {
		if m*power >= v*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// ticks are the values that the axis names.
func (s scale) ticks() (all []float64) {
	for i := range int(math.Round((s.high-s.low)/s.step)) + 1 {
		all = append(all, s.low+float64(i)*s.step)
	}
	return all
}

// y is where a value stands in a panel of that height, in pixels from its top.
func (s scale) y(v, height float64) float64 { return height * (s.high - v) / (s.high - s.low) }

// timeTick is a time that the axis names.
type timeTick struct {
	at    time.Time
	label string
}

// timeTicks names about one time for each 60 pixels: hours within a day, days within
// weeks, months within years. Where hours are few, midnight is named by its day.
func (c *Chart) timeTicks() (all []timeTick) {
	most := max(2, (c.width()-left-right)/60)
	zone, from := c.zone(), c.From.In(c.zone())
	for _, s := range [...]struct {
		unit  time.Duration
		n     int
		month bool
		form  string
	}{
		{time.Hour, 1, false, "15:04"},
		{time.Hour, 3, false, "15:04"},
		{time.Hour, 6, false, "15:04"},
		{24 * time.Hour, 1, false, "2 Jan"},
		{24 * time.Hour, 2, false, "2 Jan"},
		{24 * time.Hour, 7, false, "2 Jan"},
		{0, 1, true, "Jan"},
		{0, 2, true, "Jan"},
		{0, 3, true, "Jan 2006"},
		{0, 12, true, "2006"},
		{0, 60, true, "2006"},
		{0, 240, true, "2006"},
		{0, 1200, true, "2006"},
	} {
		about := float64(s.n) * s.unit.Seconds()
		if s.month {
			about = float64(s.n) * 30.4 * 86400
		}
		if c.span()/about > float64(most) {
			continue
		}
		for at := floorTime(from, s.unit, s.n, s.month, zone); !at.After(c.To); at = nextTime(at, s.unit, s.n, s.month, zone) {
			if !at.Before(c.From) {
				form := s.form
				if s.unit == time.Hour && s.n == 6 && at.Hour() == 0 { // so few hours are named that the day is worth more
					form = "2 Jan"
				}
				all = append(all, timeTick{at, at.Format(form)})
			}
		}
		return all
	}
	return nil
}

func floorTime(t time.Time, unit time.Duration, n int, month bool, zone *time.Location) time.Time {
	switch {
	case month && n >= 12:
		return time.Date(t.Year()-t.Year()%(n/12), 1, 1, 0, 0, 0, 0, zone)
	case month:
		return time.Date(t.Year(), time.Month(1+(int(t.Month())-1)/n*n), 1, 0, 0, 0, 0, zone)
	case unit == time.Hour:
		return time.Date(t.Year(), t.Month(), t.Day(), t.Hour()/n*n, 0, 0, 0, zone)
	}
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone)
}

func nextTime(t time.Time, unit time.Duration, n int, month bool, zone *time.Location) time.Time {
	switch {
	case month:
		return time.Date(t.Year(), t.Month()+time.Month(n), 1, 0, 0, 0, 0, zone)
	case unit == time.Hour:
		next := t.Add(time.Duration(n) * time.Hour)
		if n > 1 { // a changed clock moves the hour
			next = time.Date(t.Year(), t.Month(), t.Day(), t.Hour()+n, 0, 0, 0, zone)
		}
		return next
	}
	return time.Date(t.Year(), t.Month(), t.Day()+n, 0, 0, 0, 0, zone)
}
