package season

import (
	"testing"
	"time"
)

func steadySettings(t testing.TB) Settings {
	site := siteIn(t, "America/New_York", 43.1, -75.2)
	return Settings{
		Site: site,
		Windows: []Span{
			{Dates: mustDates(t, "09-15..10-31"), Hours: mustHours(t, "sunrise+2h..sunset")},
			{Dates: mustDates(t, "11-01..02-29"), Hours: mustHours(t, "sunset-1h..sunrise+30m")},
			{Hours: mustHours(t, "22:00..06:00"), Days: mustDays(t, "Mon..Fri")},
			{Dates: mustDates(t, "03-01..05-15")},
		},
		Actions: []Schedule{
			mustSchedule(t, "30 5 * * Sun", site.Zone),
			mustSchedule(t, "*/30 * * * *", site.Zone),
			mustSchedule(t, "0 2 1 * *", site.Zone),
		},
	}
}

func BenchmarkFirst(b *testing.B) {
	s := steadySettings(b)
	now := time.Date(2027, 1, 10, 13, 0, 0, 0, s.Site.Zone)
	b.ReportAllocs()
	for b.Loop() {
		First(s.Site, s.Windows, now)
	}
}

func BenchmarkDaylightOn(b *testing.B) {
	s := steadySettings(b)
	b.ReportAllocs()
	for b.Loop() {
		DaylightOn(s.Site, 2027, time.January, 10)
	}
}

func BenchmarkDue(b *testing.B) {
	s := steadySettings(b)
	now := time.Date(2027, 1, 10, 13, 0, 0, 0, s.Site.Zone)
	buf := make([]Firing, 0, 8)
	b.ReportAllocs()
	for b.Loop() {
		Due(buf, s, now, now.Add(10*time.Second))
	}
}

// The controller asks on every tick, the simulation once per simulated hour over decades.
func TestAskingTheCalendarAllocatesNothing(t *testing.T) {
	s := steadySettings(t)
	now := time.Date(2027, 1, 10, 13, 0, 0, 0, s.Site.Zone)
	buf := make([]Firing, 0, 8)
	for name, ask := range map[string]func(){
		"First":      func() { First(s.Site, s.Windows, now) },
		"Covers":     func() { s.Windows[1].Covers(s.Site, now) },
		"DaylightOn": func() { DaylightOn(s.Site, 2027, time.January, 10) },
		"Due, none":  func() { Due(buf, s, now.Add(time.Second), now.Add(11*time.Second)) },
		"Due, some":  func() { Due(buf, s, now.Add(-time.Minute), now.Add(24*time.Hour)) },
		"NextDue":    func() { NextDue(s, now) },
	} {
		if n := testing.AllocsPerRun(100, ask); n != 0 {
			t.Errorf("%s allocates %v times", name, n)
		}
	}
}
