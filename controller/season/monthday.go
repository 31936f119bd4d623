package season

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// MonthDay is a date of every year. The zero value is no date.
type MonthDay struct {
	Month time.Month
	Day   int // 29 February is allowed
}

// ParseMonthDay reads month and day, as in "02-29".
func ParseMonthDay(text string) (MonthDay, error) {
	month, day, ok := strings.Cut(strings.TrimSpace(text), "-")
	m, mOK := number(month)
	d, dOK := number(day)
	if !ok || !mOK || !dOK {
		return MonthDay{}, fmt.Errorf("%q is no date; write month and day such as 09-15", text)
	}
	if m < 1 || m > 12 {
		return MonthDay{}, fmt.Errorf("%q: there is no month %d; write the month first, then the day, such as 09-15", text, m)
	}
	result := MonthDay{time.Month(m), d}
	if last := lastDay(2000, result.Month); d < 1 || d > last {
		return MonthDay{}, fmt.Errorf("%q: %d %s does not exist; %s has the days 1 to %d", text, d, result.Month, result.Month, last)
	}
	return result, nil
}

// In returns the date in that year: 29 February becomes 28 February where there is none.
func (d MonthDay) In(year int) MonthDay {
	return MonthDay{d.Month, min(d.Day, lastDay(year, d.Month))}
}

// String returns the date as ParseMonthDay reads it.
func (d MonthDay) String() string { return fmt.Sprintf("%02d-%02d", int(d.Month), d.Day) }

// order sorts the dates of a year.
func (d MonthDay) order() int { return int(d.Month)*32 + d.Day }

func lastDay(year int, month time.Month) int {
	switch month {
	case time.April, time.June, time.September, time.November:
		return 30
	case time.February:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// number reads one or two digits and nothing else.
func number(text string) (int, bool) {
	text = strings.TrimSpace(text)
	if len(text) < 1 || len(text) > 2 || strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}
