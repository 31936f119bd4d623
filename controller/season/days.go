package season

import (
	"fmt"
	"strings"
	"time"
)

// Days is a set of weekdays, one bit each. The zero value is every day.
type Days struct{ bits uint8 }

const everyDay = 1<<7 - 1

// dayNames is indexed by time.Weekday.
var dayNames = [7]string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}

// ParseDays reads days such as "Mon..Fri", "Sat..Mon" or "Mon,Wed..Fri".
func ParseDays(text string) (Days, error) {
	var days Days
	for part := range strings.SplitSeq(text, ",") {
		first, last, isRange := strings.Cut(part, "..")
		if !isRange {
			last = first
		}
		from, to := weekday(first), weekday(last)
		if from < 0 || to < 0 {
			return Days{}, fmt.Errorf("days %q: %q is no day; write Mon, Tue, Wed, Thu, Fri, Sat, Sun, ranges such as Mon..Fri, and commas between", text, strings.TrimSpace(part))
		}
		for d := from; ; d = (d + 1) % 7 {
			days.bits |= 1 << d
			if d == to {
				break
			}
		}
	}
	if days.bits == everyDay {
		return Days{}, nil
	}
	return days, nil
}

func weekday(name string) int {
	for d, known := range dayNames {
		if strings.EqualFold(known, strings.TrimSpace(name)) {
			return d
		}
	}
	return -1
}

// Contains reports whether the weekday is among them.
func (s Days) Contains(d time.Weekday) bool { return s.bits == 0 || s.bits&(1<<d) != 0 }

// String returns the days as ParseDays reads them, or "every day".
func (s Days) String() string {
	if s.bits == 0 {
		return "every day"
	}
	var parts []string
	for i := range 7 {
		from := time.Weekday((i + 1) % 7) // people's weeks start on Monday
		if !s.Contains(from) || s.Contains((from+6)%7) {
			continue
		}
		to := from
		for s.Contains((to + 1) % 7) {
			to = (to + 1) % 7
		}
		part := dayNames[from]
		if to != from {
			part += ".." + dayNames[to]
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ",")
}
