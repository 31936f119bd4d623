package judge

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func good(value float64) Verdict     { return Verdict{Value: value, Quality: Good, Cause: Fine} }
func doubtful(value float64) Verdict { return Verdict{value, Doubtful, Stuck, 0} }
func bad(value float64) Verdict      { return Verdict{value, Bad, Stale, 400} }

func TestVote(t *testing.T) {
	for name, c := range map[string]struct {
		in      []Verdict
		value   float64
		quality Quality
		cause   Cause
		odd     int
	}{
		"nobody is missing":                      {nil, 0, Bad, Missing, -1},
		"one speaks for itself":                  {[]Verdict{good(14)}, 14, Good, Fine, -1},
		"one doubtful stays doubtful":            {[]Verdict{doubtful(14)}, 14, Doubtful, Stuck, -1},
		"all bad is bad":                         {[]Verdict{bad(14), bad(15)}, 14, Bad, Stale, -1},
		"a good one is not outvoted by doubtful": {[]Verdict{doubtful(20), good(14), doubtful(20)}, 14, Good, Fine, -1},
		"doubtful ones serve where none is good": {[]Verdict{doubtful(13), bad(50), doubtful(14)}, 13.5, Doubtful, Stuck, -1},
		"two that agree give their mean":         {[]Verdict{good(14), good(15)}, 14.5, Good, Fine, -1},
		"two that differ by just as much agree":  {[]Verdict{good(14), good(16)}, 15, Good, Fine, -1},
		"two that disagree are doubtful":         {[]Verdict{good(14), good(16.5)}, 15.25, Doubtful, Odd, -1},
		"of three the odd one is named":          {[]Verdict{good(14), good(22), good(14.5)}, 14.25, Good, Fine, 1},
		"of three the cold one is named":         {[]Verdict{good(-3), good(14), good(14.5)}, 14.25, Good, Fine, 0},
		"three that agree give the median":       {[]Verdict{good(15), good(14), good(14.5)}, 14.5, Good, Fine, -1},
		"three that all disagree are doubtful":   {[]Verdict{good(0), good(10), good(20)}, 10, Doubtful, Odd, -1},
		"two against two is nobody's win":        {[]Verdict{good(10), good(20), good(10), good(20)}, 15, Doubtful, Odd, -1},
		"three of five outvote a hot and a cold": {[]Verdict{good(20), good(5), good(20), good(36), good(20)}, 20, Good, Fine, 3},
		"half of them are no majority":           {[]Verdict{good(8), good(12), good(13), good(17)}, 12.5, Doubtful, Odd, -1},
		"those just within agreement count":      {[]Verdict{good(12), good(14), good(16)}, 14, Good, Fine, -1},
		"a bad probe is not the odd one":         {[]Verdict{bad(90), good(14), good(22), good(14)}, 14, Good, Fine, 2},
	} {
		t.Run(name, func(t *testing.T) {
			v, odd := Vote(c.in, 2)
			expect(t, "vote", v, c.quality, c.cause, c.value)
			if odd != c.odd {
				t.Errorf("odd is %d, want %d", odd, c.odd)
			}
		})
	}
}

func TestVoteIsAsOldAsItsOldest(t *testing.T) {
	in := []Verdict{{14, Good, Fine, 20}, {14, Good, Fine, 130}, {14, Doubtful, Stuck, 900}}
	if v, _ := Vote(in, 2); v.AgeS != 130 {
		t.Errorf("age is %g s, want 130", v.AgeS)
	}
}

func TestVoteHearsSixteen(t *testing.T) {
	in := make([]Verdict, 30)
	for i := range in {
		in[i] = good(14)
	}
	for i := MaxVotes; i < len(in); i++ {
		in[i] = good(40)
	}
	v, odd := Vote(in, 2)
	expect(t, "vote", v, Good, Fine, 14)
	if odd != -1 {
		t.Errorf("odd is %d", odd)
	}
}

func TestVoteWithoutALimitOfAgreementAgreesOnNothing(t *testing.T) {
	for _, agree := range []float64{math.NaN(), -1} {
		v, odd := Vote([]Verdict{good(14), good(14), good(14)}, agree)
		expect(t, "three", v, Doubtful, Odd, 14)
		v, _ = Vote([]Verdict{good(14), good(14)}, agree)
		expect(t, "two", v, Doubtful, Odd, 14)
		if odd != -1 {
			t.Errorf("odd is %d", odd)
		}
	}
}

func TestLowestAndHighest(t *testing.T) {
	in := []Verdict{bad(-20), good(4), doubtful(2.5), good(2.5), good(6), doubtful(7), bad(30)}
	v, at := Lowest(in)
	expect(t, "lowest", v, Doubtful, Stuck, 2.5)
	if at != 2 {
		t.Errorf("lowest is at %d", at)
	}
	v, at = Highest(in)
	expect(t, "highest", v, Doubtful, Stuck, 7)
	if at != 5 {
		t.Errorf("highest is at %d", at)
	}
	v, at = Lowest([]Verdict{good(1), good(2)})
	expect(t, "the first is lowest", v, Good, Fine, 1)
	if at != 0 {
		t.Errorf("lowest is at %d", at)
	}
	if _, at = Lowest([]Verdict{bad(0), good(4)}); at != 1 {
		t.Errorf("the only usable is at %d", at)
	}
	v, at = Highest([]Verdict{{5, Bad, Stale, 900}, {8, Bad, OutOfRange, 20}})
	expect(t, "none", v, Bad, OutOfRange, 8)
	if at != -1 {
		t.Errorf("none is at %d", at)
	}
	if v, at = Lowest(nil); v != (Verdict{}) || at != -1 {
		t.Errorf("of none: %+v at %d", v, at)
	}
}

func TestVoteStaysAmongItsVoters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64(), 1, MaxVotes).Draw(t, "values")
		agree := rapid.OneOf(rapid.Float64Range(0, 5), rapid.Float64()).Draw(t, "agree")
		var in []Verdict
		for _, v := range values {
			in = append(in, good(v))
		}
		v, odd := Vote(in, agree)
		if !(v.Value >= slices.Min(values) && v.Value <= slices.Max(values)) {
			t.Fatalf("vote %g is outside its voters", v.Value)
		}
		if odd >= 0 && (v.Quality != Good || len(in) < 3) {
			t.Fatalf("%+v names %d", v, odd)
		}
		shuffled := rapid.Permutation(in).Draw(t, "order")
		if w, _ := Vote(shuffled, agree); w != v {
			t.Fatalf("%+v in one order, %+v in another", v, w)
		}
	})
}

func BenchmarkVote(b *testing.B) {
	b.ReportAllocs()
	in := []Verdict{good(14), good(15), good(14.5), good(22)}
	for b.Loop() {
		if _, odd := Vote(in, 2); odd != 3 {
			b.Fatal(odd)
		}
	}
}
