package greenhouse

import (
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
	"loambank/controller/weather"
)

// Of moist air, as physics has them: ASHRAE Fundamentals 2017, ch. 1, eq. 28 and 30.
const (
	dryAirJkgK = 1006.0
	vapourJkgK = 1860.0
	vapourJkg  = 2501e3 // of vapour at 0 °C
)

// lewis turns what passes of heat for each K into what passes of vapour for a difference of humidity ratio
// of one, kg K/J, with a Lewis number of 1.
const lewis = 1 / dryAirJkgK

// steamJkg is the heat in vapour at t above liquid water at 0 °C.
func steamJkg(t float64) float64 { return vapourJkg + vapourJkgK*t }

// floor is a bed, and what passes between its surface and the house during a step.
type floor struct {
	soil                   Soil
	areaM2, openM2, leafM2 float64 // not under leaves, and under them

	surfaceC  float64
	heatWK    float64 // to air
	leafWK    float64 // radiation of leaves
	vapourKgS float64 // for a difference of humidity ratio of one
	damp      curve   // saturation at the surface
	// From here on as the step finds it.
	evaporatesKgS float64
	drive         ground.Drive
}

// surfaces are all beds' surfaces as the cover, the air and leaves meet them together: the cover's in
// terms of a coefficient of one, W/(m² K).
type surfaces struct{ cover, air, leaf node }

// passage is everything of one step.
type passage struct {
	o         *Outdoors
	dtS, perS float64 // and one over it
	surfaces  surfaces
	// Of the outermost layer to outside air and to the sky, and of a black floor to the sky through all.
	outsideWK, skyWK, throughWm2K float64

	wet      bool // the innermost layer
	leakKgS  float64
	ventKgS  float64
	heaterW  float64
	fanW     float64
	guessW   float64 // the humidity ratio with which everything exchanges
	pipesKgS float64 // of vapour, the most that pipes may take
	mostKgS  float64 // that leaves and cover may take
	risesKgS float64 // transpired by leaves
	dripsKgS float64 // condensed on the cover
	sheets   [3]sheet
	t        temps // at which everything exchanges
	// oweW is what the air must still take, so that nothing is lost: what pipes and water did otherwise
	// than the temperatures were found for.
	oweW float64

	evaporatesW    float64 // for what leaves the soil
	pipesJ, leftKg float64 // what the air lost in all pipes, and water that it left there
}

// LongestStepS is the longest step that the house takes at once, s.
const LongestStepS = 300

// Step moves the house on by dtS seconds under the same weather, fans being in the order of the
// beds. A missing fan rests; a step of no length does nothing, one over LongestStepS is cut to it.
// Every number must be finite.
func (h *House) Step(w *weather.Sample, fans []Fan, dtS float64) (f Flux) {
	o := Look(w)
	h.Advance(&o, fans, dtS, &f)
	return f
}

// Advance is Step for many years: the weather was looked up before, what passed overwrites f.
func (h *House) Advance(o *Outdoors, fans []Fan, dtS float64, f *Flux) {
	if !(dtS > 0) {
		*f = Flux{}
		return
	}
	dtS = min(dtS, LongestStepS)
	p := passage{o: o, dtS: dtS, perS: 1 / dtS}
	h.lookUp(o)
	h.begin(&p)
	h.beds(&p, fans)
	h.moisture(&p)
	h.warmth(&p)
	h.soil(&p, f)
	h.book(&p, f)
}

// begin finds what passes to outside, and whether the cover is wet.
func (h *House) begin(p *passage) {
	t := &h.terms
	p.outsideWK = p.o.filmWm2K * h.p.CoverM2
	p.skyWK = t.cover.sky * radiation(h.st.Cover[0], p.o.sky)
	p.throughWm2K = t.cover.through * radiation(h.st.Air, p.o.sky)
	p.leakKgS = h.leakKgS * p.o.leaks
	p.wet = h.st.Vapour > t.inner.w
}

// beds finds what passes between the soil's surfaces and the house, and what the fans move and draw.
func (h *House) beds(p *passage, fans []Fan) {
	p.fanW = h.p.MixingW
	var cover, air, leaf node
	for i := range h.floors {
		f := &h.floors[i]
		surface := f.soil.SurfaceC()
		c := float64(surface)
		wm2K := floorFilms.wm2K(c - float64(h.st.Air))
		f.surfaceC, f.damp = c, curveAt(surface, p.o.PressurePa)
		f.heatWK, f.vapourKgS = wm2K*f.areaM2, wm2K*f.openM2*lewis
		f.leafWK = floorEmits * floorEmits * f.leafM2 * radiation(surface, h.st.Crop)
		if f.damp.w > h.st.Vapour {
			f.vapourKgS *= h.p.DampSoil
		}
		f.drive.DryAirKgS = 0
		if i < len(fans) {
			p.fanW += fans[i].PowerW
			if flow := fans[i].FlowM3s; flow > 0 {
				f.drive.DryAirKgS = flow / physics.SpecificVolume(h.st.Air, h.st.Vapour, p.o.PressurePa)
			}
		}
		cover, air, leaf = cover.to(f.openM2, c), air.to(f.heatWK, c), leaf.to(f.leafWK, c)
	}
	p.surfaces = surfaces{cover, air, leaf}
}
