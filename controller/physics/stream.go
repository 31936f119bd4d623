package physics

import "loambank/config/unit"

// Air is a state of moist air.
type Air struct {
	C unit.Celsius
	W float64 // humidity ratio, kg/kg dry air
}

// MeanAir returns the air halfway between two states in temperature and humidity ratio.
func MeanAir(a, b Air) Air {
	return Air{C: a.C.Add(unit.Kelvin(0.5) * b.C.Sub(a.C)), W: (a.W + b.W) / 2}
}

// Heat is what a stream of air leaves in the soil on its way through the pipes; negative is what
// it takes out. The zero value is a stream at rest.
type Heat struct {
	SensibleW float64
	LatentW   float64 // of the water that condenses (+) or evaporates (−) on the way
	// CondensateKgS is the water left in the pipes, kg/s; negative is picked up.
	CondensateKgS float64
	DryAirKgS     float64
	Out           Air
}

// TotalW returns sensible and latent heat together, W.
func (h Heat) TotalW() float64 { return h.SensibleW + h.LatentW }

// StreamHeat balances a stream between two known states. flowM3s is the volume of moist air at
// the intake, m³/s, which with the moist volume gives the dry air:
//
//	Q = m_da (h_in − h_out) − m_cond c_w t_out
//	sensible = m_da (1006 + 1860 w)(t_in − t_out), latent = Q − sensible
//
// with w the vapour that goes all the way through. Frost in the pipes counts as water: its heat
// of fusion is left out.
func StreamHeat(in, out Air, flowM3s, pPa float64) Heat {
	if !(flowM3s > 0) {
		return Heat{Out: out}
	}
	return DryStreamHeat(in, out, flowM3s/SpecificVolume(in.C, in.W, pPa))
}

// DryStreamHeat is StreamHeat of a stream whose dry air is known, kg/s.
func DryStreamHeat(in, out Air, dryAirKgS float64) Heat {
	h := Heat{DryAirKgS: dryAirKgS, Out: out}
	h.CondensateKgS = h.DryAirKgS * (in.W - out.W)
	total := h.DryAirKgS*(Enthalpy(in.C, in.W)-Enthalpy(out.C, out.W)) -
		h.CondensateKgS*cpWater*float64(out.C)
	h.SensibleW = h.DryAirKgS * (cpAir + cpVapour*min(in.W, out.W)) * float64(in.C.Sub(out.C))
	h.LatentW = total - h.SensibleW
	return h
}

// Exchange returns what a stream does in pipes whose walls are at soil temperature. Effectiveness,
// 0 to 1, is the share of the way to the soil that it goes, in temperature and, where the soil is
// under its dew point, in humidity ratio towards saturation at the wall (Lewis number 1, wet
// surface), never beyond saturation. Water standing in the pipes is not evaporated: a stream
// warmed by the soil keeps its vapour. flowM3s is moist air at the intake, m³/s; none gives no
// heat and leaves the air as it was.
func Exchange(in Air, flowM3s, effectiveness float64, soil unit.Celsius, pPa float64) Heat {
	if !(flowM3s > 0) {
		return Heat{Out: in}
	}
	share := min(max(effectiveness, 0), 1)
	return pass(in, flowM3s, share, soil, in.C.Add(unit.Kelvin(share)*soil.Sub(in.C)), pPa)
}

// ExchangeTo returns what a stream does that leaves the pipes at outC, measured or foretold. film, 0
// to 1, is the share of the way to the pipe's wall itself that the air's own film lets it go
// (Effectiveness of Pipe.NTU without soil), and tells how cold that wall is: water condenses there
// as in Exchange. Of an exchange that takes soil in, as one that is learned from thermometers, the
// wall would seem as cold as the soil, and far more water would seem to condense.
func ExchangeTo(in Air, flowM3s, film float64, outC unit.Celsius, pPa float64) Heat {
	if !(flowM3s > 0) {
		return Heat{Out: in}
	}
	const coldest = -40 // no wall under a house is colder
	share := min(max(film, 1e-3), 1)
	wall := in.C.Add(outC.Sub(in.C) / unit.Kelvin(share))
	return pass(in, flowM3s, share, max(wall, coldest), outC, pPa)
}

// pass takes a stream past a wall that it goes a share of the way to, and lets it leave at outC.
func pass(in Air, flowM3s, share float64, wallC, outC unit.Celsius, pPa float64) Heat {
	out := Air{C: outC, W: in.W}
	if wall := SatHumidityRatio(wallC, pPa); in.W > wall {
		out.W = in.W - share*(in.W-wall)
		out.W = min(out.W, SatHumidityRatio(out.C, pPa))
	}
	return StreamHeat(in, out, flowM3s, pPa)
}
