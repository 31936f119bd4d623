package season

import (
	"testing"
	"time"
)

func TestHoursThatCannotBeReadSayWhy(t *testing.T) {
	for text, want := range map[string]string{
		"":                     `hours "" are empty; write them such as 16:00..21:00 or sunrise+2h..sunset`,
		"16:00":                `hours "16:00" have no ".."; write them such as 16:00..21:00 or sunrise+2h..sunset`,
		"16:00-21:00":          `hours "16:00-21:00" have no ".."; write them such as 16:00..21:00 or sunrise+2h..sunset`,
		"..21:00":              `hours "..21:00" have no start; write them such as 16:00..21:00 or sunrise+2h..sunset`,
		"00:00..00:00":         `hours "00:00..00:00" start and end at the same time; leave hours out for the whole day`,
		"sunset..sunset":       `hours "sunset..sunset" start and end at the same time; leave hours out for the whole day`,
		"24:00..06:00":         `hours "24:00..06:00" start at the end of the day; write 00:00`,
		"25:00..06:00":         `hours "25:00..06:00": "25:00" does not exist; the clock goes from 00:00 to 24:00`,
		"06:00..24:01":         `hours "06:00..24:01": "24:01" does not exist; the clock goes from 00:00 to 24:00`,
		"06:60..07:00":         `hours "06:60..07:00": "06:60" does not exist; the clock goes from 00:00 to 24:00`,
		"6..7":                 `hours "6..7": "6" is no time of day; hours want HH:MM, sunrise or sunset with an offset such as sunrise+2h..sunset`,
		"6:0..7:00":            `hours "6:0..7:00": "6:0" is no time of day; hours want HH:MM, sunrise or sunset with an offset such as sunrise+2h..sunset`,
		"dawn..dusk":           `hours "dawn..dusk": "dawn" is no time of day; hours want HH:MM, sunrise or sunset with an offset such as sunrise+2h..sunset`,
		"-1:00..07:00":         `hours "-1:00..07:00": "-1:00" is no time of day; hours want HH:MM, sunrise or sunset with an offset such as sunrise+2h..sunset`,
		"sunrise+2..sunset":    `hours "sunrise+2..sunset": "sunrise+2" has no such offset; write it such as sunrise+2h, sunset-30m or sunset+1h30m`,
		"sunrise+..sunset":     `hours "sunrise+..sunset": "sunrise+" has no such offset; write it such as sunrise+2h, sunset-30m or sunset+1h30m`,
		"sunrise2h..sunset":    `hours "sunrise2h..sunset": "sunrise2h" has no such offset; write it such as sunrise+2h, sunset-30m or sunset+1h30m`,
		"sunrise+-2h..sunset":  `hours "sunrise+-2h..sunset": "sunrise+-2h" has no such offset; write it such as sunrise+2h, sunset-30m or sunset+1h30m`,
		"sunrise+30s..sunset":  `hours "sunrise+30s..sunset": "sunrise+30s": the offset is not whole minutes up to 12h; write it such as sunrise+2h`,
		"sunrise+13h..sunset":  `hours "sunrise+13h..sunset": "sunrise+13h": the offset is not whole minutes up to 12h; write it such as sunrise+2h`,
		"sunset+3h..sunset+1h": `hours "sunset+3h..sunset+1h" end before they start; the offset of the end must be the greater one`,
	} {
		if _, err := ParseHours(text); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

func TestHoursReadBackAsWritten(t *testing.T) {
	for text, want := range map[string]string{
		" 6:30 .. 07:00":               "06:30..07:00",
		"16:00..24:00":                 "16:00..24:00",
		"16:00..00:00":                 "16:00..24:00",
		"Sunrise + 2h .. SUNSET - 30m": "sunrise+2h..sunset-30m",
		"sunset+90m..sunrise-1h15m":    "sunset+1h30m..sunrise-1h15m",
		"sunset+0m..sunrise":           "sunset..sunrise",
		"sunrise+1.5h..sunset":         "sunrise+1h30m..sunset",
	} {
		if got := mustHours(t, text).String(); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
	if got := (Hours{}).String(); got != "all day" {
		t.Errorf("zero value: %q", got)
	}
}

// Times in the table are local, to the minute; the sun's are those of sun_and_time-S023 (21
// December: up 07:26, down 16:16) and S026 (21 June: up 05:08, down 20:41).
func TestHoursOfADay(t *testing.T) {
	site := siteIn(t, "America/New_York", 44.47, -73.15)
	for _, c := range []struct {
		name, hours, date string
		from, to          string // to may name its date; "" is never
	}{
		{"between clock times", "16:00..21:00", "2026-01-10", "16:00", "21:00"},
		{"to the end of the day", "16:00..24:00", "2026-01-10", "16:00", "2026-01-11 00:00"},
		{"over midnight", "22:00..06:00", "2026-01-10", "22:00", "2026-01-11 06:00"},
		{"nearly round the clock", "06:00..05:59", "2026-01-10", "06:00", "2026-01-11 05:59"},
		{"all day", "", "2026-01-10", "00:00", "2026-01-11 00:00"},

		{"day by the sun in winter", "sunrise+2h..sunset", "2025-12-21", "09:26", "16:16"},
		{"day by the sun in summer", "sunrise+2h..sunset", "2026-06-21", "07:08", "20:41"},
		{"night by the sun", "sunset-1h..sunrise+30m", "2026-06-21", "19:41", "2026-06-22 05:38"},
		{"offsets that turn a short day round leave nothing", "sunrise+10h..sunset", "2025-12-21", "", ""},
		{"the same in a long day", "sunrise+10h..sunset", "2026-06-21", "15:08", "20:41"},
		{"offsets that turn a night round leave nothing", "sunset+8h..sunrise-8h", "2026-06-21", "", ""},
		{"after sunset", "sunset+30m..sunset+2h", "2025-12-21", "16:46", "18:16"},
		{"a start after midnight stays with its sunset", "sunset+5h..sunrise", "2026-06-21", "2026-06-22 01:41", "2026-06-22 05:09"},
		{"a start before midnight stays with its sunrise", "sunrise-6h..sunrise", "2026-06-21", "2026-06-20 23:08", "05:08"},

		{"from the clock to sunset", "12:00..sunset", "2025-12-21", "12:00", "16:16"},
		{"from the clock to a sunset before it", "18:00..sunset", "2025-12-21", "", ""},
		{"from the clock to a sunset after it", "18:00..sunset", "2026-06-21", "18:00", "20:41"},
		{"from the morning to sunrise", "06:00..sunrise", "2025-12-21", "06:00", "07:26"},
		{"from the morning to a sunrise before it", "06:00..sunrise", "2026-06-21", "", ""},
		{"from the evening to sunrise", "22:00..sunrise", "2026-06-21", "22:00", "2026-06-22 05:09"},
		{"from noon to sunrise", "12:00..sunrise", "2026-06-21", "12:00", "2026-06-22 05:09"},
		{"from a minute before noon to sunrise", "11:59..sunrise", "2026-06-21", "", ""},
		{"from sunset to the evening", "sunset..22:00", "2025-12-21", "16:16", "22:00"},
		{"from a late sunset to an early evening", "sunset..20:00", "2026-06-21", "", ""},
		{"from sunset to the morning", "sunset..06:00", "2025-12-21", "16:16", "2025-12-22 06:00"},
		{"from sunset to noon", "sunset..12:00", "2025-12-21", "16:16", "2025-12-22 12:00"},
		{"from sunset to midnight", "sunset..00:00", "2025-12-21", "16:16", "2025-12-22 00:00"},
		{"from sunrise to the clock", "sunrise..10:00", "2025-12-21", "07:26", "10:00"},
		{"from sunrise to a clock time before it", "sunrise..06:00", "2025-12-21", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			checkOn(t, site, Span{Hours: mustHours(t, c.hours)}, c.date, c.from, c.to)
		})
	}
}

// checkOn compares a date's stretch with local times, to two minutes where the sun is named.
func checkOn(t *testing.T, site Site, span Span, date, from, to string) {
	t.Helper()
	day := localTime(t, time.DateOnly, date, time.UTC)
	gotFrom, gotTo, ok := span.On(site, day.Year(), day.Month(), day.Day())
	if !ok || from == "" {
		if ok || from != "" {
			t.Fatalf("from %s to %s, ok %v; want from %q", gotFrom, gotTo, ok, from)
		}
		return
	}
	for _, c := range []struct {
		got  time.Time
		want string
	}{{gotFrom, from}, {gotTo, to}} {
		if len(c.want) == len("15:04") {
			c.want = date + " " + c.want
		}
		layout := "2006-01-02 15:04 -0700"[:len(c.want)] // the offset where the clock repeats
		tolerance := 2 * time.Minute                     // of the rows
		if !span.Hours.sunny() {
			tolerance = 0
		}
		if want := localTime(t, layout, c.want, site.Zone); c.got.Sub(want).Abs() > tolerance {
			t.Errorf("got %s, want %s", c.got, want)
		}
	}
}

func FuzzParseHours(f *testing.F) {
	for _, seed := range []string{
		"16:00..21:00", "22:00..06:00", "sunrise+2h..sunset", "sunset-1h..sunrise+30m", "00:00..24:00",
		"16:00..00:00", "sunrise+1h1h..sunset", "sunset+9223372036854775807h..sunrise", "sunrise+1e3m..sunset",
		"sunset+0.0000000001h..sunrise", "..", "sunrise..", "24:00..24:00",
	} {
		f.Add(seed)
	}
	site := siteIn(f, "America/New_York", 44.47, -73.15)
	f.Fuzz(func(t *testing.T, text string) {
		hours, err := ParseHours(text)
		if err != nil {
			return
		}
		if again, err := ParseHours(hours.String()); err != nil || again != hours {
			t.Errorf("%q became %q, which is %v, %v", text, hours, again, err)
		}
		from, to, ok := Span{Hours: hours}.On(site, 2026, time.March, 8)
		if ok && (!from.Before(to) || to.Sub(from) > 48*time.Hour) {
			t.Errorf("%q runs from %s to %s", text, from, to)
		}
	})
}
