package greenhouse

import (
	"loambank/config/unit"
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

// steamJkg is the heat in vapour at t above liquid water at 0 °C.
func steamJkg(t float64) float64 { return vapourJkg + vapourJkgK*t }

// latentJkg is what water at t needs to evaporate.
func latentJkg(t float64) float64 { return physics.VaporisationJkg(unit.Celsius(t)) }

// floor is what passes between a bed's surface and the house during a step.
type floor struct {
	surfaceC  float64
	heatWK    float64 // to air
	vapourKgS float64 // for a difference of humidity ratio of one
	satW      float64 // humidity ratio of saturation at the surface
	openM2    float64 // not under leaves
	leafM2    float64
	leafWK    float64 // radiation of leaves
	// From here on as the step finds it.
	evaporatesKgS float64
	radiantW      float64 // sun less thermal radiation and evaporation
	pipeKgS       float64 // dry air through the pipes
	drive         ground.Drive
	flux          ground.Flux
}

// passage is everything of one step.
type passage struct {
	w         *weather.Sample
	dtS       float64
	windMS    float64
	sun       sunshine
	layers    layers
	leaves    leaves
	beds      []floor
	coverSatW float64 // humidity ratio of saturation at the innermost layer as it was
	coverRise float64 // and how it moves with temperature, 1/K; 0 while the layer is dry
	wet       bool
	leakKgS   float64
	ventKgS   float64
	heaterW   float64
	fanW      float64
	guessW    float64 // the humidity ratio with which everything exchanges
	pipesKgS  float64 // of vapour, the most that pipes may take
	risesKgS  float64 // transpired by leaves
	dripsKgS  float64 // condensed on the cover
	t         [nodes]float64
}

// LongestStepS is the longest step that the house takes at once, s.
const LongestStepS = 300

// Step moves the house on by dtS seconds under the same weather, fans being in the order of the
// beds. A missing fan rests; a step of no length does nothing, one over LongestStepS is cut to it.
// Every number must be finite.
func (h *House) Step(w *weather.Sample, fans []Fan, dtS float64) (f Flux) {
	h.Advance(w, fans, dtS, &f)
	return f
}

// Advance is Step for many years: what passed overwrites f.
func (h *House) Advance(w *weather.Sample, fans []Fan, dtS float64, f *Flux) {
	*f = Flux{}
	if !(dtS > 0) {
		return
	}
	p := &passage{w: w, dtS: min(dtS, LongestStepS), windMS: usualWindMS, beds: h.floors}
	if w.Have.Has(weather.Wind) {
		p.windMS = w.WindMS
	}
	h.begin(p, fans)
	h.moisture(p)
	var first, last network
	h.network(p, &first)
	last = first
	h.guess(p, &first)
	h.soil(p)
	h.finish(p, &last)
	h.book(p, f)
}

// begin finds what passes at the temperatures that the last step left.
func (h *House) begin(p *passage, fans []Fan) {
	w := p.w
	p.sun = h.sunlight(w)
	p.layers = h.layers(w, p.windMS)
	p.leaves = h.leaves(p.sun.insideWm2, w.PressurePa)
	p.leakKgS = h.leakKgS(p.windMS)
	inner := h.st.Cover[p.layers.inner]
	p.coverSatW = physics.TabledSatHumidityRatio(inner, w.PressurePa)
	if p.wet = h.st.Vapour > p.coverSatW; p.wet {
		p.coverRise = vapourSlope(inner, w.PressurePa, p.coverSatW)
	}
	p.fanW = h.p.MixingW
	for i := range h.beds {
		b, f := &h.beds[i], &p.beds[i]
		*f = floor{}
		surface := b.Soil.SurfaceC()
		f.surfaceC = float64(surface)
		f.heatWK = floorWm2K(surface, h.st.Air) * b.FloorM2
		f.openM2, f.leafM2 = b.FloorM2*(1-h.shade), b.FloorM2*h.shade
		f.leafWK = h.leavesToFloorWK(f)
		f.satW = physics.TabledSatHumidityRatio(surface, w.PressurePa)
		f.vapourKgS = f.heatWK / b.FloorM2 * f.openM2 / dryAirJkgK // Lewis number 1
		if f.satW > h.st.Vapour {
			f.vapourKgS *= h.p.DampSoil
		}
		if i < len(fans) {
			p.fanW += fans[i].PowerW
			if flow := fans[i].FlowM3s; flow > 0 {
				f.pipeKgS = flow / physics.SpecificVolume(h.st.Air, h.st.Vapour, w.PressurePa)
			}
		}
	}
}

// floorWm2K is the coefficient between a level surface of soil and air; circulating fans keep it over
// two, no source.
func floorWm2K(surface, air unit.Celsius) float64 {
	over := float64(surface.Sub(air))
	if over > 0 {
		return max(2, risingWm2K*cubeRoot.At(over))
	}
	return max(2, fallingWm2K*cubeRoot.At(-over))
}

// A still film goes with the cube root of its difference: here it is at 1 K, over warm soil and over
// cold.
var (
	cubeRoot    = physics.NewPower(1.0 / 3)
	risingWm2K  = physics.StillFilmWm2K(1, 0, 0, true)
	fallingWm2K = physics.StillFilmWm2K(0, 1, 0, false)
)
