package greenhouse

import (
	"loambank/config/unit"
	"loambank/controller/physics"
)

// terms are what passes between the parts of the house for each K, and for each difference of humidity
// ratio, at the temperatures that the last step left.
type terms struct {
	cover *cover // as it hangs

	inwardsWK    [3]float64 // of each layer of the cover to the next, of the innermost to air
	blackWm2K    [3]float64 // of black floor to each layer
	blackAllWm2K float64    // and to all
	inner, leaf  curve      // saturation at the innermost layer and at leaves
	// Of vapour, for a difference of humidity ratio of one: to the innermost layer while it is wet, and
	// of leaves, kg/s.
	innerKgS, leafKgS float64
}

// lookUp finds the terms of a step but for the beds'.
func (h *House) lookUp(o *Outdoors) {
	h.terms.cover = h.hangs(o)
	h.layers(o)
	h.leaves(o)
}

// curve is the humidity ratio of saturation near a temperature, with what water needs to evaporate there.
type curve struct{ c, w, slope, latentJkg float64 }

func curveAt(t unit.Celsius, pressurePa float64) curve {
	w, slope := physics.TabledSaturation(t, pressurePa)
	return curve{float64(t), w, slope, physics.VaporisationJkg(t)}
}

func (s curve) at(c float64) float64 { return s.w + s.slope*(c-s.c) }
