package judge

import (
	"math"

	"loambank/config/unit"
)

// Carry is the last soil temperature that CarrySoil saw and what has happened to it since: plain
// data that survives JSON. The zero value is soil that was never read.
type Carry struct {
	Known     bool
	C         unit.Celsius
	Uncertain unit.Kelvin
	LostS     float64
}

// Carried is a soil temperature, read now or carried on since its probes were lost. The zero
// value is soil that was never read.
type Carried struct {
	C         unit.Celsius // stays filled after Quality went bad; means nothing unless Known
	Uncertain unit.Kelvin  // how far a carried C may be off; 0 while the probes answer
	Quality   Quality      // of the probes; carried it is Doubtful for 48 h, then Bad
	Known     bool         // there was a usable reading once
	LostS     float64      // time since it was read, s; 0 while the probes answer
}

// How far and how long soil is carried: common practice, no source.
const (
	carryS         = 48 * hourS
	restKPerH      = 0.02 // of uncertainty while the fans rest
	movedShare     = 0.5  // of every kelvin that the estimated heat moves it
	mostUncertainK = 50.0
)

// Where carried soil stays, °C: no estimate of heat cools a store below or warms it above what
// its air could.
const coldestSoil, hottestSoil unit.Celsius = -30, 60

// CarrySoil passes a usable verdict of a store's soil probes on as it is. Without one it moves
// the last usable value by heatJ, what the fans are estimated to have put into the store (+) or
// taken out (−) in this step of stepS seconds, over the store's heat capacity, J/K; an unknown
// capacity, 0, leaves it where it was.
func CarrySoil(st Carry, v Verdict, heatJ, capacityJK, stepS float64) (Carried, Carry) {
	if v.Quality.Usable() && !math.IsNaN(v.Value) && !math.IsInf(v.Value, 0) {
		st = Carry{Known: true, C: unit.Celsius(v.Value)}
		return Carried{C: st.C, Quality: v.Quality, Known: true}, st
	}
	if !st.Known {
		return Carried{}, st
	}
	stepS = seconds(stepS)
	st.LostS = min(st.LostS+stepS, longestS)
	moved := warming(heatJ, capacityJK)
	st.C = min(max(st.C.Add(moved), coldestSoil), hottestSoil)
	grown := restKPerH*stepS/hourS + movedShare*math.Abs(float64(moved))
	st.Uncertain = min(st.Uncertain+unit.Kelvin(grown), mostUncertainK)
	q := Doubtful
	if st.LostS > carryS {
		q = Bad
	}
	return Carried{C: st.C, Uncertain: st.Uncertain, Quality: q, Known: true, LostS: st.LostS}, st
}

// warming is heatJ over capacityJK, or 0 where either is unknown or absurd.
func warming(heatJ, capacityJK float64) unit.Kelvin {
	if !(capacityJK > 0) || math.IsNaN(heatJ) || math.IsInf(heatJ, 0) {
		return 0
	}
	const most = float64(hottestSoil - coldestSoil)
	return unit.Kelvin(min(max(heatJ/capacityJK, -most), most))
}
