package page

import (
	"net/url"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/house"
	"loambank/controller/season"
)

// asking is a house at a time of New York, and its settings.
func asking(t testing.TB, now string) (*controller.Snapshot, *config.Settings) {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	at, err := time.ParseInLocation("2006-01-02 15:04", now, zone)
	if err != nil {
		t.Fatal(err)
	}
	s := &controller.Snapshot{Settings: &config.House{House: house.Settings{Name: "lower"}}, Time: at}
	s.Settings.House.Decide.Season.Site = season.Site{Zone: zone}
	return s, &config.Settings{Turn: usualTurn, TickS: 10}
}

func TestWhichTimeIsShown(t *testing.T) {
	const form = "2006-01-02 15:04"
	for _, tt := range []struct {
		name, now, query string
		from, to         string
		earlier, later   string // later is empty where there is nothing to come
	}{
		{"the last 24 hours, to the full hour", "2026-01-21 05:03", "", "2026-01-20 06:00", "2026-01-21 06:00", "2026-01-20", ""},
		{"a day gone by", "2026-01-21 05:03", "until=2026-01-19", "2026-01-19 00:00", "2026-01-20 00:00", "2026-01-18", "2026-01-20"},
		{"yesterday leads to today", "2026-01-21 05:03", "until=2026-01-20", "2026-01-20 00:00", "2026-01-21 00:00", "2026-01-19", "2026-01-21"},
		{"today has no later", "2026-01-21 05:03", "until=2026-01-21", "2026-01-21 00:00", "2026-01-22 00:00", "2026-01-20", ""},
		{"the day of 25 hours", "2026-11-05 12:00", "until=2026-11-01", "2026-11-01 00:00", "2026-11-02 00:00", "2026-10-31", "2026-11-02"},
		{"a week, to a quarter of a day", "2026-01-21 05:03", "range=week", "2026-01-14 06:00", "2026-01-21 06:00", "2026-01-14", ""},
		{"a week gone by", "2026-01-21 05:03", "range=week&until=2026-01-10", "2026-01-04 00:00", "2026-01-11 00:00", "2026-01-03", "2026-01-17"},
		{"a week that ends near today", "2026-01-21 05:03", "range=week&until=2026-01-18", "2026-01-12 00:00", "2026-01-19 00:00", "2026-01-11", "2026-01-21"},
		{"the season so far", "2026-01-21 05:03", "range=season", "2025-09-10 00:00", "2026-01-22 00:00", "2025-09-09", ""},
		{"a season seen in summer ends with the last frost", "2026-07-02 05:03", "range=season", "2025-09-10 00:00", "2026-05-13 00:00", "2025-09-09", ""},
		{"the first day of a season", "2025-09-10 00:00", "range=season", "2025-09-10 00:00", "2025-09-11 00:00", "2025-09-09", ""},
		{"the season before", "2026-01-21 05:03", "range=season&until=2025-09-09", "2024-09-10 00:00", "2025-05-13 00:00", "2024-09-09", "2026-01-21"},
		{"the season before that", "2026-01-21 05:03", "range=season&until=2024-02-01", "2023-09-10 00:00", "2024-02-02 00:00", "2023-09-09", "2025-09-09"},
		{"a year", "2026-01-21 05:03", "range=year", "2025-01-22 00:00", "2026-01-22 00:00", "2025-01-21", ""},
		{"what else is in the query is left alone", "2026-01-21 05:03", "range=day&utm=1", "2026-01-20 06:00", "2026-01-21 06:00", "2026-01-20", ""},
	} {
		s, set := asking(t, tt.now)
		query, err := url.ParseQuery(tt.query)
		if err != nil {
			t.Fatal(err)
		}
		q, err := askedOf(query, s, set)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		later := ""
		if at := q.later(); !at.IsZero() {
			later = at.Format(dateForm)
		}
		if q.from.Format(form) != tt.from || q.to.Format(form) != tt.to || q.earlier().Format(dateForm) != tt.earlier || later != tt.later {
			t.Errorf("%s: %s to %s, earlier %s, later %q; want %s to %s, %s, %q", tt.name,
				q.from.Format(form), q.to.Format(form), q.earlier().Format(dateForm), later, tt.from, tt.to, tt.earlier, tt.later)
		}
	}
}

func TestASouthernSeasonCrossesNoNewYear(t *testing.T) {
	s, set := asking(t, "2026-08-01 12:00")
	set.Turn = config.Turn{ToppingUp: season.MonthDay{Month: time.March, Day: 1}, LastFrost: season.MonthDay{Month: time.October, Day: 20}}
	q, err := askedOf(url.Values{"range": {"season"}, "until": {"2025-12-24"}}, s, set)
	if err != nil || q.from.Format(dateForm) != "2025-03-01" || q.to.Format(dateForm) != "2025-10-21" {
		t.Errorf("%v to %v, %v", q.from, q.to, err)
	}
}

// FuzzAskedOf holds every question that is taken to a picture's bounds, whatever the query says.
func FuzzAskedOf(f *testing.F) {
	for _, seed := range []string{
		"range=day", "range=week&until=2026-01-01", "range=season&until=2000-01-01", "range=year&width=320", "until=2026-02-30",
		"range=%3Cscript%3E", "width=-1", "width=1e9", "until=0000-00-00", "range=day&range=year", "until=2025-03-09", "range=year&until=2024-02-29",
	} {
		f.Add(seed)
	}
	s, set := asking(f, "2026-01-21 05:03")
	f.Fuzz(func(t *testing.T, text string) {
		query, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		q, err := askedOf(query, s, set)
		if err != nil {
			return
		}
		slots := q.to.Sub(q.from) / q.span.slot
		if !q.from.Before(q.to) || slots > 370 || q.width < narrowest || q.width > widest || !q.earlier().Before(q.until.AddDate(0, 0, 1)) {
			t.Fatalf("%s: %v to %v, %d slots, %d wide", text, q.from, q.to, slots, q.width)
		}
		if later := q.later(); !later.IsZero() && !later.After(q.until) {
			t.Fatalf("%s: later is %v", text, later)
		}
	})
}
