package season

import (
	"fmt"
	"strings"
	"time"
)

// Hours is a stretch of the day, start included and end not, between clock times or sunrise and
// sunset with an offset. The zero value is all day, to the end of the local day.
//
// It runs into the next date
//   - between two clock times, where the end is not after the start ("22:00..06:00");
//   - where the sun is named, from an afternoon word (sunset, or a clock time from 12:00 on) to a
//     morning word (sunrise, or a clock time up to 12:00), as "sunset..sunrise" or "22:00..sunrise".
//
// Any other range that the sun turns round ("sunrise+10h..sunset" in December, "18:00..sunset" in
// winter) is empty on that date; it does not run round the clock.
//
// Where the sun does not set its sunrise and sunset are at solar midnight, so "sunrise..sunset" is
// always and "sunset..sunrise" never; where it does not rise both are at solar noon, and it is the
// other way round.
type Hours struct {
	from, to edge
	set      bool
}

// edge is one end of Hours.
type edge struct {
	word    word
	minutes int16 // on the clock since midnight, up to 1440; else offset to the sun
}

type word uint8

const (
	clock word = iota
	sunrise
	sunset
)

const (
	midday    = 12 * 60
	endOfDay  = 24 * 60
	maxOffset = 12 * 60
)

// ParseHours reads hours such as "16:00..21:00", "22:00..06:00" or "sunrise+2h..sunset-30m".
// "24:00" is an end.
func ParseHours(text string) (Hours, error) {
	first, last, err := cutRange(text)
	if err != nil {
		return Hours{}, fmt.Errorf("hours %q %w; write them such as 16:00..21:00 or sunrise+2h..sunset", text, err)
	}
	h := Hours{set: true}
	if h.from, err = parseEdge(first); err != nil {
		return Hours{}, fmt.Errorf("hours %q: %w", text, err)
	}
	if h.to, err = parseEdge(last); err != nil {
		return Hours{}, fmt.Errorf("hours %q: %w", text, err)
	}
	if h.from == (edge{clock, endOfDay}) {
		return Hours{}, fmt.Errorf("hours %q start at the end of the day; write 00:00", text)
	}
	if h.from == h.to {
		return Hours{}, fmt.Errorf("hours %q start and end at the same time; leave hours out for the whole day", text)
	}
	if h.to == (edge{clock, 0}) {
		h.to.minutes = endOfDay
	}
	if h.from.word != clock && h.from.word == h.to.word && h.to.minutes < h.from.minutes {
		return Hours{}, fmt.Errorf("hours %q end before they start; the offset of the end must be the greater one", text)
	}
	return h, nil
}

func parseEdge(text string) (edge, error) {
	lower := strings.ToLower(text)
	for _, sun := range []struct {
		name string
		word word
	}{{"sunrise", sunrise}, {"sunset", sunset}} {
		if rest, ok := strings.CutPrefix(lower, sun.name); ok {
			minutes, err := parseOffset(text, strings.ReplaceAll(rest, " ", ""))
			return edge{sun.word, minutes}, err
		}
	}
	hour, minute, ok := strings.Cut(lower, ":")
	h, hOK := number(hour)
	m, mOK := number(minute)
	if !ok || !hOK || !mOK || len(minute) != 2 {
		return edge{}, fmt.Errorf("%q is no time of day; hours want HH:MM, sunrise or sunset with an offset such as sunrise+2h..sunset", text)
	}
	if m > 59 || h*60+m > endOfDay {
		return edge{}, fmt.Errorf("%q does not exist; the clock goes from 00:00 to 24:00", text)
	}
	return edge{clock, int16(h*60 + m)}, nil
}

func parseOffset(text, offset string) (int16, error) {
	if offset == "" {
		return 0, nil
	}
	sign, amount := offset[0], offset[1:]
	d, err := time.ParseDuration(amount)
	if err != nil || sign != '+' && sign != '-' || strings.Trim(amount[:1], "0123456789") != "" {
		return 0, fmt.Errorf("%q has no such offset; write it such as sunrise+2h, sunset-30m or sunset+1h30m", text)
	}
	if d%time.Minute != 0 || d > maxOffset*time.Minute {
		return 0, fmt.Errorf("%q: the offset is not whole minutes up to 12h; write it such as sunrise+2h", text)
	}
	minutes := int16(d / time.Minute)
	if sign == '-' {
		minutes = -minutes
	}
	return minutes, nil
}

// overnight reports whether the end lies on the date after the start.
func (h Hours) overnight() bool {
	if h.from.word == clock && h.to.word == clock {
		return h.to.minutes <= h.from.minutes
	}
	evening := h.from.word == sunset || h.from.word == clock && h.from.minutes >= midday
	morning := h.to.word == sunrise || h.to.word == clock && h.to.minutes <= midday
	return evening && morning
}

// sunny reports whether the sun is named.
func (h Hours) sunny() bool { return h.from.word != clock || h.to.word != clock }

// String returns the hours as ParseHours reads them, or "all day".
func (h Hours) String() string {
	if !h.set {
		return "all day"
	}
	return h.from.String() + ".." + h.to.String()
}

// String returns the end as ParseHours reads it.
func (e edge) String() string {
	if e.word == clock {
		return fmt.Sprintf("%02d:%02d", e.minutes/60, e.minutes%60)
	}
	name := "sunrise"
	if e.word == sunset {
		name = "sunset"
	}
	sign, minutes := "+", e.minutes
	if minutes < 0 {
		sign, minutes = "-", -minutes
	}
	switch {
	case minutes == 0:
		return name
	case minutes%60 == 0:
		return fmt.Sprintf("%s%s%dh", name, sign, minutes/60)
	case minutes < 60:
		return fmt.Sprintf("%s%s%dm", name, sign, minutes)
	}
	return fmt.Sprintf("%s%s%dh%dm", name, sign, minutes/60, minutes%60)
}
