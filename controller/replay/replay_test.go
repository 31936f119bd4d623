package replay_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/decide"
	"loambank/controller/replay"
)

// TestAccountByHand follows one frosty morning with pencil and paper: the lower house of twoHouses,
// its path store without a reading of its soil, the upper house without any.
//
// At 10:00 the air is 0 °C: east starts at once, the others each 10 s after the one before. The
// frost limit is 1 °C and frost protection stops at 2 °C. Between 10:20 and 10:50, and from 10:50 to
// 12:00, the ticks of 15 minutes bring no reading, and after 5 minutes of silence the air is lost;
// after 10 without air the fallback holds, which by day keeps the fans off.
func TestAccountByHand(t *testing.T) {
	s := parse(t, twoHouses)
	sum, lines := told(t, s, rows(t,
		"time,lower/air_degC,lower/beds/deep_degC,remark",
		"2022-01-12T10:00:00,0,10,",
		"2022-01-12T10:10:00,-0.2,10,",
		"2022-01-12T10:15:00,-0.2,10,", // as low, but later
		"2022-01-12T10:20:00,5,10,",
		"2022-01-12T10:50:00,5.5,10,",
		"2022-01-12T12:00:00,5,10,",
	), replay.Options{})
	want := []string{
		"10:00:00 lower/beds frost [1 0]",
		"10:00:00 lower/path rest [0]", // its fan waits for the stagger
		"10:00:00 upper/beds rest [0]",
		"10:00:10 lower/beds frost [1 1]",
		"10:00:20 lower/path frost [1]", // soil that was never read is taken for 4 °C
		"10:15:00 upper/beds fallback [0]",
		"10:20:00 lower/beds rest [0 0]",
		"10:20:00 lower/path rest [0]",
		"10:35:00 lower/beds fallback [0 0]",
		"10:35:00 lower/path fallback [0]",
		"10:50:00 lower/beds rest [0 0]",
		"10:50:00 lower/path rest [0]",
		"11:05:00 lower/beds fallback [0 0]",
		"11:05:00 lower/path fallback [0]",
		"12:00:00 lower/beds rest [0 0]",
		"12:00:00 lower/path rest [0]",
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Errorf("changes (-want +got):\n%s", diff)
	}
	lower := &sum.Houses[0]
	beds, path := &lower.Account.Stores[0], &lower.Account.Stores[1]
	for _, c := range []struct {
		what       string
		have, want float64
	}{
		{"east runs from 10:00:00 to 10:20:00, s", beds.Fans[0].RunTotalS(), 1200},
		{"west from 10:00:10, s", beds.Fans[1].RunTotalS(), 1190},
		{"north from 10:00:20, s", path.Fans[0].RunTotalS(), 1180},
		{"east in frost, s", beds.Fans[0].RunS[decide.Frost], 1200},
		{"east starts once", float64(beds.Fans[0].Starts), 1},
		{"west starts once", float64(beds.Fans[1].Starts), 1},
		{"east, 600 W for 1200 s, kWh", beds.Fans[0].EnergyKWh, 0.2},
		{"west, 400 W for 1190 s, kWh", beds.Fans[1].EnergyKWh, 0.132222222},
		{"north, 100 W for 1180 s, kWh", path.Fans[0].EnergyKWh, 0.032777778},
		{"electricity at 0.04 EUR/kWh", lower.Account.ElectricityMoney, 0.0146},
		// Both fans move 0.8 m³/s: of dry air at 0 °C and 101325 Pa 1.03384 kg/s; at 1006 J/(kg K)
		// and 0.6 of 10 K that is 6240.35 W, for 590 s; at −0.2 °C 6369.82 W, for 600 s. East alone
		// moves 0.64615 kg/s, at 1 − 0.4^(0.8/0.5) = 0.76918 of 10 K 4999.88 W, for 10 s.
		{"heat up, kWh", beds.Out.SensibleKWh, 2.098251},
		{"heat down, kWh", beds.In.KWh(), 0},
		{"fuel at 0.24 EUR/kWh over 200 %, EUR", lower.Account.FuelMoney, 2.098251 * 0.12},
		{"at the frost limit from 10:00 to 10:20, s", lower.FrostS, 1200},
		{"without air from 10:35 to 10:50 and 11:05 to 12:00, s", lower.BlindS, 900 + 3300},
		{"the upper house without air all the time, s", sum.Houses[1].BlindS, 7200},
		{"the upper house at the frost limit, s", sum.Houses[1].FrostS, 0},
		{"in rest, s", beds.StateS[decide.Rest], 900 + 900},
		{"in fallback, s", beds.StateS[decide.Fallback], 900 + 3300},
		{"in both stores, s", total(lower.Account.StateS), 2 * 7200},
	} {
		near(t, c.what, c.have, c.want, 1e-6)
	}
	if l := lower.Low; !l.Known || l.C != -0.2 || !l.Time.Equal(clock(t, "2022-01-12 10:10:00")) {
		t.Errorf("lowest air %+v, want -0.2 at 10:10", l)
	}
	if sum.Houses[1].Low.Known {
		t.Errorf("the upper house has a lowest air %+v, want none", sum.Houses[1].Low)
	}
}

// TestGaps counts the ticks that a gap is walked through with.
func TestGaps(t *testing.T) {
	for _, c := range []struct {
		name     string
		until    string
		longestS float64
		want     int64
	}{
		{"a gap as long as the longest step has no tick in it", "10:15:00", 0, 0},
		{"a second more has one", "10:15:01", 0, 1},
		{"45 minutes have two", "10:45:00", 0, 2},
		{"a day and a half has one each quarter of an hour", "22:00:00", 0, 12*4 - 1},
		{"a shorter longest step is kept", "10:45:00", 600, 4},
		{"a longer one too", "10:45:00", 3600, 0},
		{"one under a second is a second", "10:00:05", 0.001, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			sum, _ := told(t, parse(t, twoHouses), rows(t,
				"time,upper/air_degC,upper/beds/deep_degC",
				"2022-01-12T10:00:00,12,10",
				"2022-01-12T"+c.until+",12,10",
			), replay.Options{LongestS: c.longestS})
			if got := sum.SilentTicks; got != 2*c.want { // two houses
				t.Errorf("%d silent ticks, want %d in each house", got, c.want)
			}
			if span := clock(t, "2022-01-12 "+c.until).Sub(clock(t, "2022-01-12 10:00:00")).Seconds(); total(sum.Houses[1].Account.StateS) != span {
				t.Errorf("%v s were booked, want %v", total(sum.Houses[1].Account.StateS), span)
			}
		})
	}
}

// TestStaggerTicks follows three starts through a gap: each waits for the stagger of 10 s, which
// brings ticks of its own.
func TestStaggerTicks(t *testing.T) {
	const header = "time,lower/air_degC,lower/beds/deep_degC,lower/path/under_degC"
	for _, c := range []struct {
		name     string
		longestS float64
		rows     []string
		want     []string
		silent   int64 // of the lower house
	}{
		{
			name: "starts follow each other by the stagger, not by the rows",
			rows: []string{"2022-01-12T03:00:00,0,10,9", "2022-01-12T03:10:00,0,10,9"},
			want: []string{
				"03:00:00 lower/beds frost [1 0]", "03:00:00 lower/path rest [0]",
				"03:00:10 lower/beds frost [1 1]", "03:00:20 lower/path frost [1]",
			},
			silent: 2,
		},
		{
			name:     "what is left of the stagger is shorter than the longest step",
			longestS: 4,
			rows:     []string{"2022-01-12T03:00:00,0,10,9", "2022-01-12T03:00:24,0,10,9"},
			want: []string{
				"03:00:00 lower/beds frost [1 0]", "03:00:00 lower/path rest [0]",
				"03:00:10 lower/beds frost [1 1]", "03:00:20 lower/path frost [1]",
			},
			silent: 6, // 4, 8, 10, 14, 18, 20 s; then the row
		},
		{
			name: "a row in the wait is no start",
			rows: []string{"2022-01-12T03:00:00,0,10,9", "2022-01-12T03:00:07,0,10,9", "2022-01-12T03:00:20,0,10,9"},
			want: []string{
				"03:00:00 lower/beds frost [1 0]", "03:00:00 lower/path rest [0]",
				"03:00:10 lower/beds frost [1 1]", "03:00:20 lower/path frost [1]",
			},
			silent: 1,
		},
		{
			name: "the end of the wait is reached although fractions of a second do not add up",
			rows: []string{
				"2022-01-12T03:00:00.0,0,10,9", "2022-01-12T03:00:03.3,0,10,9", "2022-01-12T03:00:06.6,0,10,9",
				"2022-01-12T03:00:10.0,0,10,9", "2022-01-12T03:05:00,0,10,9",
			},
			want: []string{
				"03:00:00 lower/beds frost [1 0]", "03:00:00 lower/path rest [0]",
				"03:00:11 lower/beds frost [1 1]", "03:00:21 lower/path frost [1]",
			},
			silent: 2,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, twoHouses)
			s.Houses = s.Houses[:1]
			sum, lines := told(t, s, rows(t, append([]string{header}, c.rows...)...), replay.Options{LongestS: c.longestS})
			if diff := cmp.Diff(c.want, lines); diff != "" {
				t.Errorf("changes (-want +got):\n%s", diff)
			}
			if sum.SilentTicks != c.silent {
				t.Errorf("%d silent ticks, want %d", sum.SilentTicks, c.silent)
			}
		})
	}
}

// TestBounds replays a part of five rows, an hour apart.
func TestBounds(t *testing.T) {
	at := func(text string) time.Time { return clock(t, "2022-01-12 "+text) }
	for _, c := range []struct {
		name        string
		from, until time.Time
		rows        int64
		first, last time.Time
	}{
		{"without bounds all rows", time.Time{}, time.Time{}, 5, at("10:00:00"), at("14:00:00")},
		{"a row at From belongs to it", at("11:00:00"), time.Time{}, 4, at("11:00:00"), at("14:00:00")},
		{"a row just before From does not", at("11:00:01"), time.Time{}, 3, at("12:00:00"), at("14:00:00")},
		{"a row at Until does not", time.Time{}, at("13:00:00"), 3, at("10:00:00"), at("12:00:00")},
		{"a row just before Until does", time.Time{}, at("13:00:01"), 4, at("10:00:00"), at("13:00:00")},
		{"both bounds", at("11:00:00"), at("13:00:00"), 2, at("11:00:00"), at("12:00:00")},
		{"no row between the bounds", at("11:10:00"), at("11:50:00"), 0, time.Time{}, time.Time{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			sum, _ := told(t, parse(t, twoHouses), rows(t,
				"time,upper/air_degC,upper/beds/deep_degC",
				"2022-01-12T10:00:00,12,10", "2022-01-12T11:00:00,12,10", "2022-01-12T12:00:00,12,10",
				"2022-01-12T13:00:00,12,10", "2022-01-12T14:00:00,12,10",
			), replay.Options{From: c.from, Until: c.until})
			if sum.Rows != c.rows || !sum.First.Equal(c.first) || !sum.Last.Equal(c.last) {
				t.Errorf("%d rows from %v to %v, want %d from %v to %v", sum.Rows, sum.First, sum.Last, c.rows, c.first, c.last)
			}
			if span := c.last.Sub(c.first).Seconds(); len(sum.Houses) != 2 || total(sum.Houses[1].Account.StateS) != span {
				t.Errorf("the houses %+v, want two with %v s each", sum.Houses, span)
			}
		})
	}
}

// TestFrostLimitOfTheWindow counts the time at the frost limit of the window that was in force: at
// 2.5 °C none under the house's own limit of 2 °C, an hour under 3 °C, none without a crop.
func TestFrostLimitOfTheWindow(t *testing.T) {
	s := parse(t, twoHouses+`
  [[house.window]]
  name  = "tender"
  hours = "10:00..11:00"
  frost = "3 °C"
  [[house.window]]
  name  = "cleared"
  hours = "11:00..12:00"
  frost = "3 °C"
  crop  = "none"
`)
	lines := []string{"time,upper/air_degC,upper/beds/deep_degC"}
	for at := clock(t, "2022-01-12 09:00:00"); !at.After(clock(t, "2022-01-12 12:00:00")); at = at.Add(10 * time.Minute) {
		lines = append(lines, at.Format("2006-01-02T15:04:05")+",2.5,10")
	}
	sum, _ := told(t, s, rows(t, lines...), replay.Options{})
	if got := sum.Houses[1].FrostS; got != 3600 {
		t.Errorf("%v s at the frost limit, want 3600", got)
	}
	if l := sum.Houses[1].Low; !l.Known || l.C != 2.5 {
		t.Errorf("lowest air %+v, want 2.5, although it is over 0", l)
	}
}

// TestTwoHousesAtOnce gives each house and store its own columns, one of them by the header that
// the config states, and wants changes of one tick in the order of houses and stores.
func TestTwoHousesAtOnce(t *testing.T) {
	s := parse(t, twoHouses)
	sum, lines := told(t, s, rows(t,
		"upper/beds/deep_degC,lower/path/under_degC,rh_percent,time,upper/air_degC,lower/beds/deep_degF,lower/air_degC",
		"10,0.5,50,2022-01-12T10:00:00,1.9,50,1.2", // each house's own frost limit: 2 and 1 °C
		"10,0.5,50,2022-01-12T10:05:00,1.9,50,1.0", // the path's soil is too cold to help
		"10,0.5,50,2022-01-12T10:10:00,6.5,50,1.0",
	), replay.Options{})
	want := []string{
		"10:00:00 lower/beds rest [0 0]", "10:00:00 lower/path rest [0]", "10:00:00 upper/beds frost [1]",
	}
	if diff := cmp.Diff(want, lines[:3]); diff != "" {
		t.Errorf("first changes (-want +got):\n%s", diff)
	}
	rest := strings.Join(lines, "\n")
	for _, line := range []string{"10:05:00 lower/beds frost", "10:10:00 upper/beds rest"} {
		if !strings.Contains(rest, line) {
			t.Errorf("changes lack %q:\n%s", line, rest)
		}
	}
	if sum.Rows != 3 || sum.Houses[0].Account.Name != "lower" || sum.Houses[1].Account.Name != "upper" {
		t.Errorf("summary %+v, want 3 rows of lower and upper", sum)
	}
	if f, want := sum.Houses[0].FrostS, 300.0; f != want {
		t.Errorf("the lower house is at its limit for %v s, want %v", f, want)
	}
	if f, want := sum.Houses[1].FrostS, 600.0; f != want {
		t.Errorf("the upper house is at its limit for %v s, want %v", f, want)
	}
}

// TestHumidityColumn wants the column that the config names to reach its probe: at 80 % the house
// of 20 °C is over the dew point of soil at 10 °C, so its water brings latent heat.
func TestHumidityColumn(t *testing.T) {
	for _, c := range []struct {
		header string
		latent bool
	}{{"rh_percent", true}, {"lower/damp_percent", true}, {"lower/beds/damp_percent", false}} {
		sum, _ := told(t, parse(t, twoHouses), rows(t,
			"time,lower/air_degC,lower/beds/deep_degC,"+c.header,
			"2022-01-12T10:00:00,20,10,80", "2022-01-12T10:10:00,20,10,80", "2022-01-12T10:20:00,20,10,80",
		), replay.Options{})
		in := sum.Houses[0].Account.Stores[0].In
		if in.SensibleKWh <= 0 || (in.LatentKWh > 0) != c.latent {
			t.Errorf("under the header %s the store took in %+v; want latent heat: %v", c.header, in, c.latent)
		}
	}
}

// TestForeignRecording wants a recording without a column of the farm to be refused by its headers.
func TestForeignRecording(t *testing.T) {
	s := parse(t, twoHouses)
	for _, header := range []string{"time,air,soil", "time,middle/air_degC", "time,lower/deep_degC", "time,lower/beds/air_degC", "time"} {
		_, err := replay.Run(s, rows(t, header), replay.Options{})
		if !errors.Is(err, replay.ErrNoColumn) {
			t.Errorf("%s: error %v, want ErrNoColumn", header, err)
			continue
		}
		for _, name := range strings.Split(header, ",")[1:] {
			if !strings.Contains(err.Error(), name) {
				t.Errorf("%s: error %q does not name the column %s", header, err, name)
			}
		}
	}
}

// TestBrokenRecording wants the reader's own error, with its line.
func TestBrokenRecording(t *testing.T) {
	s := parse(t, twoHouses)
	_, err := replay.Run(s, rows(t, "time,upper/air_degC", "2022-01-12T10:00:00,12", "2022-01-12T10:10:00,warm"), replay.Options{})
	if err == nil || !strings.Contains(err.Error(), ":3:") || !strings.Contains(err.Error(), "warm") {
		t.Errorf("error %v, want one that names line 3 and its cell", err)
	}
}

// TestEmptyRecording wants a recording of no rows to be a replay of no time.
func TestEmptyRecording(t *testing.T) {
	sum, lines := told(t, parse(t, twoHouses), rows(t, "time,upper/air_degC"), replay.Options{})
	if sum.Rows != 0 || sum.SilentTicks != 0 || len(lines) != 0 || len(sum.Houses) != 2 || total(sum.Houses[0].Account.StateS) != 0 {
		t.Errorf("summary %+v and changes %v, want nothing but two houses", sum, lines)
	}
}
