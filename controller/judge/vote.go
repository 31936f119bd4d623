package judge

import "math"

// MaxVotes is how many probes of one place are heard; more are ignored.
const MaxVotes = 16

// Vote settles several probes of one place that may honestly differ by agree, in their unit. It
// hears the good ones, or the doubtful ones where none is good.
//
// With more than half of them within agree of their median, the value is the median of those,
// and odd is the index of the one furthest away, or -1 where all agree. Without such a majority,
// which is any disagreement of two, the verdict is doubtful and Odd, its value the median (of two
// the mean), and odd is -1: nobody can tell who is right, and a caller who must be safe takes
// Lowest or Highest. With nothing usable the verdict is bad, that of the freshest.
func Vote(verdicts []Verdict, agree float64) (v Verdict, odd int) {
	if len(verdicts) == 1 {
		return verdicts[0], -1
	}
	heard := hear(verdicts)
	if heard.n == 0 {
		return freshest(verdicts), -1
	}
	v = heard.verdict
	if heard.n == 1 {
		return v, -1
	}
	mid := median(heard.values[:heard.n])
	v.Value = mid
	lo, hi := 0, heard.n
	for lo < hi && !(mid-heard.values[lo] <= agree) {
		lo++
	}
	for hi > lo && !(heard.values[hi-1]-mid <= agree) {
		hi--
	}
	if heard.n == 2 && !(heard.values[1]-heard.values[0] <= agree) {
		lo, hi = 0, 0
	}
	if 2*(hi-lo) <= heard.n {
		v.Quality, v.Cause = Doubtful, Odd
		return v, -1
	}
	v.Value = median(heard.values[lo:hi])
	return v, furthest(verdicts, heard.verdict.Quality, mid, agree)
}

// Lowest returns the lowest usable verdict, good or doubtful, and its index: what frost
// protection asks for. With nothing usable it is bad and the index -1.
func Lowest(verdicts []Verdict) (Verdict, int) { return extreme(verdicts, -1) }

// Highest returns the highest usable verdict and its index: what a cap asks for. With nothing
// usable it is bad and the index -1.
func Highest(verdicts []Verdict) (Verdict, int) { return extreme(verdicts, 1) }

func extreme(verdicts []Verdict, sign float64) (Verdict, int) {
	at := -1
	for i := range verdicts {
		if !verdicts[i].Quality.Usable() {
			continue
		}
		if at < 0 || sign*verdicts[i].Value > sign*verdicts[at].Value {
			at = i
		}
	}
	if at < 0 {
		return freshest(verdicts), -1
	}
	return verdicts[at], at
}

// ballot is what Vote heard: values in rising order, and the quality, cause and greatest age
// that they share.
type ballot struct {
	values  [MaxVotes]float64
	n       int
	verdict Verdict
}

func hear(verdicts []Verdict) (b ballot) {
	best := Bad
	for i := range verdicts {
		best = max(best, verdicts[i].Quality)
	}
	if best == Bad {
		return b
	}
	for i := range verdicts {
		w := &verdicts[i]
		if w.Quality != best || b.n == MaxVotes {
			continue
		}
		if b.n == 0 {
			b.verdict = *w
		}
		b.verdict.AgeS = max(b.verdict.AgeS, w.AgeS)
		at := b.n
		for ; at > 0 && b.values[at-1] > w.Value; at-- {
			b.values[at] = b.values[at-1]
		}
		b.values[at] = w.Value
		b.n++
	}
	return b
}

// median of rising values; the halves are added so that huge ones stay finite.
func median(rising []float64) float64 {
	n := len(rising)
	return rising[(n-1)/2]/2 + rising[n/2]/2
}

func furthest(verdicts []Verdict, q Quality, mid, agree float64) int {
	odd, far, heard := -1, agree, 0
	for i := range verdicts {
		if verdicts[i].Quality != q || heard == MaxVotes {
			continue
		}
		heard++
		if by := math.Abs(verdicts[i].Value - mid); by > far {
			odd, far = i, by
		}
	}
	return odd
}

// freshest is what is left to show when nothing is usable.
func freshest(verdicts []Verdict) (v Verdict) {
	for i := range verdicts {
		if i == 0 || verdicts[i].AgeS < v.AgeS {
			v = verdicts[i]
		}
	}
	v.Quality = Bad
	return v
}
