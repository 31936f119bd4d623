package tariff

import (
	"math"
	"testing"
	"time"

	"loambank/controller/season"

	"pgregory.net/rapid"
)

func date(month time.Month, day int) season.MonthDay { return season.MonthDay{Month: month, Day: day} }

func TestDefaultSharesRiseToTheFirstFrostAndFallToTheLast(t *testing.T) {
	// Rising through the 30 days of September (0/30 to 29/30), 1 on 1 October, then falling over
	// the 243 days to 1 June. By hand: the mean of a line is that of its ends.
	got := DefaultShares(date(time.September, 1), date(time.October, 1), date(time.June, 1))
	fallen := func(firstDay, days float64) float64 { return 1 - (firstDay+(days-1)/2)/243 }
	want := [12]float64{
		time.September - 1: 29.0 / 60,
		time.October - 1:   fallen(0, 31),
		time.November - 1:  fallen(31, 30),
		time.December - 1:  fallen(61, 31),
		time.January - 1:   fallen(92, 31),
		time.February - 1:  fallen(123, 28),
		time.March - 1:     fallen(151, 31),
		time.April - 1:     fallen(182, 30),
		time.May - 1:       fallen(212, 31),
	}
	for m := range want {
		if math.Abs(got[m]-want[m]) > 1e-12 {
			t.Errorf("%s: got %.6f, want %.6f", time.Month(m+1), got[m], want[m])
		}
	}
}

func TestDefaultSharesOfOddDates(t *testing.T) {
	oct, may := date(time.October, 1), date(time.May, 1)
	for _, c := range []struct {
		name                   string
		topping, first, last   season.MonthDay
		september, october     float64
		januaryAbove, julyUpTo float64
	}{
		{"topping up at the first frost", oct, oct, may, 0, 1 - 15.0/212, 0.4, 0},
		{"topping up in the middle of winter counts as the first frost", date(time.January, 1), oct, may, 0, 1 - 15.0/212, 0.4, 0},
		{"topping up from the last frost on", may, oct, may, 1 - 15.5/153, 1 - 15.0/212, 0.4, 0.5},
		{"no winter", date(time.September, 1), oct, oct, 0, 0, -1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := DefaultShares(c.topping, c.first, c.last)
			if math.Abs(got[8]-c.september) > 1e-12 || math.Abs(got[9]-c.october) > 1e-12 {
				t.Errorf("September %.6f, October %.6f; want %.6f and %.6f", got[8], got[9], c.september, c.october)
			}
			if got[0] <= c.januaryAbove || got[6] > c.julyUpTo {
				t.Errorf("January %.3f, July %.3f", got[0], got[6])
			}
		})
	}
}

func TestInTheSouthSummerAtTheNewYearIsWorthNothing(t *testing.T) {
	south := DefaultShares(date(time.March, 10), date(time.April, 20), date(time.October, 10))
	for m, share := range south {
		month := time.Month(m + 1)
		warm := month >= time.November || month <= time.February
		if warm != (share == 0) {
			t.Errorf("%s: %.3f", month, share)
		}
	}
	if south[time.May-1] < south[time.August-1] {
		t.Errorf("May %.3f is worth less than August %.3f", south[4], south[7])
	}
}

func TestDefaultSharesAreSharesAndTheirAreaIsThatOfTheTriangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := func(label string) season.MonthDay {
			at := time.Date(2027, 1, 1+rapid.IntRange(0, 364).Draw(t, label), 0, 0, 0, 0, time.UTC)
			return date(at.Month(), at.Day())
		}
		topping, first, last := day("topping"), day("first"), day("last")
		sum := 0.0
		for m, share := range DefaultShares(topping, first, last) {
			if !(share >= 0 && share <= 1) {
				t.Fatalf("%s: %v", time.Month(m+1), share)
			}
			sum += share * float64(time.Date(2027, time.Month(m+2), 0, 0, 0, 0, 0, time.UTC).Day())
		}
		fall := daysFrom(yearDay(first), yearDay(last))
		rise := daysFrom(yearDay(topping), yearDay(first))
		if rise+fall > 365 {
			rise = 0
		}
		// Of a falling stair of n steps from 1 to 0 the area is (n+1)/2, of the rising one (n−1)/2.
		want := 0.0
		if fall > 0 {
			want = float64(fall+1)/2 + math.Max(0, float64(rise-1)/2)
		}
		if math.Abs(sum-want) > 1e-9 {
			t.Fatalf("area %.9f, want %.9f", sum, want)
		}
	})
}
