package season

import "time"

// DayBounds returns the first instant of a local date and that of the next: 23, 24, 24½ or 25
// hours apart, later where midnight is skipped.
func DayBounds(site Site, year int, month time.Month, day int) (start, end time.Time) {
	zone, d := site.zone(), civilOf(year, month, day)
	return time.Unix(dayStart(zone, d), 0).In(zone), time.Unix(dayStart(zone, d+1), 0).In(zone)
}
