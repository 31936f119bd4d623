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

// layers is the cover in one step, at the temperatures that the last one left.
type layers struct {
	n, inner    int
	outsideWK   float64
	skyWK       float64    // of the outermost to its surroundings
	inwardsWK   [3]float64 // of each layer to the next, of the innermost to air
	blackWm2K   [3]float64 // of black floor to each layer
	throughWm2K float64    // of black floor to the sky, through all
	vapourKgS   float64    // to the innermost while it is wet, for a difference of humidity ratio of one
}

// layers finds what the cover lets pass.
func (h *House) layers(l *layers, o *Outdoors) {
	c := &h.cover[0]
	if o.GlobalWm2 < h.p.Cover.Screen.UnderWm2 {
		c = &h.cover[1]
	}
	air, sky := float64(h.st.Air), blackAt(o.skyC)
	floor, was := blackAt(air), &h.st.Cover
	l.n, l.inner = c.n, c.inner
	l.outsideWK = o.filmWm2K * h.p.CoverM2
	here := blackAt(float64(was[0]))
	l.skyWK = c.sky * here.toWm2K(sky)
	l.throughWm2K = c.through * floor.toWm2K(sky)
	l.blackWm2K[0] = c.black[0] * floor.toWm2K(here)
	for i := range c.inner {
		next := blackAt(float64(was[i+1]))
		l.inwardsWK[i] = (gapWm2K + c.pair[i]*here.toWm2K(next)) * h.p.CoverM2
		l.blackWm2K[i+1] = c.black[i+1] * floor.toWm2K(next)
		here = next
	}
	airWK := insideWm2K(float64(was[c.inner])-air) * h.p.CoverM2
	l.inwardsWK[c.inner] = airWK
	l.vapourKgS = airWK * lewis
}
