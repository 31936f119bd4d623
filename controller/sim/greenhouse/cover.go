package greenhouse

import (
	"math"

	"loambank/controller/physics"
)

const (
	filmReflects = 0.1  // thermal radiation; usual value, no source
	floorEmits   = 0.95 // leaves and soil; usual value, no source
)

// black is a black surface: its temperature, K, and that squared.
type black struct{ k, k2 float64 }

func blackAt(c float64) black {
	const zeroK = 273.15
	k := c + zeroK
	return black{k, k * k}
}

// toWm2K is the coefficient of thermal radiation to another one, W/(m² K): physics.RadiationWm2K.
func (a black) toWm2K(b black) float64 {
	return physics.StefanBoltzmannWm2K4 * (a.k2 + b.k2) * (a.k + b.k)
}

// insideWm2K is the coefficient between the air and the inside of a plastic tunnel's film, 1.95 ΔT^0.3:
// G. Papadakis, A. Frangoudakis and S. Kyritsis 1992, Mixed, forced and free convection heat transfer at
// the greenhouse cover, Journal of Agricultural Engineering Research 51:191–205, from memory.
// Circulating fans keep it over one.
func insideWm2K(overK float64) float64 { return max(1, 1.95*insidePower.At(math.Abs(overK))) }

var insidePower = physics.NewPower(0.3)

// gapWm2K is the coefficient of the air between films, and between film and screen. Air turns there,
// and blown films touch at hips and ends; no source but that whole covers then lose what tables say
// (greenhouse-S007 to S011).
const gapWm2K = 2.6

// cover is what a house's cover does whatever the temperatures, with the screen open or closed.
type cover struct {
	n     int // layers
	inner int // the innermost
	// Of each layer, the outermost first.
	sky   float64    // the outermost emits, m²
	pair  [2]float64 // emissivity between a layer and the next inwards
	black [3]float64 // what a black floor radiates on each, of one that sees it alone
	// through is what a black floor radiates through all of them.
	through float64
}

// newCover: what leaves and soil radiate meets the innermost layer first; what passes goes on outwards.
func newCover(p *Params, closed bool) cover {
	thermal := [3]float64{p.Cover.Thermal, p.Cover.Thermal, p.Cover.Thermal}
	c := cover{n: p.Cover.Films}
	if closed {
		thermal[c.n] = p.Cover.Screen.Thermal
		c.n++
	}
	c.inner = c.n - 1
	emits := func(i int) float64 { return 1 - filmReflects - thermal[i]*(1-filmReflects) }
	c.sky = emits(0) * p.CoverM2
	for i := range c.inner {
		c.pair[i] = 1 / (1/emits(i) + 1/emits(i+1) - 1)
	}
	c.through = floorEmits
	for i := c.inner; i >= 0; i-- {
		c.black[i] = c.through * emits(i)
		c.through *= thermal[i]
	}
	return c
}

// hangs is the cover in this weather, with the screen open or closed.
func (h *House) hangs(o *Outdoors) *cover {
	if o.GlobalWm2 < h.p.Cover.Screen.UnderWm2 {
		return &h.cover[1]
	}
	return &h.cover[0]
}

// layers finds what the cover lets pass.
func (h *House) layers(o *Outdoors) {
	t, was := &h.terms, &h.st.Cover
	c, air := t.cover, float64(h.st.Air)
	t.outer, t.floor = blackAt(float64(was[0])), blackAt(air)
	here := t.outer
	t.blackWm2K[0] = c.black[0] * t.floor.toWm2K(here)
	t.blackAllWm2K = t.blackWm2K[0]
	for i := range c.inner {
		next := blackAt(float64(was[i+1]))
		t.inwardsWK[i] = (gapWm2K + c.pair[i]*here.toWm2K(next)) * h.p.CoverM2
		t.blackWm2K[i+1] = c.black[i+1] * t.floor.toWm2K(next)
		t.blackAllWm2K += t.blackWm2K[i+1]
		here = next
	}
	airWK := insideWm2K(float64(was[c.inner])-air) * h.p.CoverM2
	t.inwardsWK[c.inner], t.innerKgS = airWK, airWK*lewis
	t.inner = curveAt(was[c.inner], o.PressurePa)
}
