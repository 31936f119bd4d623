package season

import (
	"errors"
	"fmt"
	"math/bits"
	"strconv"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// Schedule is a parsed cron spec on a site's clock. A spec for once a day fires once on every date
// it names: a time inside a gap at the end of the gap, a time that happens twice at the first. A spec
// that repeats within the day follows the clock as it goes. The zero value never fires.
type Schedule struct {
	spec  string
	times *cron.SpecSchedule
	zone  *time.Location
	daily bool
}

// ParseSchedule reads a cron spec of five fields, minute hour day month weekday, or one such as
// "@daily". A nil zone is UTC.
func ParseSchedule(spec string, zone *time.Location) (Schedule, error) {
	spec = strings.TrimSpace(spec)
	if err := refuse(spec); err != nil {
		return Schedule{}, fmt.Errorf("cron %q %w", spec, err)
	}
	times, err := parseCron(spec)
	if err != nil {
		return Schedule{}, fmt.Errorf("cron %q: %w; %s", spec, err, remedy(spec))
	}
	s := Schedule{spec: spec, times: times, zone: Site{Zone: zone}.zone()}
	const star = 1 << 63 // how the parser marks "*" besides the values
	s.daily = bits.OnesCount64(times.Minute&^star) == 1 && bits.OnesCount64(times.Hour&^star) == 1
	s.times.Location = s.zone
	if s.daily {
		s.times.Location = time.UTC
	}
	// A leap year first: within five years every date that exists comes up.
	if s.Next(time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)).IsZero() {
		return Schedule{}, fmt.Errorf("cron %q never comes; name a day that its month has", spec)
	}
	return s, nil
}

// refuse says what the parser would take silently, or not survive.
func refuse(spec string) error {
	upper := strings.ToUpper(spec)
	switch {
	case spec == "":
		return errors.New("is empty; write minute hour day month weekday such as 30 5 * * Sun")
	case strings.HasPrefix(upper, "TZ="), strings.HasPrefix(upper, "CRON_TZ="):
		return errors.New("names a zone; leave it out, the site's zone holds")
	case strings.HasPrefix(upper, "@EVERY"):
		return errors.New("has no fixed times; write it such as */30 * * * *")
	}
	fields := strings.Fields(spec)
	if len(fields) != 5 {
		return nil // the parser says so itself
	}
	for i, field := range fields {
		for part := range strings.SplitSeq(field, ",") {
			_, step, ok := strings.Cut(part, "/")
			n, err := strconv.Atoi(step)
			if limit := cronFields[i]; ok && err == nil && n > limit.size {
				return fmt.Errorf("has a step of %d in the %s field, which only goes to %d and would start over; name the times instead, such as 0 */2 * * *", n, limit.name, limit.size)
			}
		}
	}
	return nil
}

// cronFields are the five fields with the longest step that means something in each.
var cronFields = [5]struct {
	name string
	size int
}{{"minute", 60}, {"hour", 24}, {"day", 31}, {"month", 12}, {"weekday", 7}}

// parseCron runs the parser. Its panics, met on malformed zones, become errors.
func parseCron(spec string) (times *cron.SpecSchedule, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			times, err = nil, fmt.Errorf("cannot be read: %v", fault)
		}
	}()
	schedule, err := cron.ParseStandard(spec)
	if err != nil {
		return nil, err
	}
	times, ok := schedule.(*cron.SpecSchedule)
	if !ok {
		return nil, errors.New("has no fixed times")
	}
	return times, nil
}

func remedy(spec string) string {
	fields := strings.Fields(spec)
	if len(fields) == 5 && strings.Contains(fields[4], "7") {
		return "Sunday is 0 or Sun"
	}
	if len(fields) == 6 {
		return "leave out the seconds: minute hour day month weekday such as 30 5 * * Sun"
	}
	return "write minute hour day month weekday such as 30 5 * * Sun"
}

// Next returns the first time after that, or zero where there is none.
func (s Schedule) Next(after time.Time) time.Time {
	if s.times == nil {
		return time.Time{}
	}
	local := after.In(s.zone)
	if !s.daily {
		return s.next(local)
	}
	_, offset := local.Zone()
	for wall := time.Unix(local.Unix()+int64(offset), 0).UTC(); ; {
		wall = s.next(wall)
		if wall.IsZero() {
			return wall
		}
		first, _ := instants(s.zone, wall.Unix())
		if at := time.Unix(first, 0).In(s.zone); at.After(after) {
			return at
		}
	}
}

// next is the parser's own Next, which gives up after five years: around 2100 there are eight
// between one 29 February and the next.
func (s Schedule) next(after time.Time) time.Time {
	at := s.times.Next(after)
	if at.IsZero() {
		at = s.times.Next(after.AddDate(4, 0, 0))
	}
	return at
}

// String returns the spec as it was written.
func (s Schedule) String() string { return s.spec }
