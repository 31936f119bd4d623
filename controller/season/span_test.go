package season

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestHoursWhereTheClockChanges(t *testing.T) {
	for _, c := range []struct {
		name, zone, hours, date string
		from, to                string
	}{
		// America/New_York: sun_and_time-S074.
		{"a start in the gap is its end", "America/New_York", "02:30..06:00", "2026-03-08", "03:00", "06:00"},
		{"an end in the gap is its end", "America/New_York", "01:00..02:30", "2026-03-08", "01:00", "03:00"},
		{"nothing is left of hours inside the gap", "America/New_York", "02:15..02:45", "2026-03-08", "", ""},
		{"a night over the gap", "America/New_York", "22:00..06:00", "2026-03-07", "22:00", "2026-03-08 06:00 -0400"},
		{"a night that ends in the gap", "America/New_York", "22:00..02:30", "2026-03-07", "22:00", "2026-03-08 03:00 -0400"},
		{"a start that comes twice is the first", "America/New_York", "01:30..03:00", "2026-11-01", "2026-11-01 01:30 -0400", "2026-11-01 03:00 -0500"},
		{"an end that comes twice is the second", "America/New_York", "00:30..01:30", "2026-11-01", "2026-11-01 00:30 -0400", "2026-11-01 01:30 -0500"},
		{"hours that come twice have no hole", "America/New_York", "01:15..01:45", "2026-11-01", "2026-11-01 01:15 -0400", "2026-11-01 01:45 -0500"},
		{"a night into the repeated hour", "America/New_York", "22:00..01:30", "2026-10-31", "22:00", "2026-11-01 01:30 -0500"},
		{"all of the long day", "America/New_York", "", "2026-11-01", "2026-11-01 00:00 -0400", "2026-11-02 00:00 -0500"},
		{"the southern autumn", "Australia/Hobart", "01:00..02:30", "2026-04-05", "2026-04-05 01:00 +1100", "2026-04-05 02:30 +1000"},
		{"half an hour repeated", "Australia/Lord_Howe", "01:45..02:00", "2026-04-05", "2026-04-05 01:45 +1100", "2026-04-05 02:00 +1030"},
		{"half an hour lost", "Australia/Lord_Howe", "02:10..03:00", "2026-10-04", "2026-10-04 02:30 +1100", "2026-10-04 03:00 +1100"},
		{"a midnight that does not exist starts the day late", "America/Havana", "00:00..06:00", "2026-03-08", "2026-03-08 01:00 -0400", "2026-03-08 06:00 -0400"},
		{"a night over a midnight that does not exist", "America/Santiago", "22:00..00:30", "2026-09-05", "2026-09-05 22:00 -0400", "2026-09-06 01:00 -0300"},
		{"24:00 is the end of the day, not the second midnight", "America/Havana", "20:00..24:00", "2026-10-31", "2026-10-31 20:00 -0400", "2026-11-01 00:00 -0400"},
		{"the last hour before midnight comes twice", "America/Santiago", "23:00..24:00", "2026-04-04", "2026-04-04 23:00 -0300", "2026-04-05 00:00 -0400"},
		{"a date that was skipped has no hours", "Pacific/Apia", "22:00..06:00", "2011-12-30", "", ""},
		{"a date that was skipped is no day", "Pacific/Apia", "", "2011-12-30", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			checkOn(t, siteIn(t, c.zone, 0, 0), Span{Hours: mustHours(t, c.hours)}, c.date, c.from, c.to)
		})
	}
}

func TestAPolarDayIsAllDaylightAndAPolarNightNone(t *testing.T) {
	tromso := siteIn(t, "Europe/Oslo", 69.65, 18.96)
	for _, c := range []struct {
		name, hours string
		from, to    string // dates
		covers      bool
	}{
		{"day", "sunrise..sunset", "2026-06-01", "2026-07-01", true},
		{"day", "sunset..sunrise", "2026-06-01", "2026-07-01", false},
		{"night", "sunset..sunrise", "2025-12-05", "2026-01-05", true},
		{"night", "sunrise..sunset", "2025-12-05", "2026-01-05", false},
		{"night", "sunrise+2h..sunset", "2025-12-05", "2026-01-05", false},
		{"night", "sunrise-1h..sunset-2h", "2025-12-05", "2026-01-05", false},
	} {
		span := Span{Hours: mustHours(t, c.hours)}
		to := localTime(t, time.DateOnly, c.to, tromso.Zone)
		for at := localTime(t, time.DateOnly, c.from, tromso.Zone); at.Before(to); at = at.Add(7 * time.Minute) {
			if span.Covers(tromso, at) != c.covers {
				t.Errorf("polar %s: %s covers %s: %v", c.name, c.hours, at, !c.covers)
				break
			}
		}
	}
	// Hours between clock times do not care.
	if !(Span{Hours: mustHours(t, "12:00..13:00")}).Covers(tromso, time.Date(2025, 12, 21, 11, 30, 0, 0, time.UTC)) {
		t.Error("the clock stands still in the polar night")
	}
}

// The night is one window whichever way its sunrise goes: with day and night together something
// covers always, and not for long both.
func TestDayAndNightByTheSunFillTheYearAtAnyLatitude(t *testing.T) {
	for _, lat := range []float64{-89, -69.65, -35, 0, 44.47, 66.2, 69.65, 80} {
		site := siteIn(t, "Europe/Oslo", lat, 18.96)
		day, night := Span{Hours: mustHours(t, "sunrise..sunset")}, Span{Hours: mustHours(t, "sunset..sunrise")}
		start := time.Date(2026, 1, 1, 0, 0, 0, 0, site.Zone)
		for at := start; at.Year() == 2026; at = at.Add(97 * time.Minute) {
			if d, n := day.Covers(site, at), night.Covers(site, at); d == n {
				t.Errorf("%g°, %s: day %v, night %v", lat, at, d, n)
				break
			}
		}
	}
}

func TestASpanBelongsToTheDateOnWhichItStarts(t *testing.T) {
	site := siteIn(t, "America/New_York", 44.47, -73.15)
	for _, c := range []struct {
		name               string
		dates, days, hours string
		at                 string
		covers             bool
	}{
		{"Friday's night before midnight", "", "Fri", "22:00..06:00", "2026-01-09 23:59", true},
		{"Friday's night after midnight", "", "Fri", "22:00..06:00", "2026-01-10 05:59", true},
		{"its end is not part of it", "", "Fri", "22:00..06:00", "2026-01-10 06:00", false},
		{"its start is", "", "Fri", "22:00..06:00", "2026-01-09 22:00", true},
		{"Thursday's night has no part in it", "", "Fri", "22:00..06:00", "2026-01-09 05:00", false},
		{"Saturday's neither", "", "Fri", "22:00..06:00", "2026-01-10 22:00", false},
		{"the night after the last date", "09-15..10-31", "", "22:00..06:00", "2026-11-01 03:00", true},
		{"the night into the first date", "09-15..10-31", "", "22:00..06:00", "2026-09-15 03:00", false},
		{"the last night of February", "11-01..02-29", "", "22:00..06:00", "2027-03-01 05:00", true},
		{"the night after it", "11-01..02-29", "", "22:00..06:00", "2027-03-01 23:00", false},
		{"29 February", "11-01..02-29", "", "", "2028-02-29 23:59", true},
		{"1 March", "11-01..02-29", "", "", "2028-03-01 00:00", false},
		{"dates and days must both be right", "01-01..01-31", "Mon..Fri", "", "2026-01-10 12:00", false},
		{"and are on a working day", "01-01..01-31", "Mon..Fri", "", "2026-01-09 12:00", true},
		{"always", "", "", "", "2026-07-01 12:00", true},
		{"a start moved after midnight stays with its sunset", "06-21..06-21", "", "sunset+5h..sunrise", "2026-06-22 02:00", true},
		{"a start moved before midnight stays with its sunrise", "06-21..06-21", "", "sunrise-6h..sunrise", "2026-06-20 23:30", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			span := Span{mustDates(t, c.dates), mustHours(t, c.hours), mustDays(t, c.days)}
			if got := span.Covers(site, localTime(t, "2006-01-02 15:04", c.at, site.Zone)); got != c.covers {
				t.Errorf("covers: %v, want %v", got, c.covers)
			}
		})
	}
}

func TestOnADateThatIsNotAmongThemNothingStarts(t *testing.T) {
	site := siteIn(t, "America/New_York", 44.47, -73.15)
	for _, span := range []Span{
		{Days: mustDays(t, "Mon..Fri")},
		{Dates: mustDates(t, "11-01..12-31"), Hours: mustHours(t, "22:00..06:00")},
	} {
		checkOn(t, site, span, "2026-01-10", "", "") // a Saturday
	}
}

func TestTheFirstListedSpanWins(t *testing.T) {
	site := siteIn(t, "America/New_York", 44.47, -73.15)
	spans := []Span{
		{Hours: mustHours(t, "10:00..14:00")},
		{Hours: mustHours(t, "12:00..16:00")},
		{Dates: mustDates(t, "07-01..07-31")},
	}
	for _, c := range []struct {
		at    string
		index int
		until string
	}{
		{"2026-01-10 09:00", -1, "2026-01-10 10:00"},
		{"2026-01-10 10:00", 0, "2026-01-10 14:00"},
		{"2026-01-10 13:00", 0, "2026-01-10 14:00"},
		{"2026-01-10 14:00", 1, "2026-01-10 16:00"},
		{"2026-01-10 16:00", -1, "2026-01-11 00:00"},
		{"2026-07-10 09:00", 2, "2026-07-10 10:00"},
	} {
		index, until := First(site, spans, localTime(t, "2006-01-02 15:04", c.at, site.Zone))
		if want := localTime(t, "2006-01-02 15:04", c.until, site.Zone); index != c.index || !until.Equal(want) {
			t.Errorf("%s: %d until %s, want %d until %s", c.at, index, until, c.index, want)
		}
	}
	if index, _ := First(site, nil, time.Now()); index != -1 {
		t.Errorf("no spans: %d", index)
	}
}

var anyHours = rapid.SampledFrom([]string{
	"", "16:00..21:00", "22:00..06:00", "00:00..02:30", "01:15..01:45", "23:30..00:30", "20:00..24:00",
	"06:00..05:59", "sunrise+2h..sunset", "sunset-1h..sunrise+30m", "sunset..22:00", "22:00..sunrise",
	"sunrise-12h..sunrise+12h", "sunset+12h..sunrise+12h", "sunset-12h..sunset+12h", "sunrise+10h..sunset",
})

func anySpan(t *rapid.T) Span {
	pick := func(label string, texts ...string) string { return rapid.SampledFrom(texts).Draw(t, label) }
	var span Span
	var err error
	read := func(e error) {
		if e != nil {
			err = e
		}
	}
	if text := pick("dates", "", "11-01..02-29", "02-29..03-08", "03-08..03-29", "10-25..11-01", "04-04..04-05"); text != "" {
		dates, e := ParseDates(text)
		span.Dates = dates
		read(e)
	}
	if text := pick("days", "", "", "Sun", "Sat..Mon", "Mon..Fri"); text != "" {
		days, e := ParseDays(text)
		span.Days = days
		read(e)
	}
	if text := anyHours.Draw(t, "hours"); text != "" {
		hours, e := ParseHours(text)
		span.Hours = hours
		read(e)
	}
	if err != nil {
		t.Fatal(err)
	}
	return span
}

// anyMoment is a site in one of the nasty zones and an instant, half of them near a clock change.
func anyMoment(t *rapid.T) (Site, time.Time) {
	z, err := time.LoadLocation(rapid.SampledFrom(nastyZones).Draw(t, "zone"))
	if err != nil {
		t.Fatal(err)
	}
	at := time.Unix(rapid.Int64Range(1767225600, 1861920000).Draw(t, "at"), 0).In(z) // 2026 to 2028
	_, offset := at.Zone()
	site := Site{
		LatitudeDeg:  rapid.Float64Range(-80, 80).Draw(t, "lat"),
		LongitudeDeg: float64(offset) / secondsPerDegree,
		Zone:         z,
	}
	if _, change := at.ZoneBounds(); !change.IsZero() && rapid.Bool().Draw(t, "change") {
		at = change.Add(time.Duration(rapid.IntRange(-26*3600, 26*3600).Draw(t, "around")) * time.Second)
	}
	return site, at.Add(time.Duration(rapid.IntRange(0, 999).Draw(t, "ms")) * time.Millisecond)
}

func TestWhatCoversIsWhatOnSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site, now := anyMoment(t)
		span := anySpan(t)
		want := false
		for days := -5; days <= 5; days++ {
			year, month, day := now.AddDate(0, 0, days).Date()
			from, to, ok := span.On(site, year, month, day)
			if ok && !now.Before(from) && now.Before(to) {
				want = true
			}
		}
		if got := span.Covers(site, now); got != want {
			t.Fatalf("%v covers %s: %v, want %v", span, now, got, want)
		}
	})
}

// Away from clock changes the clock's digits alone decide.
func TestHoursBetweenClockTimesFollowTheClocksDigits(t *testing.T) {
	site := siteIn(t, "Asia/Kathmandu", 27.7, 85.3)
	for _, text := range []string{"16:00..21:00", "22:00..06:00", "00:00..02:30", "20:00..24:00", "06:00..05:59"} {
		span := Span{Hours: mustHours(t, text)}
		from, to, _ := cutRange(text)
		for at := time.Date(2026, 3, 28, 0, 0, 0, 0, site.Zone); at.Month() == time.March; at = at.Add(time.Minute) {
			digits := at.Format("15:04")
			want := from <= digits && digits < to
			if to < from {
				want = from <= digits || digits < to
			}
			if span.Covers(site, at) != want {
				t.Fatalf("%s covers %s: %v", text, at, !want)
			}
		}
	}
}

func TestUntilIsHonest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site, now := anyMoment(t)
		spans := make([]Span, rapid.IntRange(0, 4).Draw(t, "spans"))
		for i := range spans {
			spans[i] = anySpan(t)
		}
		index, until := First(site, spans, now)
		if !until.After(now) || until.Sub(now) > 26*time.Hour {
			t.Fatalf("now %s, until %s", now, until)
		}
		want := -1
		for i, span := range spans {
			if span.Covers(site, now) {
				want = i
				break
			}
		}
		if index != want {
			t.Fatalf("first is %d, by Covers %d", index, want)
		}
		samples := []time.Time{until.Add(-1)}
		for range 20 {
			into := rapid.Int64Range(0, int64(until.Sub(now))-1).Draw(t, "into")
			samples = append(samples, now.Add(time.Duration(into)))
		}
		for _, at := range samples {
			again, then := First(site, spans, at)
			if again != index {
				t.Fatalf("%d at %s until %s, but %d at %s", index, now, until, again, at)
			}
			if then.Before(until) {
				t.Fatalf("until %s at %s, but until %s at %s", until, now, then, at)
			}
		}
	})
}

func TestUntilNeverSkipsAChange(t *testing.T) {
	// Walking from one until to the next, the minutes in between never tell anything else, over
	// both clock changes of a year.
	site := siteIn(t, "America/New_York", 44.47, -73.15)
	spans := []Span{
		{Dates: mustDates(t, "11-01..02-29"), Hours: mustHours(t, "sunset-1h..sunrise+30m")},
		{Hours: mustHours(t, "22:00..01:30"), Days: mustDays(t, "Sat..Mon")},
	}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, site.Zone)
	index, until := First(site, spans, at)
	for at.Year() == 2026 {
		at = at.Add(11 * time.Minute)
		if !at.Before(until) {
			index, until = First(site, spans, at)
		} else if now, _ := First(site, spans, at); now != index {
			t.Fatalf("%s: %d, but %d until %s", at, now, index, until)
		}
	}
}
