package learn

import "math"

// Saved is what running the fans brought in a time, against the same house never running them.
type Saved struct {
	HeatKWh        float64 // that the heater did not have to give to the house; may be negative
	ElectricityKWh float64 // of the fans
	NetKWh         float64 // the one less the other
	// SpreadKWh is ± of HeatKWh and NetKWh: the truth lies within it in nine of ten months and more.
	SpreadKWh float64
	// Claimed is false where there is no heater to save fuel, or a fan ran whose flow was not learned:
	// then no figure may be shown as a net saving.
	Claimed bool

	Nights       float64 // of an unheated house, kept over the crop's limit
	NightsSpread float64
	DegreeHours  float64 // K h that the crop was spared under its limit
	DegreeSpread float64

	CountedH, LostH float64 // hours that were counted, and that could not be
}

// Of the heat that was saved, and of all that was moved, one standard error of what the two nodes of
// soil and the house in hours leave out; set so that simulated houses in four climates lie within.
const modelOfSaved, modelOfMoved = 0.1, 0.03

const jPerKWh = 3.6e6

// Saved is what was saved from one time, of which the sums are given, to now. The zero Sums are the
// beginning.
func (p *Params) Saved(s *Settings, from Sums) Saved {
	now := &p.Other.Sum
	heat, heatSE := spread(&now.SavedJ, &from.SavedJ)
	kept, keptSE := spread(&now.KeptKH, &from.KeptKH)
	nights, nightsSE := spread(&now.NightsN, &from.NightsN)
	moved := now.MovedJ - from.MovedJ
	lost := 1.0
	counted, lostS := now.CountedS-from.CountedS, now.LostS-from.LostS
	if counted > 0 {
		lost = lostS / counted
	}
	heatSE = math.Sqrt(heatSE*heatSE + sq(modelOfSaved*heat) + sq(modelOfMoved*moved) + sq(lost*heat))
	r := Saved{
		ElectricityKWh: (now.FanJ - from.FanJ) / jPerKWh,
		CountedH:       counted / hourS, LostH: lostS / hourS,
	}
	if s.Heater.Present {
		r.HeatKWh, r.SpreadKWh = heat/jPerKWh, 2*heatSE/jPerKWh
		r.NetKWh = r.HeatKWh - r.ElectricityKWh
		r.Claimed = now.GuessedJ <= from.GuessedJ
		return r
	}
	r.Nights, r.NightsSpread = nights, 2*nightsSE
	r.DegreeHours, r.DegreeSpread = kept, 2*math.Hypot(keptSE, modelOfSaved*kept)
	return r
}

// spread is what the first copy gained and, by the others, one standard error.
func spread(now, from *[copies]float64) (value, se float64) {
	value = now[asLearned] - from[asLearned]
	for k := 1; k < copies; k++ {
		se += sq(now[k] - from[k] - value)
	}
	return value, math.Sqrt(se)
}

func sq(v float64) float64 { return v * v }
