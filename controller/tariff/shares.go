package tariff

import (
	"time"

	"loambank/controller/season"
)

// DefaultShares returns Settings.Shares where nobody planned them: 0 until topping up starts, from
// there linearly up to 1 at the first frost, down to 0 at the last frost; each month's share is the
// mean of its days in a year of 365. Summer warms the soil for nothing.
//
// The three dates come round in this order. A topping-up date between first and last frost counts as
// the first frost; with first and last frost on one date there is no winter to store for, and all
// shares are 0.
func DefaultShares(toppingUp, firstFrost, lastFrost season.MonthDay) [12]float64 {
	start, peak, end := yearDay(toppingUp), yearDay(firstFrost), yearDay(lastFrost)
	fall := daysFrom(peak, end)
	rise := daysFrom(start, peak)
	if rise+fall > yearDays {
		rise = 0
	}
	var shares [12]float64
	if fall == 0 {
		return shares
	}
	for day := range yearDays {
		month := time.Date(plainYear, time.January, day+1, 0, 0, 0, 0, time.UTC).Month()
		since, before := daysFrom(peak, day), daysFrom(day, peak)
		switch {
		case since < fall:
			shares[month-1] += 1 - float64(since)/float64(fall)
		case before < rise:
			shares[month-1] += 1 - float64(before)/float64(rise)
		}
	}
	for m := range shares {
		shares[m] /= float64(time.Date(plainYear, time.Month(m+2), 0, 0, 0, 0, 0, time.UTC).Day())
	}
	return shares
}

const (
	yearDays  = 365
	plainYear = 2027 // any that is no leap year
)

// yearDay counts from 0 on 1 January.
func yearDay(date season.MonthDay) int {
	date = date.In(plainYear)
	return time.Date(plainYear, date.Month, date.Day, 0, 0, 0, 0, time.UTC).YearDay() - 1
}

// daysFrom is the way round the year from one day to the other, 0 to 364.
func daysFrom(from, to int) int { return (to - from + yearDays) % yearDays }
