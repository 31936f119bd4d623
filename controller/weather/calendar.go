package weather

import (
	"fmt"
	"time"
)

const (
	yearHours = 8760
	leapHours = 8784
)

// label names a row's hour as the file does.
func (r *Row) label() string { return fmt.Sprintf("%02d-%02d hour %d", r.Month, r.Day, r.Hour) }

// monthDays is the number of days of each month; February has its 29th only where a row says so.
var monthDays = [13]int{0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// follows says why r cannot come after the rows that are there, or "".
func (y *Year) follows(r *Row) (what, remedy string) {
	switch {
	case r.Month < time.January || r.Month > time.December:
		return fmt.Sprintf("month %d", r.Month), "months run from 1 to 12"
	case r.Day < 1 || r.Day > monthDays[r.Month]:
		return fmt.Sprintf("day %d of month %d", r.Day, r.Month), "a day of that month is wanted"
	case r.Hour < 1 || r.Hour > 24:
		return fmt.Sprintf("hour %d", r.Hour), "hours run from 1 to 24 and are named by their end"
	}
	want := Row{Month: time.January, Day: 1, Hour: 1}
	if n := len(y.Rows); n > 0 {
		if want = y.Rows[n-1].next(); want.Month > time.December {
			return "there are rows after 12-31 hour 24", "one year is wanted, from 01-01 hour 1 to 12-31 hour 24"
		}
	}
	leaps := want.Month == time.February && want.Day == 29 && want.Hour == 1
	if leaps && r.Month == time.March && r.Day == 1 {
		want.Month, want.Day = time.March, 1
	}
	if r.Month != want.Month || r.Day != want.Day || r.Hour != want.Hour {
		return r.label() + " stands where " + want.label() + " should",
			"every hour of the year is wanted once, in order, from 01-01 hour 1"
	}
	return "", ""
}

// next is the hour after r; the one after the year is in month 13.
func (r *Row) next() Row {
	n := Row{Month: r.Month, Day: r.Day, Hour: r.Hour + 1}
	if n.Hour > 24 {
		n.Day, n.Hour = n.Day+1, 1
	}
	if n.Day > monthDays[n.Month] {
		n.Month, n.Day = n.Month+1, 1
	}
	return n
}
