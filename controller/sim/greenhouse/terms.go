package greenhouse

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// terms are what passes between the parts of the house for each K, and for each difference of humidity
// ratio, as the temperatures of a moment make it. They move little with those, and are good for a while.
type terms struct {
	cover *cover // as it hung then
	// What the terms were found at, and how long they are still good.
	airC, sunWm2 float64
	forS         float64

	inwardsWK    [3]float64 // of each layer of the cover to the next, of the innermost to air
	blackWm2K    [3]float64 // of black floor to each layer
	blackAllWm2K float64    // and to all
	outer, floor black      // the outermost layer and the floor, for the sky
	inner, leaf  curve      // saturation at the innermost layer and at leaves
	// Of vapour, for a difference of humidity ratio of one: to the innermost layer while it is wet, and
	// of leaves, kg/s.
	innerKgS, leafKgS float64
}

// Terms are good for a quarter of an hour, while the air moves by less than a kelvin and the sun by
// less than a twentieth of a bright day's: for three steps in a quiet night. Over a year it changes the
// heater's fuel by less than a thousandth (TestTermsAreGoodForAWhile).
const (
	goodS    = 900
	goodK    = 1.0
	goodWm2  = 40
	goodForS = 0.5 // of the step that they would have to serve
)

// lookUp sees to it that the terms are good for a step.
func (h *House) lookUp(p *passage) {
	t, o := &h.terms, p.o
	hangs := h.hangs(o)
	if t.forS < goodForS*p.dtS || t.cover != hangs ||
		math.Abs(float64(h.st.Air)-t.airC) > goodK || math.Abs(o.GlobalWm2-t.sunWm2) > goodWm2 {
		t.cover, t.airC, t.sunWm2, t.forS = hangs, float64(h.st.Air), o.GlobalWm2, goodS
		h.layers(o)
		h.leaves(o)
		h.beside(o)
	}
	t.forS -= p.dtS
}

// beside finds what passes between the beds' surfaces and the house.
func (h *House) beside(o *Outdoors) {
	air, crop := float64(h.st.Air), blackAt(float64(h.st.Crop))
	for i := range h.floors {
		f := &h.floors[i]
		surface := f.soil.SurfaceC()
		wm2K := floorFilms.wm2K(float64(surface) - air)
		f.heatWK, f.dewKgS = wm2K*f.areaM2, wm2K*f.openM2*lewis
		f.leafWK = floorEmits * floorEmits * f.leafM2 * crop.toWm2K(blackAt(float64(surface)))
		f.damp = curveAt(surface, o.PressurePa)
	}
}

// curve is the humidity ratio of saturation near a temperature, with what water needs to evaporate there.
type curve struct{ c, w, slope, latentJkg float64 }

func curveAt(t unit.Celsius, pressurePa float64) curve {
	w, slope := physics.TabledSaturation(t, pressurePa)
	return curve{float64(t), w, slope, physics.VaporisationJkg(t)}
}

func (s curve) at(c float64) float64 { return s.w + s.slope*(c-s.c) }
