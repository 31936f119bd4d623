package config

import (
	"testing"
	"time"

	"loambank/controller/season"
)

func TestASeasonBeginsWithItsToppingUp(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	leap := season.MonthDay{Month: time.February, Day: 29}
	autumn := season.MonthDay{Month: time.September, Day: 10}
	for _, tt := range []struct {
		name      string
		toppingUp season.MonthDay
		at, want  string
	}{
		{"in the winter after it", autumn, "2026-01-21 05:00", "2025-09-10"},
		{"at its midnight", autumn, "2026-09-10 00:00", "2026-09-10"},
		{"a minute before it", autumn, "2026-09-09 23:59", "2025-09-10"},
		{"at the end of its year", autumn, "2026-12-31 23:59", "2026-09-10"},
		{"on 29 February, of a year that has none", leap, "2026-03-01 12:00", "2026-02-28"},
		{"on 29 February, before it", leap, "2027-02-01 12:00", "2026-02-28"},
		{"on 29 February of a leap year", leap, "2028-12-01 12:00", "2028-02-29"},
	} {
		at, err := time.ParseInLocation("2006-01-02 15:04", tt.at, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := (Turn{ToppingUp: tt.toppingUp}).SeasonBegan(at); got.Format("2006-01-02 15:04") != tt.want+" 00:00" {
			t.Errorf("%s: at %s it began %v, want %s", tt.name, tt.at, got, tt.want)
		}
	}
}
