package foresight

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"loambank/config/unit"
)

// hill earns most where January's worth is halved, November's is a half more and fans start at once.
func hill(t Turn) float64 {
	off := 0.0
	for i, scale := range t.Stored {
		want := 1.0
		switch i {
		case 0:
			want = 0.5
		case 10:
			want = 1.5
		}
		off += (scale - want) * (scale - want)
	}
	return 100 - 10*off - 20*math.Abs(t.Start) - math.Abs(t.Later-1)
}

func earn[T any](of func(T) float64, asked *int) func([]T) ([]float64, error) {
	return func(all []T) (out []float64, err error) {
		for _, v := range all {
			out = append(out, of(v))
		}
		*asked += len(all)
		return out, nil
	}
}

func TestSearchClimbsWithinItsTrials(t *testing.T) {
	start := hill(Straight())
	last := start
	for _, most := range []int{1, 12, 40, 300} {
		asked := 0
		turn, earned, err := Search(most, earn(hill, &asked))
		if err != nil || asked > most || asked == 0 {
			t.Errorf("%d trials of %d, %v", asked, most, err)
		}
		if earned != hill(turn) || earned < last {
			t.Errorf("with %d trials it earns %v, said %v, with fewer %v", most, hill(turn), earned, last)
		}
		again, _, _ := Search(most, earn(hill, &asked))
		if again != turn {
			t.Errorf("with %d trials it finds %v and then %v", most, turn, again)
		}
		last = earned
	}
	if last < 99.5 || start > 95 {
		t.Errorf("from %v it comes to %v of 100", start, last)
	}
}

// TestMonthsAreSearchedAboutTheYearsBest, with trials left for them.
func TestMonthsAreSearchedAboutTheYearsBest(t *testing.T) {
	for _, most := range []int{18, 90} {
		best, found := Straight(), math.Inf(-1)
		begun := false
		_, _, err := Search(most, func(all []Turn) (out []float64, err error) {
			for _, v := range all {
				monthly := v.Stored[0] != v.Stored[1] || v.Stored[1] != v.Stored[2]
				if monthly && !begun && (v.Start != best.Start || v.Later != best.Later) {
					t.Errorf("of %d trials the first with a month turned has %+v, the year's best %+v", most, v, best)
				}
				begun = begun || monthly
				if earned := hill(v); earned > found {
					best, found = v, earned
				}
				out = append(out, hill(v))
			}
			return out, nil
		})
		if err != nil || !begun || best.Start == Straight().Start {
			t.Errorf("of %d trials none turns a month, or the year was not searched: %+v, %v", most, best, err)
		}
	}
}

// TestSearchThatIsStoppedKeepsTheBest lets the third round fail.
func TestSearchThatIsStoppedKeepsTheBest(t *testing.T) {
	stopped := errors.New("stopped")
	best, rounds := math.Inf(-1), 0
	turn, earned, err := Search(200, func(all []Turn) (out []float64, err error) {
		if rounds++; rounds == 3 {
			return nil, stopped
		}
		for _, v := range all {
			best = max(best, hill(v))
			out = append(out, hill(v))
		}
		return out, nil
	})
	if !errors.Is(err, stopped) || rounds != 3 || earned != best || hill(turn) != best {
		t.Errorf("%v after %d rounds, earns %v of %v", err, rounds, earned, best)
	}
}

// TestNoYearIsLivedThroughTwice in one search.
func TestNoYearIsLivedThroughTwice(t *testing.T) {
	seen := map[string]bool{}
	_, _, err := Search(150, func(all []Turn) (out []float64, err error) {
		for _, v := range all {
			if key := fmt.Sprint(v); seen[key] {
				t.Errorf("%s is asked for again", key)
			} else {
				seen[key] = true
			}
			out = append(out, hill(v))
		}
		return out, nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestBestPairIsFound(t *testing.T) {
	from := Pair{Margin: 4, Gain: 2, Setpoint: 6}
	asked := 0
	ridge := func(p Pair) float64 {
		if p.Margin <= 0 || p.Gain <= 0 {
			t.Fatalf("a pair without a difference is tried: %+v", p)
		}
		return -math.Abs(float64(p.Margin-13)) - math.Abs(float64(p.Gain-4.5)) - math.Abs(float64(p.Setpoint-4))
	}
	pair, earned, err := BestPair(from, 60, earn(ridge, &asked))
	if want := (Pair{13, 4.5, 4}); err != nil || pair != want || earned != 0 || asked > 60 {
		t.Errorf("%+v earns %v after %d, %v; want %+v", pair, earned, asked, err, want)
	}
	cold, _, _ := BestPair(from, 60, earn(func(p Pair) float64 { ridge(p); return -float64(p.Margin + p.Gain) }, &asked))
	if cold.Margin != 0.5 || cold.Gain != 0.5 || cold.Setpoint != unit.Celsius(6) {
		t.Errorf("%+v", cold)
	}
}

func TestMixFollowsInTheMonthsThatPay(t *testing.T) {
	asked := 0
	pays := Months{0: true, 3: true, 11: true}
	same := func(m Months) (n float64) {
		for i := range m {
			if m[i] == pays[i] {
				n++
			}
		}
		return n
	}
	first := Months{}
	got, earned, err := Mix(40, func(all []Months) ([]float64, error) {
		if asked == 0 {
			first = all[0]
		}
		return earn(same, &asked)(all)
	})
	if err != nil || got != pays || earned != 12 || asked > 40 {
		t.Errorf("%v earns %v after %d, %v", got, earned, asked, err)
	}
	for i := range first {
		if !first[i] {
			t.Errorf("it begins with %v, not with following all year", first)
			break
		}
	}
}

func TestQualityIsAShareOfWhatCanBeEarned(t *testing.T) {
	for _, c := range []struct {
		name         string
		earned, best float64
		want         float64
		ok           bool
	}{
		{"half of it", 25, 50, 0.5, true},
		{"worse than never running", -25, 50, -0.5, true},
		{"the schedule itself", 50, 50, 1, true},
		{"where nothing can be earned", 0, 0, 0, false},
		{"nor with a loss", -5, -1, 0, false},
		{"nor without a number", 1, math.NaN(), 0, false},
	} {
		if got, ok := Quality(c.earned, c.best); got != c.want || ok != c.ok {
			t.Errorf("%s: %v %v", c.name, got, ok)
		}
	}
}
