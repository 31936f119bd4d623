package ground

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// stream is the air of one pipe on its way through the stretches during a step.
type stream struct {
	in         physics.Air
	dryKgS     float64
	pressurePa float64
	vapourPa   float64 // of in
	heatWK     float64 // what the air carries for each K while no water leaves it
	perM       float64 // transfer units of each metre
	longM      float64
	share      float64 // of the way to the wall that the air goes over longM, 1 − e^(−NTU)
	left       left
}

// left is what a stream left in the stretches so far.
type left struct{ sensibleW, latentW, waterW, condensedKgS, evaporatedKgS, drainedKg float64 }

// newStream returns the air of one pipe at its inlet. The film is that of the whole pipe, at the
// temperature halfway to its wall: from known where that is given, else reckoned.
func newStream(in *Drive, pipes *Pipes, wall unit.Celsius, known *films) stream {
	s := stream{in: in.In, dryKgS: in.DryAirKgS / float64(pipes.Count), pressurePa: in.PressurePa}
	if !(s.dryKgS > 0) {
		return s
	}
	half, moistKgS := in.In.C.Add(wall.Sub(in.In.C)/2), s.dryKgS*(1+in.In.W)
	var wm2K float64
	if known != nil {
		wm2K = known.at(moistKgS, half)
	} else {
		pipe := pipes.pipe()
		wm2K = filmWm2K(&pipe, moistKgS, half)
	}
	s.meet(in.In)
	s.perM = wm2K * math.Pi * pipes.DiameterM / s.heatWK
	return s
}

// meet makes air what flows on.
func (s *stream) meet(air physics.Air) {
	s.in = air
	s.vapourPa = physics.VapourPressurePa(air.W, s.pressurePa)
	s.heatWK = s.dryKgS * (physics.Enthalpy(1, air.W) - physics.Enthalpy(0, air.W))
}

// pass takes the air through the next longM of every pipe, in each of which filmKg of water stand. It
// returns the heat left there, W for each metre of pipe, which near lastWm needs the fewest looks.
//
// The wall would be at p.stillC without it and rises by p.riseKW for each W/m.
func (s *stream) pass(pipes *Pipes, p port, longM, lastWm float64, filmKg *float64, dtS float64) (wallWm float64) {
	if !(s.dryKgS > 0) {
		return 0
	}
	perLongM := 1 / longM
	if longM != s.longM {
		s.longM, s.share = longM, physics.Effectiveness(s.perM*longM)
	}
	// Where nothing condenses or evaporates the wall is known at once.
	inC, riseKW, perK := float64(s.in.C), p.riseKW*perLongM, s.heatWK*s.share
	wallC := (p.stillC + riseKW*perK*inC) / (1 + riseKW*perK)
	if *filmKg <= 0 && s.vapourPa <= physics.TabledSatPressurePa(unit.Celsius(min(wallC, inC))) {
		outC := inC - s.share*(inC-wallC)
		sensibleW := s.heatWK * (inC - outC)
		s.in.C = unit.Celsius(outC)
		s.left.sensibleW += sensibleW
		return sensibleW * perLongM
	}
	if lastWm != 0 {
		wallC = p.stillC + p.riseKW*lastWm
	}
	h := s.wet(p.stillC, riseKW, wallC, *filmKg/dtS)
	s.drop(&h, pipes, longM, filmKg, dtS)
	return h.TotalW() * perLongM
}

// wet returns what the air leaves where water may come or go, in a wall that would be at stillC without
// it and rises by riseKW for each W: at the temperature at which both agree, to agreesK. What it returns
// was found for one wall temperature, so that its own balance is exact in any case.
func (s *stream) wet(stillC, riseKW, guessC, filmKgS float64) (h physics.Heat) {
	const agreesK = 1e-4
	low, high := math.Inf(-1), math.Inf(1)
	for range 40 {
		var perK float64
		h, perK = s.at(guessC, filmKgS)
		// How far the wall would go beyond the guess that the heat was found for. It falls throughout, and
		// faster than the guess rises.
		over := stillC + riseKW*h.TotalW() - guessC
		if math.Abs(over) < agreesK {
			break
		}
		if over > 0 {
			low = guessC
		} else {
			high = guessC
		}
		guessC += over / (1 - riseKW*perK)
		if !(guessC > low && guessC < high) {
			guessC = (low + high) / 2
		}
	}
	return h
}

// at returns what the air leaves in a wall of the given temperature, and how much more for each K that
// it is warmer, W/K. Temperature and humidity ratio go the same share of the way to the wall and to
// saturation at it (Lewis number 1, wet wall), as in physics.Exchange; towards a damper wall no further
// than the water standing there lasts. Air never leaves over its saturation.
func (s *stream) at(wallC, filmKgS float64) (h physics.Heat, perK float64) {
	inC := float64(s.in.C)
	out, rises := physics.Air{C: unit.Celsius(inC + s.share*(wallC-inC)), W: s.in.W}, 0.0
	if sat, slope := physics.TabledSaturation(unit.Celsius(wallC), s.pressurePa); s.in.W > sat || filmKgS > 0 {
		gain := s.share * (sat - s.in.W)
		rises = slope
		if most := filmKgS / s.dryKgS; gain > most {
			gain, rises = most, 0
		}
		out.W += gain
	}
	if limit, slope := physics.TabledSaturation(out.C, s.pressurePa); out.W > limit {
		out.W, rises = limit, slope
	}
	perK = -s.share * (s.heatWK + s.dryKgS*rises*physics.VaporisationJkg(out.C))
	return physics.DryStreamHeat(s.in, out, s.dryKgS), perK
}

// drop books what the air left in a stretch and lets its water stand, drain or go.
func (s *stream) drop(h *physics.Heat, pipes *Pipes, longM float64, filmKg *float64, dtS float64) {
	l := &s.left
	l.sensibleW += h.SensibleW
	l.latentW += h.LatentW
	airW := s.dryKgS * (physics.Enthalpy(s.in.C, s.in.W) - physics.Enthalpy(h.Out.C, h.Out.W))
	l.waterW += airW - h.TotalW()
	waterKg := h.CondensateKgS * dtS
	s.meet(h.Out)
	if waterKg <= 0 {
		l.evaporatedKgS -= h.CondensateKgS
		const rounding = 1e-12 // kg; a pipe that has dried is dry
		if *filmKg += waterKg; *filmKg < rounding {
			*filmKg = 0
		}
		return
	}
	l.condensedKgS += h.CondensateKgS
	stays := min(*filmKg+(1-pipes.DrainedShare)*waterKg, max(*filmKg, pipes.HoldsKgM*longM))
	l.drainedKg += *filmKg + waterKg - stays
	*filmKg = stays
}

// book tells what the air of all pipes left.
func (s *stream) book(f *Flux, pipes *Pipes, dtS float64) {
	l, count := &s.left, float64(pipes.Count)
	all := count * dtS
	f.Out = s.in
	f.SensibleJ, f.LatentJ, f.WaterJ = all*l.sensibleW, all*l.latentW, all*l.waterW
	f.CondensedKg, f.EvaporatedKg, f.DrainedKg = all*l.condensedKgS, all*l.evaporatedKgS, count*l.drainedKg
}
