package season

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestWhatFellDue(t *testing.T) {
	utc := func(text string) time.Time { return localTime(t, "2006-01-02 15:04:05", text, time.UTC) }
	s := Settings{Actions: []Schedule{
		mustSchedule(t, "0 12 * * *", nil),
		mustSchedule(t, "*/30 * * * *", nil),
		mustSchedule(t, "45 11 * * *", nil),
		{},
	}}
	for _, c := range []struct {
		name, from, to string
		want           []Firing
	}{
		{"nothing within a tick", "2026-01-10 11:59:40", "2026-01-10 11:59:50", nil},
		{"the end is part of it", "2026-01-10 11:59:50", "2026-01-10 12:00:00", []Firing{{0, utc("2026-01-10 12:00:00")}, {1, utc("2026-01-10 12:00:00")}}},
		{"the start is not", "2026-01-10 12:00:00", "2026-01-10 12:00:10", nil},
		{"in time order, not in that of the actions", "2026-01-10 11:31:00", "2026-01-10 12:10:00", []Firing{{2, utc("2026-01-10 11:45:00")}, {0, utc("2026-01-10 12:00:00")}, {1, utc("2026-01-10 12:00:00")}}},
		{"only the latest of each after a long time", "2026-01-01 00:00:00", "2026-01-10 11:50:00", []Firing{{0, utc("2026-01-09 12:00:00")}, {1, utc("2026-01-10 11:30:00")}, {2, utc("2026-01-10 11:45:00")}}},
		{"nothing where the clock went back", "2026-01-10 12:00:10", "2026-01-10 11:00:00", nil},
		{"nothing where it stood still", "2026-01-10 12:00:00", "2026-01-10 12:00:00", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, Due(nil, s, utc(c.from), utc(c.to))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestDueKeepsWhatIsInTheBuffer(t *testing.T) {
	s := Settings{Actions: []Schedule{mustSchedule(t, "0 12 * * *", nil)}}
	noon := time.Date(2026, 1, 10, 12, 0, 0, 0, time.UTC)
	had := Firing{Action: 9, At: noon.Add(time.Hour)}
	got := Due([]Firing{had}, s, noon.Add(-time.Minute), noon)
	if diff := cmp.Diff([]Firing{had, {0, noon}}, got); diff != "" {
		t.Error(diff)
	}
}

// A board that boots in 1970 and then hears the time must not walk through half a century of
// minutes.
func TestALongStretchTakesFewQuestions(t *testing.T) {
	s := Settings{Actions: []Schedule{mustSchedule(t, "* * * * *", nil), mustSchedule(t, "59 23 31 12 *", nil)}}
	to := time.Date(2026, 12, 31, 23, 58, 30, 0, time.UTC)
	want := []Firing{{1, time.Date(2025, 12, 31, 23, 59, 0, 0, time.UTC)}, {0, time.Date(2026, 12, 31, 23, 58, 0, 0, time.UTC)}}
	if diff := cmp.Diff(want, Due(nil, s, time.Unix(0, 0).UTC(), to)); diff != "" {
		t.Error(diff)
	}
}

func TestDueIsWhatWalkingFinds(t *testing.T) {
	specs := []string{"0 0 * * *", "30 1 * * *", "30 2 * * *", "*/30 * * * *", "*/7 1-3 * * *", "0 2,14 * * Sun", "*/20 5 1 * *"}
	rapid.Check(t, func(t *rapid.T) {
		site, from := anyMoment(t)
		s := Settings{Site: site}
		for range rapid.IntRange(1, 3).Draw(t, "actions") {
			action, err := ParseSchedule(rapid.SampledFrom(specs).Draw(t, "spec"), site.Zone)
			if err != nil {
				t.Fatal(err)
			}
			s.Actions = append(s.Actions, action)
		}
		to := from.Add(time.Duration(rapid.IntRange(1, 4*daySeconds).Draw(t, "seconds")) * time.Second)
		var want []Firing
		for i, action := range s.Actions {
			var last time.Time
			for at := action.Next(from); !at.After(to); at = action.Next(at) {
				last = at
			}
			if !last.IsZero() {
				want = append(want, Firing{i, last})
			}
		}
		slices.SortStableFunc(want, func(a, b Firing) int { return a.At.Compare(b.At) })
		if diff := cmp.Diff(want, Due(nil, s, from, to)); diff != "" {
			t.Fatal(diff)
		}
		next := NextDue(s, from)
		if len(want) > 0 && next.After(want[0].At) || len(want) == 0 && !next.After(to) {
			t.Fatalf("next is %s, due are %v", next, want)
		}
	})
}

func TestNextDueIsTheEarliestOfAll(t *testing.T) {
	s := Settings{Actions: []Schedule{mustSchedule(t, "0 12 * * *", nil), {}, mustSchedule(t, "45 11 * * *", nil)}}
	after := time.Date(2026, 1, 10, 11, 0, 0, 0, time.UTC)
	if got, want := NextDue(s, after), after.Add(45*time.Minute); !got.Equal(want) {
		t.Errorf("got %s, want %s", got, want)
	}
	if got := NextDue(Settings{}, after); !got.IsZero() {
		t.Errorf("no actions: %s", got)
	}
}
