package season

import (
	"fmt"
	"strings"
	"time"
)

// Dates is a stretch of every year, inclusive at both ends; it may cross the new year. The zero
// value is all year.
type Dates struct {
	from, to MonthDay
	set      bool
}

// DatesBetween returns the dates from one to the other, both included. From 5 October to 12 May
// crosses the new year.
func DatesBetween(from, to MonthDay) Dates { return Dates{from: from, to: to, set: true} }

// ParseDates reads dates such as "09-15..10-31".
func ParseDates(text string) (Dates, error) {
	first, last, err := cutRange(text)
	if err != nil {
		return Dates{}, fmt.Errorf("dates %q %w; write them such as 09-15..10-31, a single day twice", text, err)
	}
	from, err := ParseMonthDay(first)
	if err != nil {
		return Dates{}, err
	}
	to, err := ParseMonthDay(last)
	if err != nil {
		return Dates{}, err
	}
	return DatesBetween(from, to), nil
}

// Contains reports whether the date is among them. 29 February as an end means 28 February in a year
// that has none.
func (r Dates) Contains(year int, month time.Month, day int) bool {
	if !r.set {
		return true
	}
	at := MonthDay{month, day}.order()
	after := at >= r.from.In(year).order()
	before := at <= r.to.In(year).order()
	if r.to.order() < r.from.order() { // over the new year, judged before 29 February moves
		return after || before
	}
	return after && before
}

// Ends returns the first and the last of the dates; stated is false for all year.
func (r Dates) Ends() (from, to MonthDay, stated bool) { return r.from, r.to, r.set }

// String returns the dates as ParseDates reads them, or "all year".
func (r Dates) String() string {
	if !r.set {
		return "all year"
	}
	return r.from.String() + ".." + r.to.String()
}

// rangeError says what is wrong with a range before anyone looked at its ends.
type rangeError string

func (e rangeError) Error() string { return string(e) }

// cutRange splits "a..b", the one range syntax.
func cutRange(text string) (from, to string, err error) {
	from, to, ok := strings.Cut(text, "..")
	from, to = strings.TrimSpace(from), strings.TrimSpace(to)
	switch {
	case strings.TrimSpace(text) == "":
		return "", "", rangeError("are empty")
	case !ok:
		return "", "", rangeError("have no \"..\"")
	case from == "":
		return "", "", rangeError("have no start")
	case to == "":
		return "", "", rangeError("have no end")
	case strings.Contains(to, ".."):
		return "", "", rangeError("have more than one \"..\"")
	}
	return from, to, nil
}
