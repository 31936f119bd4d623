package tune

import (
	"math/rand/v2"
	"slices"

	"loambank/controller/trial"
)

const (
	// BlockDays is how long weather stays together: long enough for a cold spell, which lasts a few
	// days to a week.
	BlockDays = 10
	// reachDays is how far a block may be moved in the year, so that seasons stay where they are.
	reachDays = 15
)

// Reshuffled returns a year that might have been: blocks of ten days, each taken from within fifteen
// days of its place in the given year (moving-block bootstrap: Künsch, The jackknife and the bootstrap
// for general stationary observations, Annals of Statistics 17, 1989; blocks kept near their date,
// because weather is not stationary over a year). It knows no winter colder than the one it is made
// of. The sun moves with its block. Seed 0 is the year itself.
func Reshuffled(y *trial.Year, seed uint64) *trial.Year {
	if seed == 0 {
		return y
	}
	const perDay = 24 * 3600 / trial.StepS
	n := len(y.Samples)
	r := rand.New(rand.NewPCG(seed, 0))
	out := *y
	out.Samples = slices.Clone(y.Samples)
	for at := 0; at < n; at += BlockDays * perDay {
		shift := (r.IntN(2*reachDays+1) - reachDays) * perDay
		for i := at; i < min(at+BlockDays*perDay, n); i++ {
			day := out.Samples[i].Day
			out.Samples[i] = y.Samples[(i+shift+n)%n]
			out.Samples[i].Day = day
		}
	}
	return &out
}
