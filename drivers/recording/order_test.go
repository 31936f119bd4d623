package recording

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestLocalTimes(t *testing.T) {
	tests := []struct {
		name, zone string
		stamps     string
		want       string // UTC
		stats      Stats
		fault      string
	}{
		// sun_and_time-S077: 2027-10-31T01:00Z, +2 to +1 h.
		{
			"a repeated hour in steps of 30 min is gone through twice", "Europe/Berlin",
			"2027-10-31T01:30 2027-10-31T02:00 2027-10-31T02:30 2027-10-31T02:00 2027-10-31T02:30 2027-10-31T03:00",
			"10-30T23:30 10-31T00:00 10-31T00:30 10-31T01:00 10-31T01:30 10-31T02:00",
			Stats{Rows: 6, SecondPasses: 1},
			"",
		},
		{
			"a repeated hour that is there once is its first pass", "Europe/Berlin",
			"2027-10-31T01:30 2027-10-31T02:00 2027-10-31T02:30 2027-10-31T03:00",
			"10-30T23:30 10-31T00:00 10-31T00:30 10-31T02:00",
			Stats{Rows: 4},
			"",
		},
		{
			"an hourly recording has the repeated hour as two equal times", "Europe/Berlin",
			"2027-10-31T00:00 2027-10-31T01:00 2027-10-31T02:00 2027-10-31T02:00 2027-10-31T03:00",
			"10-30T22:00 10-30T23:00 10-31T00:00 10-31T01:00 10-31T02:00",
			Stats{Rows: 5, SecondPasses: 1},
			"",
		},
		{
			"equal times in smaller steps are a repeated row", "Europe/Berlin",
			"2027-10-31T01:30 2027-10-31T02:00 2027-10-31T02:00 2027-10-31T02:30",
			"10-30T23:30 10-31T00:00 10-31T00:30",
			Stats{Rows: 3, Repeated: 1},
			"",
		},
		{
			"a step back within the second pass is out of order", "Europe/Berlin",
			"2027-10-31T02:30 2027-10-31T02:00 2027-10-31T02:30 2027-10-31T02:10", "10-31T00:30 10-31T01:00 10-31T01:30",
			Stats{Rows: 3, SecondPasses: 1},
			"x.csv:5: time goes back from 2027-10-31T02:30:00+01:00 to 2027-10-31T02:10:00+01:00; sort the file",
		},
		{
			"a step back out of the repeated hour is out of order", "Europe/Berlin",
			"2027-10-31T02:30 2027-10-31T01:59", "10-31T00:30",
			Stats{Rows: 1},
			"x.csv:3: time goes back from 2027-10-31T02:30:00+02:00 to 2027-10-31T01:59:00+02:00; sort the file",
		},
		// sun_and_time-S074: 2026-11-01T06:00Z, -4 to -5 h.
		{
			"a second pass each year is counted", "America/New_York",
			"2025-11-02T01:50 2025-11-02T01:10 2026-11-01T01:50 2026-11-01T01:10 2026-11-01T01:20",
			"11-02T05:50 11-02T06:10 11-01T05:50 11-01T06:10 11-01T06:20",
			Stats{Rows: 5, SecondPasses: 2},
			"",
		},
		// sun_and_time-S084: 2026-04-05 has 24.5 h there; 02:00 +11 becomes 01:30 +10.5.
		{
			"a repeated half hour", "Australia/Lord_Howe",
			"2026-04-05T01:15 2026-04-05T01:45 2026-04-05T01:30 2026-04-05T01:45 2026-04-05T02:00",
			"04-04T14:15 04-04T14:45 04-04T15:00 04-04T15:15 04-04T15:30",
			Stats{Rows: 5, SecondPasses: 1},
			"",
		},
		{
			"a repeated half hour in half-hour steps", "Australia/Lord_Howe",
			"2026-04-05T01:00 2026-04-05T01:30 2026-04-05T01:30 2026-04-05T02:00",
			"04-04T14:00 04-04T14:30 04-04T15:00 04-04T15:30",
			Stats{Rows: 4, SecondPasses: 1},
			"",
		},
		// sun_and_time-S085: 02:30 does not exist; shifted forward it is 03:30 EDT, 07:30Z.
		{
			"a time in the spring gap is shifted forward", "America/New_York",
			"2026-03-08T01:30 2026-03-08T02:30 2026-03-08T03:45",
			"03-08T06:30 03-08T07:30 03-08T07:45",
			Stats{Rows: 3, InGap: 1},
			"",
		},
		{
			"a file in standard time all year is told so", "America/New_York",
			"2026-03-08T01:30 2026-03-08T02:30 2026-03-08T03:00",
			"03-08T06:30 03-08T07:30",
			Stats{Rows: 2, InGap: 1},
			"x.csv:4: time goes back after a local time that the zone's clocks never showed; " +
				"if the file keeps standard time all year, write its offset into the times",
		},
		// The day that Samoa left out when it changed sides of the date line (IANA tzdata, Pacific/Apia).
		{
			"a gap of a whole day", "Pacific/Apia",
			"2011-12-29T23:00 2011-12-30T12:00 2011-12-31T13:00",
			"12-30T09:00 12-30T22:00 12-30T23:00",
			Stats{Rows: 3, InGap: 1},
			"",
		},
		// 2028 is a leap year: the bounds the standard library gives for its last day's offset are wrong.
		{
			"the last day of a leap year", "America/New_York",
			"2028-12-31T12:00 2028-12-31T18:00 2029-01-01T00:00",
			"12-31T17:00 12-31T23:00 01-01T05:00",
			Stats{Rows: 3},
			"",
		},
		{
			"written offsets hold whatever the zone", "America/New_York",
			"2026-11-01T01:30:00-04:00 2026-11-01T01:30:00-05:00 2026-11-01T06:45:00Z",
			"11-01T05:30 11-01T06:30 11-01T06:45",
			Stats{Rows: 3},
			"",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := "time,a\n" + strings.ReplaceAll(tt.stamps, " ", ",1\n") + ",1\n"
			r, err := NewReader(strings.NewReader(text), Options{Name: "x.csv", Zone: place(t, tt.zone)})
			if err != nil {
				t.Fatal(err)
			}
			rows, err := all(r)
			fault := ""
			if err != nil {
				fault = err.Error()
			}
			if fault != tt.fault {
				t.Errorf("got fault  %s\nwant fault %s", fault, tt.fault)
			}
			var got []string
			for _, row := range rows {
				got = append(got, row.Time.UTC().Format("01-02T15:04"))
			}
			if d := cmp.Diff(strings.Fields(tt.want), got); d != "" {
				t.Errorf("instants (-want +got):\n%s", d)
			}
			if d := cmp.Diff(tt.stats, r.Stats()); d != "" {
				t.Errorf("stats (-want +got):\n%s", d)
			}
		})
	}
}
