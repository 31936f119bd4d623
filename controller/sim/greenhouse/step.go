package greenhouse

import (
	"math"

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

// lewis turns what passes of heat for each K into what passes of vapour for a difference of humidity ratio
// of one, kg K/J, with a Lewis number of 1.
const lewis = 1 / dryAirJkgK

// steamJkg is the heat in vapour at t above liquid water at 0 °C.
func steamJkg(t float64) float64 { return vapourJkg + vapourJkgK*t }

// latentJkg is what water at t needs to evaporate.
func latentJkg(t float64) float64 { return physics.VaporisationJkg(unit.Celsius(t)) }

// floor is a bed, and what passes between its surface and the house during a step.
type floor struct {
	soil                   Soil
	areaM2, openM2, leafM2 float64 // not under leaves, and under them

	surfaceC  float64
	heatWK    float64 // to air
	vapourKgS float64 // for a difference of humidity ratio of one
	satW      float64 // humidity ratio of saturation at the surface
	leafWK    float64 // radiation of leaves
	// From here on as the step finds it.
	evaporatesKgS float64
	drive         ground.Drive
}

// floors is what all beds' surfaces do to a house together: the area that the cover sees, what passes
// to the air and from leaves, W/K, each also times the surfaces' temperatures.
type floors struct{ openM2, openM2K, airWK, airW, leafWK, leafW float64 }

// passage is everything of one step.
type passage struct {
	o         *Outdoors
	dtS, perS float64 // and one over it
	layers    layers
	leaves    leaves
	floors    floors
	coverSatW float64 // humidity ratio of saturation at the innermost layer as it was
	coverRise float64 // and how it moves with temperature, 1/K
	wet       bool    // the innermost layer
	leakKgS   float64
	ventKgS   float64
	heaterW   float64
	fanW      float64
	guessW    float64 // the humidity ratio with which everything exchanges
	pipesKgS  float64 // of vapour, the most that pipes may take
	mostKgS   float64 // that leaves and cover may take
	risesKgS  float64 // transpired by leaves
	dripsKgS  float64 // condensed on the cover
	sheets    [3]sheet
	t         temps // at which everything exchanges
	// oweW is what the air must still take, so that nothing is lost: what pipes and water did otherwise
	// than the temperatures were found for.
	oweW float64
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
	h.begin(&p)
	h.beds(&p, fans)
	h.moisture(&p)
	h.warmth(&p)
	h.soil(&p, f)
	h.book(&p, f)
}

// begin finds what passes at the temperatures that the last step left.
func (h *House) begin(p *passage) {
	h.layers(&p.layers, p.o)
	h.leaves(&p.leaves, p.o.GlobalWm2*h.p.Cover.Transmission, p.o.PressurePa)
	p.leakKgS = h.leakKgS * p.o.leaks
	p.coverSatW, p.coverRise = physics.TabledSaturation(h.st.Cover[p.layers.inner], p.o.PressurePa)
	p.wet = h.st.Vapour > p.coverSatW
}

// beds finds what passes between air, soil and pipes, and what the fans draw.
func (h *House) beds(p *passage, fans []Fan) {
	air, crop := float64(h.st.Air), blackAt(float64(h.st.Crop))
	p.fanW = h.p.MixingW
	for i := range h.floors {
		f := &h.floors[i]
		surface := f.soil.SurfaceC()
		f.surfaceC = float64(surface)
		wm2K := floorWm2K(f.surfaceC - air)
		f.heatWK = wm2K * f.areaM2
		f.leafWK = floorEmits * floorEmits * f.leafM2 * crop.toWm2K(blackAt(f.surfaceC))
		f.satW, _ = physics.TabledSaturation(surface, p.o.PressurePa)
		f.vapourKgS = wm2K * f.openM2 * lewis
		if f.satW > h.st.Vapour {
			f.vapourKgS *= h.p.DampSoil
		}
		f.drive.DryAirKgS = 0
		if i < len(fans) {
			p.fanW += fans[i].PowerW
			if flow := fans[i].FlowM3s; flow > 0 {
				f.drive.DryAirKgS = flow / physics.SpecificVolume(h.st.Air, h.st.Vapour, p.o.PressurePa)
			}
		}
		p.floors.add(f)
	}
}

func (s *floors) add(f *floor) {
	s.openM2 += f.openM2
	s.openM2K += f.openM2 * f.surfaceC
	s.airWK += f.heatWK
	s.airW += f.heatWK * f.surfaceC
	s.leafWK += f.leafWK
	s.leafW += f.leafWK * f.surfaceC
}

// floorWm2K is the coefficient between a level surface of soil and air that it is so much warmer than;
// circulating fans keep it over two, no source.
func floorWm2K(overK float64) float64 {
	switch {
	case overK > risesK:
		return risingWm2K * cubeRoot.At(overK)
	case overK < -fallsK:
		return fallingWm2K * cubeRoot.At(-overK)
	}
	return stirredWm2K
}

const stirredWm2K = 2

// A still film goes with the cube root of its difference: here it is at 1 K, over warm soil and over
// cold.
var (
	cubeRoot    = physics.NewPower(1.0 / 3)
	risingWm2K  = physics.StillFilmWm2K(1, 0, 0, true)
	fallingWm2K = physics.StillFilmWm2K(0, 1, 0, false)
	// From these differences on it is more than fans make.
	risesK = math.Pow(stirredWm2K/risingWm2K, 3)
	fallsK = math.Pow(stirredWm2K/fallingWm2K, 3)
)
