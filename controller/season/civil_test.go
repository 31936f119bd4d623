package season

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestClockChangesOfTheReferenceMakeGapsAndRepeats(t *testing.T) {
	for _, r := range rows(t, 74, 81) {
		z := zone(t, r.inputs["tz"])
		year, err := strconv.Atoi(r.inputs["year"])
		if err != nil {
			t.Fatal(err)
		}
		changes := r.fields(";")
		if r.expected == "none" {
			changes = nil
		}
		odd := 0
		for d := civilOf(year, 1, 1); d <= civilOf(year, 12, 31); d++ {
			if dayStart(z, d+1)-dayStart(z, d) != daySeconds {
				odd++
			}
		}
		if odd != len(changes) {
			t.Errorf("%s: %d days are not 24 h long, want %d", r.id, odd, len(changes))
		}
		for _, change := range changes {
			checkChange(t, r.id, z, change)
		}
	}
}

// checkChange reads a change such as "2026-03-08T07:00Z -5->-4 h".
func checkChange(t *testing.T, id string, z *time.Location, change string) {
	t.Helper()
	instant, offsets, _ := strings.Cut(change, " ")
	at, err := time.Parse("2006-01-02T15:04Z", instant)
	if err != nil {
		t.Fatalf("%s: %v", id, err)
	}
	var before, after int64
	if _, err := fmt.Sscanf(offsets, "%d->%d h", &before, &after); err != nil {
		t.Fatalf("%s: %v", id, err)
	}
	if after > before {
		for _, into := range []int64{0, 1800, 3599} {
			if first, last := instants(z, at.Unix()+before*3600+into); first != at.Unix() || last != at.Unix() {
				t.Errorf("%s: %d s into the gap stands for %d and %d, want its end %d", id, into, first, last, at.Unix())
			}
		}
		return
	}
	for _, into := range []int64{0, 1800, 3599} {
		first, last := instants(z, at.Unix()+after*3600+into)
		if wantFirst, wantLast := at.Unix()-3600+into, at.Unix()+into; first != wantFirst || last != wantLast {
			t.Errorf("%s: %d s into the repeated hour: got %d and %d, want %d and %d", id, into, first, last, wantFirst, wantLast)
		}
	}
}

func TestLocalDaysAreAsLongAsTheReferenceSays(t *testing.T) {
	for _, r := range rows(t, 82, 84) {
		z := zone(t, r.inputs["tz"])
		day := localTime(t, time.DateOnly, r.inputs["date"], time.UTC)
		d := civilOf(day.Date())
		want, err := strconv.ParseFloat(r.expected, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := float64(dayStart(z, d+1)-dayStart(z, d)) / 3600; got != want {
			t.Errorf("%s: %v h, want %v h", r.id, got, want)
		}
	}
}

func TestATimeInTheGapStandsForItsEnd(t *testing.T) {
	// sun_and_time-S085: 02:30 does not exist; the rule taken is the edge, 03:00 EDT.
	z := zone(t, "America/New_York")
	first, _ := instants(z, time.Date(2026, 3, 8, 2, 30, 0, 0, time.UTC).Unix())
	if got, want := time.Unix(first, 0).UTC(), time.Date(2026, 3, 8, 7, 0, 0, 0, time.UTC); !got.Equal(want) {
		t.Errorf("got %s, want %s", got, want)
	}
}

// From the public tz database: rules of each zone, by memory of its text.
func TestADayStartsAtItsFirstExistingInstant(t *testing.T) {
	for _, c := range []struct {
		name, zone       string
		year, month, day int
		want             string
		hours            float64
	}{
		{"midnight skipped in Havana", "America/Havana", 2026, 3, 8, "2026-03-08T01:00:00-04:00", 23},
		{"midnight repeated in Havana", "America/Havana", 2026, 11, 1, "2026-11-01T00:00:00-04:00", 25},
		{"midnight skipped in Santiago", "America/Santiago", 2026, 9, 6, "2026-09-06T01:00:00-03:00", 23},
		{"last hour repeated in Santiago", "America/Santiago", 2026, 4, 4, "2026-04-04T00:00:00-03:00", 25},
		{"midnight skipped on the Azores", "Atlantic/Azores", 2026, 3, 29, "2026-03-29T01:00:00Z", 23},
		{"midnight repeated on the Azores", "Atlantic/Azores", 2026, 10, 25, "2026-10-25T00:00:00Z", 25},
		{"midnight skipped in Beirut", "Asia/Beirut", 2026, 3, 29, "2026-03-29T01:00:00+03:00", 23},
		{"half an hour lost on Lord Howe", "Australia/Lord_Howe", 2026, 10, 4, "2026-10-04T00:00:00+10:30", 23.5},
		{"two hours gained at Troll", "Antarctica/Troll", 2026, 10, 25, "2026-10-25T00:00:00+02:00", 26},
		{"quarter-hour offset in Kathmandu", "Asia/Kathmandu", 2026, 3, 29, "2026-03-29T00:00:00+05:45", 24},
		{"a date that Apia skipped", "Pacific/Apia", 2011, 12, 30, "2011-12-31T00:00:00+14:00", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			z := zone(t, c.zone)
			d := civilOf(c.year, time.Month(c.month), c.day)
			start, end := dayStart(z, d), dayStart(z, d+1)
			if got := time.Unix(start, 0).In(z).Format(time.RFC3339); got != c.want {
				t.Errorf("starts %s, want %s", got, c.want)
			}
			if got := float64(end-start) / 3600; got != c.hours {
				t.Errorf("lasts %v h, want %v h", got, c.hours)
			}
			from, to := DayBounds(Site{Zone: z}, c.year, time.Month(c.month), c.day)
			if from.Format(time.RFC3339) != c.want || to.Sub(from).Hours() != c.hours {
				t.Errorf("bounds are %s and %s", from, to)
			}
		})
	}
}

func TestEveryInstantIsAmongThoseOfItsClockTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(nastyZones).Draw(t, "zone")
		z, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		at := rapid.Int64Range(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC).Unix(), time.Date(2060, 1, 1, 0, 0, 0, 0, time.UTC).Unix()).Draw(t, "at")
		_, offset := time.Unix(at, 0).In(z).Zone()
		first, last := instants(z, at+int64(offset))
		if first > at || at > last || first != at && last != at {
			t.Fatalf("%d is not among %d and %d", at, first, last)
		}
		d, end := dateOf(z, at)
		if start := dayStart(z, d); at < start || at >= end {
			t.Fatalf("%d is not in its day from %d to %d", at, start, end)
		}
	})
}

func TestADateThatHasBegunStaysWhereMidnightComesTwice(t *testing.T) {
	// Until 2011 Newfoundland went from 00:01 back to 23:01 of the day before: tz database, from
	// memory of its text.
	z := zone(t, "America/St_Johns")
	midnight := time.Date(2010, 11, 7, 2, 30, 0, 0, time.UTC).Unix() // 00:00 at 2½ h behind
	sixth, seventh := civilOf(2010, 11, 6), civilOf(2010, 11, 7)
	for _, c := range []struct {
		at   int64
		want civil
	}{
		{midnight - 1, sixth},
		{midnight, seventh},
		{midnight + 30*60, seventh}, // 23:30 again
		{midnight + 3600, seventh},  // 00:00 again
	} {
		if d, end := dateOf(z, c.at); d != c.want || end <= c.at || end != dayStart(z, d+1) {
			t.Errorf("%s: %d days from the sixth until %d", time.Unix(c.at, 0).In(z), d-sixth, end)
		}
	}
}

func TestWeekdaysAreThoseOfTheGregorianCalendar(t *testing.T) {
	for d := civilOf(1899, 12, 25); d < civilOf(1970, 1, 20); d++ {
		year, month, day := d.date()
		if want := time.Date(year, month, day, 12, 0, 0, 0, time.UTC).Weekday(); d.weekday() != want {
			t.Fatalf("%d-%02d-%02d is a %s, want %s", year, month, day, d.weekday(), want)
		}
	}
}

// nastyZones have skipped or repeated midnights, odd offsets, changes by other than an hour or
// several times a year.
var nastyZones = []string{
	"Africa/Cairo", "Africa/Casablanca", "Africa/El_Aaiun", "Africa/Johannesburg", "Africa/Lagos",
	"America/Adak", "America/Anchorage", "America/Argentina/Buenos_Aires", "America/Asuncion",
	"America/Bogota", "America/Caracas", "America/Chicago", "America/Coyhaique", "America/Denver",
	"America/Godthab", "America/Halifax", "America/Havana", "America/Lima", "America/Los_Angeles",
	"America/Mexico_City", "America/Miquelon", "America/New_York", "America/Nuuk", "America/Phoenix",
	"America/Port-au-Prince", "America/Regina", "America/Santiago", "America/Sao_Paulo",
	"America/Scoresbysund", "America/St_Johns", "Antarctica/Casey", "Antarctica/Troll",
	"Antarctica/Vostok", "Asia/Amman", "Asia/Beirut", "Asia/Damascus", "Asia/Gaza", "Asia/Jerusalem",
	"Asia/Kathmandu", "Asia/Kolkata", "Asia/Nicosia", "Asia/Tehran", "Asia/Tokyo", "Atlantic/Azores",
	"Australia/Adelaide", "Australia/Eucla", "Australia/Hobart", "Australia/Lord_Howe",
	"Australia/Sydney", "Europe/Berlin", "Europe/Chisinau", "Europe/Dublin", "Europe/Kyiv",
	"Europe/London", "Europe/Oslo", "Europe/Rome", "Pacific/Apia", "Pacific/Auckland",
	"Pacific/Chatham", "Pacific/Easter", "Pacific/Fiji", "Pacific/Kiritimati", "Pacific/Norfolk",
	"Pacific/Tongatapu", "UTC",
}

// The standard library's zone bounds of such a day lie before it; asking them once looped forever.
func TestTheLastDayOfALeapYearHasItsTwentyFourHours(t *testing.T) {
	for _, name := range []string{"America/New_York", "Europe/Rome", "Australia/Lord_Howe"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		site := Site{Zone: zone}
		start, end := DayBounds(site, 2040, time.December, 31)
		if end.Sub(start) != 24*time.Hour || start.Day() != 31 || start.Hour() != 0 {
			t.Errorf("%s: 31 December 2040 runs from %v to %v", name, start, end)
		}
	}
}
