package greenhouse

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

const (
	filmReflects = 0.1  // thermal radiation; usual value, no source
	floorEmits   = 0.95 // leaves and soil; usual value, no source
)

// radiation is the coefficient of thermal radiation between two black surfaces, W/(m² K).
func radiation(a, b unit.Celsius) float64 { return physics.RadiationWm2K(a, b, 1) }

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
	c, air := t.cover, h.st.Air
	t.blackAllWm2K = 0
	for i := range c.n {
		t.blackWm2K[i] = c.black[i] * radiation(air, was[i])
		t.blackAllWm2K += t.blackWm2K[i]
	}
	for i := range c.inner {
		t.inwardsWK[i] = (gapWm2K + c.pair[i]*radiation(was[i], was[i+1])) * h.p.CoverM2
	}
	airWK := insideWm2K(float64(was[c.inner].Sub(air))) * h.p.CoverM2
	t.inwardsWK[c.inner], t.innerKgS = airWK, airWK*lewis
	t.inner = curveAt(was[c.inner], o.PressurePa)
}
