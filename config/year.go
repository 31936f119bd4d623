package config

import (
	"time"

	"loambank/controller/season"
)

// The year that windows are shown on: a leap year, so that 29 February is in it.
const (
	modelYear = 2028
	modelDays = 366
)

// opening is when one window is in force over the model year.
type opening struct {
	days     [modelDays]bool // it is in force at some time of the day
	longestS float64         // its longest stretch
}

// opens reports whether it ever is.
func (o *opening) opens() bool { return o.longestS > 0 }

// walkYear finds when each window rules over the model year: element 0 where none covers, i+1 for
// window i. A window under an earlier one does not rule.
func walkYear(site season.Site, windows []season.Span) []opening {
	year := make([]opening, len(windows)+1)
	last, stretchS := -2, 0.0
	for day := range modelDays {
		date := time.Date(modelYear, time.January, 1+day, 12, 0, 0, 0, time.UTC)
		now, end := season.DayBounds(site, date.Year(), date.Month(), date.Day())
		for now.Before(end) {
			window, until := season.First(site, windows, now)
			if until.After(end) {
				until = end
			}
			if window != last {
				last, stretchS = window, 0
			}
			stretchS += until.Sub(now).Seconds()
			o := &year[window+1]
			o.days[day] = true
			o.longestS = max(o.longestS, stretchS)
			now = until
		}
	}
	return year
}
