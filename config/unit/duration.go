package unit

import (
	"fmt"
	"strings"
)

const durationExamples = `a duration such as "10 s", "5 min" or "2 h"`

// maxDurationS is the longest duration accepted: a year, s.
const maxDurationS = 366 * 86400

// ParseDuration reads a duration such as "10m", "45 s", "2h30m", "2 h 10 min" or "1 day" and
// returns it in seconds. It is never negative; a bare number is refused, zero needs its unit too.
func ParseDuration(text string) (float64, error) {
	want := durationExamples
	rest := strings.TrimSpace(text)
	if rest == "" || len(rest) > maxText {
		_, err := split(text, want)
		return 0, err
	}
	sum, last := 0.0, maxDurationS+1.0
	for rest != "" {
		n, after, err := number(rest, want)
		if err != nil {
			return 0, &Error{fmt.Sprintf("%q is not a duration", strings.TrimSpace(text)), "write " + want}
		}
		name, next := word(strings.TrimSpace(after))
		if name == "" {
			return 0, noUnit(text, want)
		}
		unitS := secondsOf(name)
		if unitS == 0 {
			return 0, &Error{fmt.Sprintf("%q: %q is not a unit of a duration", strings.TrimSpace(text), name), "write " + want}
		}
		if n < 0 || unitS >= last {
			return 0, &Error{fmt.Sprintf("%q is not a duration", strings.TrimSpace(text)), "write larger units first and no minus, as in \"2 h 30 min\""}
		}
		sum, last, rest = sum+n*unitS, unitS, strings.TrimSpace(next)
	}
	if sum > maxDurationS {
		return 0, &Error{fmt.Sprintf("%q is longer than a year", strings.TrimSpace(text)), "write " + want}
	}
	return sum, nil
}

// word cuts the letters at the start of s.
func word(s string) (letters, rest string) {
	for i, r := range s {
		if r < 'a' || r > 'z' {
			return s[:i], s[i:]
		}
	}
	return s, ""
}

// secondsOf returns the length of the unit name in seconds, 0 for an unknown one.
func secondsOf(name string) float64 {
	switch name {
	case "s", "sec", "second", "seconds":
		return 1
	case "m", "min", "minute", "minutes":
		return 60
	case "h", "hr", "hour", "hours":
		return 3600
	case "d", "day", "days":
		return 86400
	}
	return 0
}
