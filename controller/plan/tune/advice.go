package tune

import "math"

// Gain is how much better one trial is than another over the same years.
type Gain struct {
	Mean float64 // cost, with risk at its price, saved a year
	// Spread is half the range in which the mean of all such years lies with 95 %; infinite with
	// fewer than two years.
	Spread float64
}

// Certain reports whether the gain is more than noise.
func (g Gain) Certain() bool { return g.Mean > g.Spread }

// GainOver compares two trials of the same years by their differences in each (paired t interval:
// NIST/SEMATECH e-Handbook of Statistical Methods, 7.3.1.1 and the table of 1.3.6.7.2).
func GainOver(better, today *Trial, riskCost float64) Gain {
	n := len(better.Years)
	differences := make([]float64, n)
	mean := 0.0
	for i := range n {
		a, b := better.Years[i], today.Years[i]
		differences[i] = b.Cost - a.Cost + riskCost*(b.RiskH-a.RiskH)
		mean += differences[i] / float64(n)
	}
	if n < 2 {
		return Gain{Mean: mean, Spread: math.Inf(1)}
	}
	square := 0.0
	for _, d := range differences {
		square += (d - mean) * (d - mean) / float64(n-1)
	}
	return Gain{Mean: mean, Spread: student(n-1) * math.Sqrt(square/float64(n))}
}

// student is the two-sided 95 % point of Student's t: NIST/SEMATECH e-Handbook, table 1.3.6.7.2. Over
// 30 degrees it is that of 30, which is a little wide.
func student(degrees int) float64 {
	table := [...]float64{
		12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
		2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
		2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
	}
	return table[min(degrees, len(table))-1]
}
