package size

import (
	"errors"
	"fmt"
	"math"
)

// ErrNeverPays says that a cost does not come back.
var ErrNeverPays = errors.New("it never pays back")

// recoveryFactor returns the share of a sum that is paid at the end of each year so that it is repaid
// with interest after years, over 0: i (1 + i)^n / ((1 + i)^n − 1), and 1/n without interest.
// ASHRAE Pocket Guide 2013.
func recoveryFactor(rate, years float64) float64 {
	if rate == 0 {
		return 1 / years
	}
	growth := math.Pow(1+rate, years)
	return rate * growth / (growth - 1)
}

// PresentValue returns what a cost now and equal savings at the end of each year are worth now.
func PresentValue(cost, savingPerYear, rate, years float64) float64 {
	return savingPerYear/recoveryFactor(rate, years) - cost
}

// Payback returns the years after which savings without interest have repaid a cost. The error
// ErrNeverPays where nothing is saved.
func Payback(cost, savingPerYear float64) (years float64, err error) {
	if !(savingPerYear > 0) {
		return 0, fmt.Errorf("%.0f a year: %w", savingPerYear, ErrNeverPays)
	}
	return cost / savingPerYear, nil
}

// knee returns which of some choices of rising cost is the knee of benefit over cost: the one
// furthest above the straight line from first to last, with both scaled to their span. Satopää et
// al. 2011, Finding a "Kneedle" in a Haystack, ICDCS workshops. 0 where nothing rises above it.
func knee(cost, benefit []float64) int {
	n := len(cost)
	if n < 3 || cost[n-1] <= cost[0] {
		return 0
	}
	low, high := benefit[0], benefit[0]
	for _, b := range benefit {
		low, high = min(low, b), max(high, b)
	}
	if high <= low {
		return 0
	}
	scaled := func(i int) (x, y float64) {
		return (cost[i] - cost[0]) / (cost[n-1] - cost[0]), (benefit[i] - low) / (high - low)
	}
	_, first := scaled(0)
	_, last := scaled(n - 1)
	at, most := 0, 1e-9
	for i := range cost {
		x, y := scaled(i)
		if over := y - (first + (last-first)*x); over > most {
			at, most = i, over
		}
	}
	return at
}
