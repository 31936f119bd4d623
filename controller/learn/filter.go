package learn

import "math"

// order is how many values a filter finds at most.
const order = 5

// Filter is an extended Kalman filter over a few values that wander slowly, fed one scalar at a
// time; plain data. Values in logarithm stay positive. Its errors are widened by how much worse
// the measurements fitted than was thought. Simon 2006, Optimal State Estimation, sec. 13.2.
type Filter struct {
	X     [order]float64        `json:"x"`
	P     [order][order]float64 `json:"p"`
	Fit   float64               `json:"fit"`   // running mean of (miss/expected)², 0 before the first
	Hours float64               `json:"hours"` // of samples that taught something
}

// prior is what a filter starts from and stays within.
type prior struct {
	x, sd, low, high float64
	driftDay         float64 // how far it may wander in a day, 1 σ
}

func newFilter(ps ...prior) (f Filter) {
	for i, p := range ps {
		f.X[i], f.P[i][i] = p.x, p.sd*p.sd
	}
	return f
}

// wander lets the values drift for a time, never less certain than they began.
func (f *Filter) wander(ps []prior, timeS float64) {
	for i, p := range ps {
		grown := f.P[i][i] + p.driftDay*p.driftDay*timeS/dayS
		f.P[i][i] = max(f.P[i][i], min(grown, p.sd*p.sd))
	}
}

// surprise bounds how many expected errors one measurement may pull.
const surprise = 3.0

// observe takes one measurement that missed what was foretold by miss; slope is how the foretold
// value moves with each of the values, and noise the measurement's standard error.
func (f *Filter) observe(ps []prior, slope [order]float64, miss, noise, hours float64) {
	var pg [order]float64
	total := noise * noise
	for i := range ps {
		for j := range ps {
			pg[i] += f.P[i][j] * slope[j]
		}
		total += slope[i] * pg[i]
	}
	if !(total > 0) || math.IsInf(total, 0) || math.IsNaN(miss) || math.IsInf(miss, 0) {
		return
	}
	sd := math.Sqrt(total)
	miss = min(max(miss, -surprise*sd), surprise*sd)
	const memory = 0.03 // of the newest in the fit
	if f.Fit == 0 {
		f.Fit = 1
	}
	f.Fit += memory * (miss*miss/total - f.Fit)
	for i, p := range ps {
		f.X[i] = min(max(f.X[i]+pg[i]/total*miss, p.low), p.high)
		for j := range ps {
			f.P[i][j] -= pg[i] * pg[j] / total
		}
	}
	f.tidy(len(ps))
	f.Hours += hours
}

// tidy keeps the covariance symmetric, its diagonal over 0 and its correlations within ±1.
func (f *Filter) tidy(n int) {
	for i := range n {
		f.P[i][i] = max(f.P[i][i], 1e-30)
	}
	for i := range n {
		for j := range i {
			most := 0.999 * math.Sqrt(f.P[i][i]*f.P[j][j])
			both := min(max((f.P[i][j]+f.P[j][i])/2, -most), most)
			f.P[i][j], f.P[j][i] = both, both
		}
	}
}

// sd is the standard error of value i.
func (f *Filter) sd(i int) float64 { return math.Sqrt(f.P[i][i] * max(1, f.Fit)) }

// Estimate is a value with one standard error and the hours that taught it.
type Estimate struct {
	Value, SE, Hours float64
}

// exp is the estimate of a value kept as a logarithm; scale turns it into its unit.
func (f *Filter) exp(i int, scale float64) Estimate {
	v := scale * math.Exp(f.X[i])
	return Estimate{Value: v, SE: v * f.sd(i), Hours: f.Hours}
}

// plain is the estimate of any other value.
func (f *Filter) plain(i int, scale float64) Estimate {
	return Estimate{Value: scale * f.X[i], SE: scale * f.sd(i), Hours: f.Hours}
}
