package ground

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// stretch is the air in a stretch of one pipe during a step.
type stretch struct {
	in         physics.Air
	dryKgS     float64
	pressurePa float64
	longM      float64
	share      float64 // of the way to the wall that the air goes over longM, 1 − e^(−NTU)
	filmKgS    float64 // water that stands there, over the step
	perM       float64 // transfer units of each metre
}

// newStretch returns the air of one pipe at its inlet. The film is that of the whole pipe, at the
// temperature halfway to its wall: from known where that is given, else reckoned.
func newStretch(in *Drive, pipes *Pipes, wall unit.Celsius, known *films) stretch {
	s := stretch{in: in.In, dryKgS: in.DryAirKgS / float64(pipes.Count), pressurePa: in.PressurePa}
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
	s.perM = wm2K * math.Pi * pipes.DiameterM / s.heatWK()
	return s
}

// heatWK is what the air carries for each K while no water leaves it.
func (s *stretch) heatWK() float64 {
	return s.dryKgS * (physics.Enthalpy(1, s.in.W) - physics.Enthalpy(0, s.in.W))
}

// pass takes the air through the next longM of every pipe, in each of which filmKg of water stand,
// and books what happens. It returns the heat left there, W for each metre of pipe.
func (s *stretch) pass(f *Flux, pipes *Pipes, p port, longM float64, filmKg *float64, dtS float64) (wallW float64) {
	if !(s.dryKgS > 0) {
		return 0
	}
	if longM != s.longM {
		s.longM, s.share = longM, physics.Effectiveness(s.perM*longM)
	}
	s.filmKgS = *filmKg / dtS
	heat := s.meet(p.stillC, p.riseKW/longM)
	*filmKg = f.add(pipes, longM, *filmKg, s.in, heat, dtS)
	s.in = heat.Out
	return heat.TotalW() / longM
}

// at returns what the stretch leaves in a wall of the given temperature. Temperature and humidity
// ratio go the same share of the way to the wall and to saturation at it (Lewis number 1, wet
// wall), as in physics.Exchange; towards a damper wall no further than the water standing there
// lasts. Air never leaves over its saturation.
func (s *stretch) at(wall unit.Celsius) physics.Heat {
	out := physics.Air{C: s.in.C.Add(unit.Kelvin(s.share) * wall.Sub(s.in.C)), W: s.in.W}
	sat := physics.TabledSatHumidityRatio(wall, s.pressurePa)
	if s.in.W > sat || s.filmKgS > 0 {
		gain := min(s.share*(sat-s.in.W), s.filmKgS/s.dryKgS)
		out.W = s.in.W + gain
	}
	if limit := physics.TabledSatHumidityRatio(out.C, s.pressurePa); out.W > limit {
		out.W = limit
	}
	flowM3s := s.dryKgS * physics.SpecificVolume(s.in.C, s.in.W, s.pressurePa)
	return physics.StreamHeat(s.in, out, flowM3s, s.pressurePa)
}

// dry returns what the stretch leaves where nothing condenses or evaporates, and whether that is so.
func (s *stretch) dry(stillC, riseKW float64) (h physics.Heat, wallC float64, ok bool) {
	inC, heatWK := float64(s.in.C), s.heatWK()
	perK := heatWK * s.share
	wallC = (stillC + riseKW*perK*inC) / (1 + riseKW*perK)
	if s.filmKgS > 0 || s.in.W > physics.TabledSatHumidityRatio(unit.Celsius(min(wallC, inC)), s.pressurePa) {
		return h, wallC, false
	}
	fallK := s.share * (inC - wallC)
	out := physics.Air{C: unit.Celsius(inC - fallK), W: s.in.W}
	return physics.Heat{SensibleW: heatWK * (inC - float64(out.C)), DryAirKgS: s.dryKgS, Out: out}, wallC, true
}

// meet returns what the stretch leaves in a wall that would be at stillC without it and rises by
// riseKW for each W: the temperature at which both agree, to 10 µK. What it returns was found for
// one wall temperature, so that its own balance is exact in any case.
func (s *stretch) meet(stillC, riseKW float64) physics.Heat {
	h, guess, ok := s.dry(stillC, riseKW)
	if ok {
		return h
	}
	// over is how far the wall would go beyond the guess that the heat was found for; it falls
	// throughout.
	h = s.at(unit.Celsius(stillC))
	last, lastOver := stillC, riseKW*h.TotalW()
	low, high := min(stillC, stillC+lastOver), max(stillC, stillC+lastOver)
	if !(guess > low && guess < high) {
		guess = (low + high) / 2
	}
	for range 40 {
		h = s.at(unit.Celsius(guess))
		over := stillC + riseKW*h.TotalW() - guess
		if math.Abs(over) < 1e-5 {
			break
		}
		if over > 0 {
			low = guess
		} else {
			high = guess
		}
		next := guess - over*(guess-last)/(over-lastOver)
		last, lastOver = guess, over
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		guess = next
	}
	return h
}
