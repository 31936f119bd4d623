package season

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestSchedulesThatCannotBeReadSayWhy(t *testing.T) {
	for spec, want := range map[string]string{
		"":                  `cron "" is empty; write minute hour day month weekday such as 30 5 * * Sun`,
		"TZ=":               `cron "TZ=" names a zone; leave it out, the site's zone holds`,
		"CRON_TZ=":          `cron "CRON_TZ=" names a zone; leave it out, the site's zone holds`,
		"TZ=UTC":            `cron "TZ=UTC" names a zone; leave it out, the site's zone holds`,
		" TZ=UTC 0 5 * * *": `cron "TZ=UTC 0 5 * * *" names a zone; leave it out, the site's zone holds`,
		"@every 0s":         `cron "@every 0s" has no fixed times; write it such as */30 * * * *`,
		"@every 1h30m":      `cron "@every 1h30m" has no fixed times; write it such as */30 * * * *`,
		"@Every -5m":        `cron "@Every -5m" has no fixed times; write it such as */30 * * * *`,
		"0 0 30 2 *":        `cron "0 0 30 2 *" never comes; name a day that its month has`,
		"*/5 * 31 4,6,9 *":  `cron "*/5 * 31 4,6,9 *" never comes; name a day that its month has`,
		"*/90 * * * *":      `cron "*/90 * * * *" has a step of 90 in the minute field, which only goes to 60 and would start over; name the times instead, such as 0 */2 * * *`,
		"0 */36 * * *":      `cron "0 */36 * * *" has a step of 36 in the hour field, which only goes to 24 and would start over; name the times instead, such as 0 */2 * * *`,
		"0 0 1,*/32 * *":    `cron "0 0 1,*/32 * *" has a step of 32 in the day field, which only goes to 31 and would start over; name the times instead, such as 0 */2 * * *`,
	} {
		if _, err := ParseSchedule(spec, time.UTC); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", spec, err, want)
		}
	}
	// The middle of these is the parser's own.
	for spec, remedy := range map[string]string{
		"0 5 * * 7":          "; Sunday is 0 or Sun",
		"0 5 * * 5-7":        "; Sunday is 0 or Sun",
		"0 0 5 * * *":        "; leave out the seconds: minute hour day month weekday such as 30 5 * * Sun",
		"0 5 * *":            "; write minute hour day month weekday such as 30 5 * * Sun",
		"60 5 * * *":         "; write minute hour day month weekday such as 30 5 * * Sun",
		"* * * * Funday":     "; write minute hour day month weekday such as 30 5 * * Sun",
		"@reboot":            "; write minute hour day month weekday such as 30 5 * * Sun",
		"tomorrow":           "; write minute hour day month weekday such as 30 5 * * Sun",
		"*/0 * * * *":        "; write minute hour day month weekday such as 30 5 * * Sun",
		"5-1 * * * *":        "; write minute hour day month weekday such as 30 5 * * Sun",
		"99999999999 * * * ": "; write minute hour day month weekday such as 30 5 * * Sun",
	} {
		_, err := ParseSchedule(spec, time.UTC)
		if err == nil || !strings.HasPrefix(err.Error(), `cron "`) || !strings.HasSuffix(err.Error(), remedy) {
			t.Errorf("%q:\n got %v\nwant …%s", spec, err, remedy)
		}
	}
}

func TestNextOfASchedule(t *testing.T) {
	for _, c := range []struct{ name, zone, spec, after, want string }{
		{"a weekday by name", "America/New_York", "30 5 * * SUN", "2026-01-08T12:00:00-05:00", "2026-01-11T05:30:00-05:00"},
		{"a weekday by number", "America/New_York", "30 5 * * 0", "2026-01-08T12:00:00-05:00", "2026-01-11T05:30:00-05:00"},
		{"strictly after", "America/New_York", "30 5 * * *", "2026-01-08T05:30:00-05:00", "2026-01-09T05:30:00-05:00"},
		{"just before", "America/New_York", "30 5 * * *", "2026-01-08T05:29:59-05:00", "2026-01-08T05:30:00-05:00"},
		{"asked in another zone", "America/New_York", "30 5 * * *", "2026-01-08T10:29:59Z", "2026-01-08T05:30:00-05:00"},
		{"a descriptor", "Europe/Rome", "@daily", "2026-01-08T12:00:00+01:00", "2026-01-09T00:00:00+01:00"},
		{"a step of the whole hour", "UTC", "*/60 * * * *", "2026-01-08T12:10:00Z", "2026-01-08T13:00:00Z"},
		{"an hourly descriptor", "Asia/Kathmandu", "@hourly", "2026-01-08T12:10:00+05:45", "2026-01-08T13:00:00+05:45"},
		{"a weekly descriptor", "Europe/Rome", "@weekly", "2026-01-08T12:00:00+01:00", "2026-01-11T00:00:00+01:00"},
		{"once a year", "Europe/Rome", "0 6 15 10 *", "2026-10-16T00:00:00+02:00", "2027-10-15T06:00:00+02:00"},
		{"a leap day", "Europe/Rome", "0 6 29 2 *", "2026-10-16T00:00:00+02:00", "2028-02-29T06:00:00+01:00"},
		{"a leap day after the century without one", "UTC", "0 6 29 2 *", "2096-03-01T00:00:00Z", "2104-02-29T06:00:00Z"},
		{"the same within the day", "UTC", "0,30 6 29 2 *", "2096-03-01T00:00:00Z", "2104-02-29T06:00:00Z"},
		// America/Denver 2026: tzdata, as sun_and_time-S076 for 2028.
		{"a time in the gap comes at its end", "America/Denver", "30 2 * * *", "2026-03-08T00:00:00-07:00", "2026-03-08T03:00:00-06:00"},
		{"and not again on that day", "America/Denver", "30 2 * * *", "2026-03-08T03:00:00-06:00", "2026-03-09T02:30:00-06:00"},
		{"a time that comes twice fires at the first", "America/Denver", "30 1 * * *", "2026-11-01T00:00:00-06:00", "2026-11-01T01:30:00-06:00"},
		{"and not again at the second", "America/Denver", "30 1 * * *", "2026-11-01T01:30:00-06:00", "2026-11-02T01:30:00-07:00"},
		{"asked between the two", "America/Denver", "30 1 * * *", "2026-11-01T01:10:00-07:00", "2026-11-02T01:30:00-07:00"},
		{"repeating within the day does not pause in the repeated hour", "America/Denver", "*/30 * * * *", "2026-11-01T01:30:00-06:00", "2026-11-01T01:00:00-07:00"},
		{"repeating within the day leaps over the gap", "America/Denver", "*/30 * * * *", "2026-03-08T01:30:00-07:00", "2026-03-08T03:00:00-06:00"},
		{"midnight that does not exist", "America/Havana", "0 0 * * *", "2026-03-07T12:00:00-05:00", "2026-03-08T01:00:00-04:00"},
		{"a gap that ends the day comes at midnight", "America/Nuuk", "30 23 * * *", "2026-03-28T12:00:00-02:00", "2026-03-29T00:00:00-01:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := mustSchedule(t, c.spec, zone(t, c.zone))
			after := localTime(t, time.RFC3339, c.after, time.UTC)
			if got := s.Next(after).Format(time.RFC3339); got != c.want {
				t.Errorf("%s after %s: %s, want %s", s, c.after, got, c.want)
			}
		})
	}
}

func TestAScheduleThatIsNoneNeverFires(t *testing.T) {
	if at := (Schedule{}).Next(time.Unix(0, 0)); !at.IsZero() {
		t.Errorf("fires at %s", at)
	}
}

// The parser alone fails this in a quarter of all zones.
func TestOnceADayIsOnceOnEveryLocalDate(t *testing.T) {
	for _, name := range nastyZones {
		z := zone(t, name)
		for _, spec := range []string{"0 0 * * *", "30 0 * * *", "30 1 * * *", "30 2 * * *", "15 3 * * *"} {
			s := mustSchedule(t, spec, z)
			d := civilOf(2026, 1, 1)
			at := time.Unix(dayStart(z, d)-1, 0)
			for ; d <= civilOf(2028, 12, 31); d++ {
				at = s.Next(at)
				if civilOf(at.Date()) != d {
					year, month, day := d.date()
					t.Errorf("%s, %q: %s instead of %d-%02d-%02d", name, spec, at, year, month, day)
					break
				}
			}
		}
	}
}

func TestNextIsAfterAndNothingComesBetween(t *testing.T) {
	specs := []string{"0 0 * * *", "30 1 * * *", "30 2 * * Sun", "*/30 * * * *", "*/7 1-3 * * *", "0 2,14 * * *", "15 23 29 2 *", "@weekly"}
	rapid.Check(t, func(t *rapid.T) {
		site, after := anyMoment(t)
		s, err := ParseSchedule(rapid.SampledFrom(specs).Draw(t, "spec"), site.Zone)
		if err != nil {
			t.Fatal(err)
		}
		next := s.Next(after)
		if !next.After(after) || next.Nanosecond() != 0 {
			t.Fatalf("%s after %s is %s", s, after, next)
		}
		between := after.Add(time.Duration(rapid.Int64Range(0, int64(next.Sub(after))-1).Draw(t, "into")))
		if again := s.Next(between); !again.Equal(next) {
			t.Fatalf("%s: after %s comes %s, but after %s comes %s", s, after, next, between, again)
		}
	})
}

func FuzzParseSchedule(f *testing.F) {
	for _, seed := range []string{
		"0 0 * * *", "*/30 * * * *", "30 5 * * Sun", "0 0 30 2 *", "TZ=", "CRON_TZ=", "TZ=UTC", "tz= 0 0 * * *",
		"@daily", "@every 1ns", "@", "0 5 * * 7", "*/90 * * * *", "1-5/2,7 * ? * *", "0 0 1-31/31 1-12/12 *",
		"* * * * *\t", "０ 0 * * *",
	} {
		f.Add(seed)
	}
	havana := zone(f, "America/Havana")
	f.Fuzz(func(t *testing.T, spec string) {
		s, err := ParseSchedule(spec, havana)
		if err != nil {
			return
		}
		if again, err := ParseSchedule(s.String(), havana); err != nil || again.String() != s.String() {
			t.Errorf("%q became %q: %v", spec, s, err)
		}
		at := time.Date(2026, 3, 7, 0, 0, 0, 0, havana)
		for range 4 {
			next := s.Next(at)
			if !next.After(at) {
				t.Fatalf("%q after %s is %s", spec, at, next)
			}
			at = next
		}
	})
}
