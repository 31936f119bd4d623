package ground

import (
	"fmt"
	"math"

	"loambank/config/unit"
)

// Spot is a place in a store.
type Spot struct {
	DepthM  float64 // under the surface
	BesideM float64 // from the plane through the nearest pipe's axis, either way
	AlongM  float64 // from the inlet
}

// Probe reads the temperature of a spot. It belongs to the store that made it, and to stores with
// the same Params. The zero value reads the first node.
type Probe struct {
	node    [3]int
	share   [3]float64
	stretch int
}

// Probe returns a probe for a spot, which between nodes reads a plane through the three around it
// and along the pipe the stretch that it is in. A spot in a pipe reads the wall. One outside the
// store is an error.
func (s *Store) Probe(at Spot) (Probe, error) {
	half := s.p.Pipes.SpacingM / 2
	beside := math.Abs(at.BesideM)
	if !(beside <= half && at.DepthM >= 0 && at.DepthM <= s.p.DepthM && at.AlongM >= 0 && at.AlongM <= s.p.Pipes.LengthM) {
		return Probe{}, fmt.Errorf("probe %g m deep, %g m beside and %g m along a pipe is outside the store; at most %g, %g and %g m",
			at.DepthM, at.BesideM, at.AlongM, s.p.DepthM, half, s.p.Pipes.LengthM)
	}
	pr := s.soil.probe(point{beside, at.DepthM})
	for reached := s.soil.longM[0]; reached < at.AlongM && pr.stretch < len(s.soil.longM)-1; {
		pr.stretch++
		reached += s.soil.longM[pr.stretch]
	}
	return pr, nil
}

// probe finds the triangle around a point, or that which misses it least.
func (s *section) probe(at point) Probe {
	best, pr := math.Inf(-1), Probe{node: [3]int{s.wall, s.wall, s.wall}, share: [3]float64{1, 0, 0}}
	if math.Hypot(at.x, at.z-s.at[s.wall].z) <= s.radiusM {
		return pr
	}
	for i, p := range s.place {
		whole := cross(p[0], p[1], p[2])
		share := [3]float64{
			cross(at, p[1], p[2]) / whole, cross(p[0], at, p[2]) / whole, cross(p[0], p[1], at) / whole,
		}
		if least := min(share[0], share[1], share[2]); least > best {
			best, pr = least, Probe{node: s.corner[i], share: share}
		}
	}
	return pr
}

// Read returns the temperature at the probe.
func (s *Store) Read(p Probe) unit.Celsius {
	many := len(s.soil.longM)
	var sum float64
	for i, n := range p.node {
		sum += p.share[i] * s.soil.tempC[n*many+p.stretch]
	}
	return unit.Celsius(sum)
}
