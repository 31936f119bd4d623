package replay_test

import (
	"testing"
	"time"

	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// TestChangedHours replays a frosty night over each change of the clocks, every 15 minutes, local
// times: the fan runs all the time that passed, and no longer.
func TestChangedHours(t *testing.T) {
	quarters := func(day string, hours ...string) (lines []string) {
		for _, h := range hours {
			for _, m := range []string{"00", "15", "30", "45"} {
				lines = append(lines, day+"T"+h+":"+m+":00,-1,8")
			}
		}
		return lines
	}
	utc := func(text string) time.Time {
		at, err := time.Parse(time.RFC3339, text)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	for _, c := range []struct {
		name                 string
		lines                []string
		first, last          time.Time
		rows, passes, silent int64
	}{
		{
			name:  "autumn: the hour from two comes twice",
			lines: quarters("2021-10-31", "01", "02", "02", "03"),
			first: utc("2021-10-30T23:00:00Z"), last: utc("2021-10-31T02:45:00Z"), rows: 16, passes: 1,
		},
		{
			name:  "autumn: of the second pass only the end was recorded",
			lines: append(quarters("2021-10-31", "01", "02"), "2021-10-31T02:40:00,-1,8", "2021-10-31T03:00:00,-1,8"),
			first: utc("2021-10-30T23:00:00Z"), last: utc("2021-10-31T02:00:00Z"), rows: 10, passes: 1,
			silent: 4, // from 00:45 to 01:40 UTC three, from 01:40 to 02:00 UTC one
		},
		{
			name:  "spring: no clock shows the hour from two",
			lines: quarters("2022-03-27", "01", "03"),
			first: utc("2022-03-27T00:00:00Z"), last: utc("2022-03-27T01:45:00Z"), rows: 8,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, twoHouses)
			s.Houses = s.Houses[1:]
			r := rows(t, append([]string{"time,upper/air_degC,upper/beds/deep_degC"}, c.lines...)...)
			times := &stamps{Rows: r}
			sum, lines := told(t, s, times, replay.Options{})
			if times.back > 0 {
				t.Errorf("%d of the steps are none or back", times.back)
			}
			if !sum.First.Equal(c.first) || !sum.Last.Equal(c.last) || sum.Rows != c.rows || sum.SilentTicks != c.silent {
				t.Errorf("%v to %v, %d rows, %d silent ticks; want %v to %v, %d and %d",
					sum.First, sum.Last, sum.Rows, sum.SilentTicks, c.first, c.last, c.rows, c.silent)
			}
			if passes := r.Stats().SecondPasses; passes != c.passes {
				t.Errorf("%d second passes, want %d", passes, c.passes)
			}
			fan, span := &sum.Houses[0].Account.Stores[0].Fans[0], c.last.Sub(c.first).Seconds()
			if fan.RunTotalS() != span || fan.Starts != 1 || sum.Houses[0].FrostS != span || len(lines) != 1 {
				t.Errorf("the fan ran %v s with %d starts, %v s of frost, changes %v; want %v s in one run", fan.RunTotalS(), fan.Starts, sum.Houses[0].FrostS, lines, span)
			}
		})
	}
}

// stamps counts the rows that are not after the one before.
type stamps struct {
	replay.Rows
	last time.Time
	back int
}

func (s *stamps) Next(row *recording.Row) error {
	err := s.Rows.Next(row)
	if err == nil {
		if !row.Time.After(s.last) {
			s.back++
		}
		s.last = row.Time
	}
	return err
}
