package whatif

import (
	"math"

	"loambank/controller/replay"
)

// Figure is a difference and its ±, two standard errors.
type Figure struct{ Value, Spread float64 }

// Differences is what the second settings would have done more than the first. Money counts what is
// paid: fans, and fuel for the heater where both have prices.
type Differences struct {
	RunH, FanKWh, InKWh, OutKWh, HeaterKWh, LowK, FrostH, Money Figure
}

// sums is what one replay adds up to; the places are those of Differences.
type sums [8]float64

const (
	runAt = iota
	fanAt
	inAt
	outAt
	heaterAt
	lowAt
	frostAt
	moneyAt
)

const hourS = 3600.0

// add sums a replay up; f is nil for one whose readings are as recorded.
func add(h *replay.House, f *follower) (s sums) {
	s[moneyAt] = h.Account.ElectricityMoney
	for i := range h.Account.Stores {
		b := &h.Account.Stores[i]
		for j := range b.Fans {
			s[runAt] += b.Fans[j].RunTotalS() / hourS
			s[fanAt] += b.Fans[j].EnergyKWh
		}
	}
	if h.Low.Known {
		s[lowAt] = float64(h.Low.C)
	}
	s[frostAt] = h.FrostS / hourS
	if f != nil {
		s[inAt], s[outAt] = f.twin.HeatKWh()
		s[heaterAt] = f.twin.HeaterKWh()
		s[moneyAt] += f.fuel
	}
	return s
}

// What the three nodes and a linear house leave out, one standard error: as a share of the difference,
// of how far the correction moved it, and of all heat into the soil or out of it. Set so that winters
// of simulated houses lie within; no other source.
const modelOfDifference, modelOfCorrection, modelOfHeat = 0.2, 0.25, 0.01

// more takes the first from the second settings.
func more(h *House, all [2][]sums) Differences {
	was, other := add(&h.Open[0], nil), add(&h.Open[1], nil)
	var f [len(was)]Figure
	for j := range f {
		value := all[1][0][j] - all[0][0][j]
		of := make([]float64, len(all[0]))
		for k := range of {
			of[k] = all[1][k][j] - all[0][k][j]
		}
		variance := variance(of)
		if j == runAt || j == fanAt || j == lowAt || j == frostAt {
			variance += sq(modelOfCorrection * (value - (other[j] - was[j])))
		}
		if (j == inAt || j == outAt) && all[1][0] != all[0][0] { // else nothing was done otherwise
			variance += sq(modelOfHeat * (all[0][0][j] + all[1][0][j]) / 2)
		}
		f[j] = Figure{Value: value, Spread: 2 * math.Sqrt(variance)}
	}
	return Differences{
		RunH: f[runAt], FanKWh: f[fanAt], InKWh: f[inAt], OutKWh: f[outAt],
		HeaterKWh: f[heaterAt], LowK: f[lowAt], FrostH: f[frostAt], Money: f[moneyAt],
	}
}

// variance is that of a difference: by what was learned, then with each learned value a standard error
// off; and what the model leaves out.
func variance(of []float64) float64 {
	sum := sq(modelOfDifference * of[0])
	for _, v := range of[1:] {
		sum += sq(v - of[0])
	}
	return sum
}

func sq(v float64) float64 { return v * v }
