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
	share      float64 // of the way to the wall that the air goes, 1 − e^(−NTU)
	filmKgS    float64 // water that stands there, over the step
	perM       float64 // transfer units of each metre
}

// newStretch returns the air of one pipe at its inlet. The film is that of the whole pipe, at the
// temperature halfway to its wall.
func newStretch(in *Drive, pipes *Pipes, wall unit.Celsius) stretch {
	s := stretch{in: in.In, dryKgS: in.DryAirKgS / float64(pipes.Count), pressurePa: in.PressurePa}
	if s.dryKgS > 0 {
		half := physics.Air{C: in.In.C.Add(wall.Sub(in.In.C) / 2), W: in.In.W}
		p := pipes.pipe()
		flowM3s := s.dryKgS * physics.SpecificVolume(half.C, half.W, s.pressurePa)
		s.perM = p.NTU(flowM3s, half, s.pressurePa, 0) / p.LengthM
	}
	return s
}

// enter makes ready for the next longM of pipe, in which filmKg of water stand.
func (s *stretch) enter(longM, filmKg, dtS float64) {
	s.share = -math.Expm1(-s.perM * longM)
	s.filmKgS = filmKg / dtS
}

// at returns what the stretch leaves in a wall of the given temperature. Temperature and humidity
// ratio go the same share of the way to the wall and to saturation at it (Lewis number 1, wet
// wall), as in physics.Exchange; towards a damper wall no further than the water standing there
// lasts. Air never leaves over its saturation.
func (s *stretch) at(wall unit.Celsius) physics.Heat {
	out := physics.Air{C: s.in.C.Add(unit.Kelvin(s.share) * wall.Sub(s.in.C)), W: s.in.W}
	sat := physics.SatHumidityRatio(wall, s.pressurePa)
	if s.in.W > sat || s.filmKgS > 0 {
		gain := min(s.share*(sat-s.in.W), s.filmKgS/s.dryKgS)
		out.W = s.in.W + gain
	}
	if limit := physics.SatHumidityRatio(out.C, s.pressurePa); out.W > limit {
		out.W = limit
	}
	flowM3s := s.dryKgS * physics.SpecificVolume(s.in.C, s.in.W, s.pressurePa)
	return physics.StreamHeat(s.in, out, flowM3s, s.pressurePa)
}

// meet returns what the stretch leaves in a wall that would be at stillC without it and rises by
// riseKW for each W: the temperature at which both agree, to a µK. What it returns was found for
// one wall temperature, so that its own balance is exact in any case.
func (s *stretch) meet(stillC, riseKW float64) physics.Heat {
	h := s.at(unit.Celsius(stillC))
	// over is how far the wall would go beyond the guess that the heat was found for.
	over := riseKW * h.TotalW()
	if over == 0 {
		return h
	}
	low, high := min(stillC, stillC+over), max(stillC, stillC+over)
	guess, last, lastOver := stillC+over/2, stillC, over
	for range 40 {
		h = s.at(unit.Celsius(guess))
		over = stillC + riseKW*h.TotalW() - guess
		if math.Abs(over) < 1e-6 {
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
