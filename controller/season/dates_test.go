package season

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestFebruaryHasTheDaysOfTheReference(t *testing.T) {
	for _, r := range rows(t, 86, 89) {
		year, err := strconv.Atoi(r.inputs["year"])
		if err != nil {
			t.Fatal(err)
		}
		want, err := strconv.Atoi(r.fields(";")[1])
		if err != nil {
			t.Fatal(err)
		}
		if got := (MonthDay{time.February, 29}).In(year); got != (MonthDay{time.February, want}) {
			t.Errorf("%s: 29 February is %s in %d, want day %d", r.id, got, year, want)
		}
	}
}

func TestDatesContain(t *testing.T) {
	for _, c := range []struct {
		name, dates string
		in, out     string // dates, separated by blanks
	}{
		{"both ends", "09-15..10-31", "2026-09-15 2026-10-31 2026-10-01", "2026-09-14 2026-11-01 2026-01-01"},
		{"a single day", "12-24..12-24", "2026-12-24", "2026-12-23 2026-12-25"},
		{"the new year inside", "11-01..02-15", "2026-11-01 2026-12-31 2027-01-01 2027-02-15", "2026-10-31 2027-02-16 2027-07-01"},
		// sun_and_time-S090
		{"1 November to 29 February in years that have none", "11-01..02-29", "2027-02-28 2026-11-01", "2027-03-01 2026-10-31"},
		{"1 November to 29 February in a leap year", "11-01..02-29", "2028-02-28 2028-02-29", "2028-03-01"},
		{"29 February itself in a leap year", "02-29..02-29", "2028-02-29", "2028-02-28 2028-03-01"},
		{"29 February itself in another year", "02-29..02-29", "2027-02-28", "2027-02-27 2027-03-01"},
		{"from 29 February in another year", "02-29..03-02", "2027-02-28 2027-03-01", "2027-02-27 2027-03-03"},
		{"all but nothing, also where 29 February moves", "02-29..02-28", "2027-02-28 2027-07-01 2027-02-27 2028-02-29 2028-02-28", ""},
		{"all year", "", "2026-01-01 2026-12-31 2028-02-29", ""},
		{"the century without a leap day", "02-01..02-29", "2100-02-28", "2100-03-01"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dates := mustDates(t, c.dates)
			for want, list := range map[bool]string{true: c.in, false: c.out} {
				for text := range strings.FieldsSeq(list) {
					day := localTime(t, time.DateOnly, text, time.UTC)
					if got := dates.Contains(day.Date()); got != want {
						t.Errorf("%s contains %s: %v, want %v", dates, text, got, want)
					}
				}
			}
		})
	}
}

func TestDatesBetweenTwoDaysAndTheRestOfTheYearAreApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const year = 2028
		length := func(d civil) MonthDay { _, m, day := d.date(); return MonthDay{m, day} }
		first := civilOf(year, 1, 1)
		from := first + civil(rapid.IntRange(0, 365).Draw(t, "from"))
		to := first + civil(rapid.IntRange(0, 365).Draw(t, "to"))
		dates := DatesBetween(length(from), length(to))
		want := int(to-from) + 1
		if want <= 0 {
			want += 366
		}
		got := 0
		for d := first; d < first+366; d++ {
			if dates.Contains(d.date()) {
				got++
			}
		}
		if got != want {
			t.Fatalf("%s: %d days, want %d", dates, got, want)
		}
	})
}

func TestDatesThatCannotBeReadSayWhy(t *testing.T) {
	for text, want := range map[string]string{
		"02-30..03-05":        `"02-30": 30 February does not exist; February has the days 1 to 29`,
		"04-01..04-31":        `"04-31": 31 April does not exist; April has the days 1 to 30`,
		"13-01..02-02":        `"13-01": there is no month 13; write the month first, then the day, such as 09-15`,
		"09-00..10-01":        `"09-00": 0 September does not exist; September has the days 1 to 30`,
		"":                    `dates "" are empty; write them such as 09-15..10-31, a single day twice`,
		"09-15":               `dates "09-15" have no ".."; write them such as 09-15..10-31, a single day twice`,
		"..10-31":             `dates "..10-31" have no start; write them such as 09-15..10-31, a single day twice`,
		"09-15..":             `dates "09-15.." have no end; write them such as 09-15..10-31, a single day twice`,
		"01-01..02-02..03-03": `dates "01-01..02-02..03-03" have more than one ".."; write them such as 09-15..10-31, a single day twice`,
		"Sep 15..Oct 31":      `"Sep 15" is no date; write month and day such as 09-15`,
		"2026-09-15..10-31":   `"2026-09-15" is no date; write month and day such as 09-15`,
		"+1-02..03-03":        `"+1-02" is no date; write month and day such as 09-15`,
	} {
		if _, err := ParseDates(text); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

func TestDatesReadBackAsWritten(t *testing.T) {
	for text, want := range map[string]string{
		" 9-15 .. 10-31 ": "09-15..10-31",
		"11-01..02-29":    "11-01..02-29",
	} {
		if got := mustDates(t, text).String(); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
	if got := (Dates{}).String(); got != "all year" {
		t.Errorf("zero value: %q", got)
	}
}

func FuzzParseDates(f *testing.F) {
	for _, seed := range []string{"09-15..10-31", "02-29..02-28", " 1-1 .. 12-31", "02-30..03-01", "..", "01-01...02-02", "９-1..1-1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		dates, err := ParseDates(text)
		if err != nil {
			return
		}
		again, err := ParseDates(dates.String())
		if err != nil || again != dates {
			t.Errorf("%q became %q, which is %v, %v", text, dates, again, err)
		}
		for year := 2027; year <= 2028; year++ {
			from, to := dates.from.In(year), dates.to.In(year)
			if !dates.Contains(year, from.Month, from.Day) || !dates.Contains(year, to.Month, to.Day) {
				t.Errorf("%q does not contain its ends in %d", text, year)
			}
		}
	})
}
