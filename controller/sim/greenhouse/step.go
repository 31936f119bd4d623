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
	waterJkgK  = 4186.0
)

// steamJkg is the heat in vapour at t above liquid water at 0 °C.
func steamJkg(t float64) float64 { return vapourJkg + vapourJkgK*t }

// latentJkg is what water at t needs to evaporate.
func latentJkg(t float64) float64 { return steamJkg(t) - waterJkgK*t }

// floor is what passes between a bed's surface and the house during a step.
type floor struct {
	surfaceC  float64
	heatWK    float64 // to air
	vapourKgS float64 // for a difference of humidity ratio of one
	satW      float64 // humidity ratio of saturation at the surface
	openM2    float64 // not under leaves
	leafM2    float64
	// From here on as the step finds it.
	evaporatesKgS float64
	radiantW      float64 // sun less thermal radiation and evaporation
	pipeKgS       float64 // dry air through the pipes
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
	beds      [MaxBeds]floor
	coverSatW float64 // humidity ratio of saturation at the innermost layer as it was
	coverRise float64 // and how it moves with temperature, 1/K; 0 while the layer is dry
	wet       bool
	leakKgS   float64
	ventKgS   float64
	heaterW   float64
	fanW      float64
	guessW    float64 // the humidity ratio with which everything exchanges
	risesKgS  float64 // transpired by leaves
	dripsKgS  float64 // condensed on the cover
	t         [nodes]float64
}

// LongestStepS is the longest step that the house takes at once, s.
const LongestStepS = 300

// Step moves the house on by dtS seconds under the same weather, fans being in the order of the
// beds. A missing fan rests; a step of no length does nothing, one over LongestStepS is cut to it.
// Every number must be finite.
func (h *House) Step(w *weather.Sample, fans []Fan, dtS float64) Flux {
	if !(dtS > 0) {
		return Flux{}
	}
	p := passage{w: w, dtS: min(dtS, LongestStepS), windMS: usualWindMS}
	if w.Have.Has(weather.Wind) {
		p.windMS = w.WindMS
	}
	h.begin(&p, fans)
	h.moisture(&p)
	base := h.network(&p)
	first := base
	h.guess(&p, &first)
	h.soil(&p)
	last := base
	h.finish(&p, &last)
	return h.book(&p)
}

// begin finds what passes at the temperatures that the last step left.
func (h *House) begin(p *passage, fans []Fan) {
	w := p.w
	p.sun = h.sunlight(w)
	p.layers = h.layers(w, p.windMS)
	p.leaves = h.leaves(p.sun.insideWm2, w.PressurePa)
	p.leakKgS = h.leakKgS(p.windMS)
	inner := h.st.Cover[p.layers.inner]
	p.coverSatW = physics.SatHumidityRatio(inner, w.PressurePa)
	if p.wet = h.st.Vapour > p.coverSatW; p.wet {
		p.coverRise = vapourSlope(inner, w.PressurePa, p.coverSatW)
	}
	shade := h.p.Crop.shading()
	p.fanW = h.p.MixingW
	for i := range h.beds {
		b, f := &h.beds[i], &p.beds[i]
		surface := b.Soil.SurfaceC()
		f.surfaceC = float64(surface)
		f.heatWK = floorWm2K(f.surfaceC-float64(h.st.Air)) * b.FloorM2
		f.openM2, f.leafM2 = b.FloorM2*(1-shade), b.FloorM2*shade
		f.satW = physics.SatHumidityRatio(surface, w.PressurePa)
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

// floorWm2K is the coefficient between soil and air: 1.52 ΔT^⅓ over a warm plate (McAdams 1954,
// Heat Transmission, 3rd ed., from memory), and where air lies on a colder floor that of mixing
// fans, 2 W/(m² K), no source.
func floorWm2K(warmerK float64) float64 { return max(2, 1.52*math.Cbrt(warmerK)) }

// pipeShare is how far air is first taken to go towards the pipes' wall; the soil finds the truth.
const pipeShare = 0.8

// moisture finds the humidity with which leaves, soil, cover and pipes exchange: the one in which
// all of them, and what leaks and the vents let in, would leave the air.
func (h *House) moisture(p *passage) {
	g := h.airKg/p.dtS + p.leakKgS + h.st.VentKgS + p.leaves.vapourKgS
	sum := h.airKg/p.dtS*h.st.Vapour + (p.leakKgS+h.st.VentKgS)*p.w.Vapour + p.leaves.vapourKgS*p.leaves.satW
	if p.wet {
		g += p.layers.vapourKgS
		sum += p.layers.vapourKgS * p.coverSatW
	}
	for i := range h.beds {
		f := &p.beds[i]
		g += f.vapourKgS
		sum += f.vapourKgS * f.satW
		if f.pipeKgS > 0 {
			if wall := physics.SatHumidityRatio(h.st.Wall[i], p.w.PressurePa); wall < h.st.Vapour {
				g += pipeShare * f.pipeKgS
				sum += pipeShare * f.pipeKgS * wall
			}
		}
	}
	p.guessW = sum / g
	for i := range h.beds {
		f := &p.beds[i]
		f.evaporatesKgS = f.vapourKgS * (f.satW - p.guessW)
	}
}

// network joins all that does not depend on the soil.
func (h *House) network(p *passage) (n network) {
	l, st := &p.layers, &h.st
	n.tie(0, l.outsideWK, l.outC)
	n.tie(0, l.skyWK, l.skyC)
	n.heat(0, p.sun.coverW, 0)
	for i := range l.inner {
		n.join(i, i+1, l.between[i])
	}
	n.join(l.inner, airNode, l.airWK)
	if h.p.Crop.LeafArea > 0 {
		h.joinLeaves(p, &n)
	}
	n.heat(airNode, p.sun.contentsW+p.fanW, 0)
	n.tie(airNode, h.airJK()/p.dtS, float64(st.Air))
	n.tie(airNode, p.leakKgS*openJkgK(p.w), l.outC)
	return n
}

func (h *House) joinLeaves(p *passage, n *network) {
	crop := float64(h.st.Crop)
	leafM2 := h.p.FloorM2 * h.p.Crop.shading()
	n.tie(leafNode, h.leafJK()/p.dtS, crop)
	n.heat(leafNode, p.sun.cropW, 0)
	n.join(leafNode, airNode, p.leaves.heatWK)
	n.tie(leafNode, p.layers.throughWK*leafM2, p.layers.skyC)
	for i := range p.layers.n {
		n.join(leafNode, i, p.layers.floorWK[i]*leafM2)
	}
}

// airJK is what the air, its vapour and the contents take for each K.
func (h *House) airJK() float64 {
	return h.airKg*(dryAirJkgK+h.st.Vapour*vapourJkgK) + h.p.ContentsJm2K*h.p.FloorM2
}

func (h *House) leafJK() float64 { return leafJm2K * h.p.Crop.LeafArea * h.p.FloorM2 }

// openJkgK is what a kg of dry outside air carries for each K.
func openJkgK(w *weather.Sample) float64 { return dryAirJkgK + vapourJkgK*w.Vapour }

// guess finds the temperatures with soil and pipe walls as they were, and with them vents and heater.
func (h *House) guess(p *passage, n *network) {
	for i := range h.beds {
		f := &p.beds[i]
		n.tie(airNode, f.heatWK, f.surfaceC)
		h.tieFloor(p, n, f)
		n.tie(airNode, pipeShare*f.pipeKgS*dryAirJkgK, float64(h.st.Wall[i]))
	}
	crop, inner := float64(h.st.Crop), float64(h.st.Cover[p.layers.inner])
	latentWK := latentJkg(crop) * p.leaves.vapourKgS
	n.heat(leafNode, latentWK*(p.guessW-p.leaves.satW+p.leaves.slope*crop), -latentWK*p.leaves.slope)
	if p.wet {
		latentWK = latentJkg(inner) * p.layers.vapourKgS
		n.heat(p.layers.inner, latentWK*(p.guessW-p.coverSatW+p.coverRise*inner), -latentWK*p.coverRise)
	}
	n.reduce()
	p.ventKgS = h.vents(n, openJkgK(p.w), p.layers.outC)
	n.tie(airNode, p.ventKgS*openJkgK(p.w), p.layers.outC)
	p.heaterW = h.heater(n)
	n.heat(airNode, p.heaterW, 0)
	p.t = n.solve()
	p.risesKgS = p.leaves.vapourKgS * (p.leaves.satW + p.leaves.slope*(p.t[leafNode]-crop) - p.guessW)
	if p.wet {
		p.dripsKgS = p.layers.vapourKgS * (p.guessW - p.coverSatW - p.coverRise*(p.t[p.layers.inner]-inner))
	}
	h.limit(p)
}

// limit lets no surface draw more water from the air than there is.
func (h *House) limit(p *passage) {
	sinks := positive(-p.risesKgS) + positive(p.dripsKgS)
	for i := range h.beds {
		sinks += positive(-p.beds[i].evaporatesKgS)
	}
	most := 0.5 * h.airKg / p.dtS * h.st.Vapour
	if sinks <= most {
		return
	}
	share := func(v float64) float64 { return v * most / sinks }
	if p.risesKgS < 0 {
		p.risesKgS = share(p.risesKgS)
	}
	if p.dripsKgS > 0 {
		p.dripsKgS = share(p.dripsKgS)
	}
	for i := range h.beds {
		if e := &p.beds[i].evaporatesKgS; *e < 0 {
			*e = share(*e)
		}
	}
}

func positive(v float64) float64 { return max(0, v) }

// tieFloor lets a bed's surface radiate to the layers of the cover and to leaves.
func (h *House) tieFloor(p *passage, n *network, f *floor) {
	for i := range p.layers.n {
		n.tie(i, p.layers.floorWK[i]*f.openM2, f.surfaceC)
	}
	if h.p.Crop.LeafArea > 0 {
		n.tie(leafNode, h.leavesToFloorWK(f), f.surfaceC)
	}
}

func (h *House) leavesToFloorWK(f *floor) float64 {
	return floorEmits * floorEmits * radiation(f.surfaceC, float64(h.st.Crop)) * f.leafM2
}

// soil steps every bed against the air just found, and lets its surface pay what it radiates.
func (h *House) soil(p *passage) {
	air := physics.Air{C: unit.Celsius(p.t[airNode]), W: p.guessW}
	for i := range h.beds {
		b, f := &h.beds[i], &p.beds[i]
		f.radiantW = p.sun.soilW*b.FloorM2/h.p.FloorM2 - f.evaporatesKgS*latentJkg(f.surfaceC)
		f.radiantW -= f.openM2 * p.layers.throughWK * (f.surfaceC - p.layers.skyC)
		for j := range p.layers.n {
			f.radiantW -= f.openM2 * p.layers.floorWK[j] * (f.surfaceC - p.t[j])
		}
		if h.p.Crop.LeafArea > 0 {
			f.radiantW -= h.leavesToFloorWK(f) * (f.surfaceC - p.t[leafNode])
		}
		f.flux = b.Soil.Step(ground.Drive{
			Day: p.w.Day, In: air, DryAirKgS: f.pipeKgS, PressurePa: p.w.PressurePa,
			Air: air.C, SurfaceWm2K: f.heatWK / b.FloorM2, RadiationW: f.radiantW,
		}, p.dtS)
		if f.pipeKgS > 0 {
			fallK := f.flux.SensibleJ / (p.dtS * pipeShare * f.pipeKgS * dryAirJkgK)
			h.st.Wall[i] = air.C - unit.Celsius(fallK)
		}
	}
}

// finish finds the temperatures once more, now with what the soil really took.
func (h *House) finish(p *passage, n *network) {
	for i := range h.beds {
		f := &p.beds[i]
		for j := range p.layers.n {
			n.heat(j, p.layers.floorWK[j]*f.openM2*(f.surfaceC-p.t[j]), 0)
		}
		if h.p.Crop.LeafArea > 0 {
			n.heat(leafNode, h.leavesToFloorWK(f)*(f.surfaceC-p.t[leafNode]), 0)
		}
		n.heat(airNode, f.radiantW-f.flux.SurfaceJ/p.dtS, 0)
		waterKgS := f.pipesKg() / p.dtS
		n.heat(airNode, waterKgS*vapourJkg-f.pipesJ()/p.dtS, waterKgS*vapourJkgK)
	}
	n.heat(leafNode, -p.risesKgS*latentJkg(float64(h.st.Crop)), 0)
	n.heat(p.layers.inner, p.dripsKgS*latentJkg(float64(h.st.Cover[p.layers.inner])), 0)
	n.tie(airNode, p.ventKgS*openJkgK(p.w), p.layers.outC)
	n.heat(airNode, p.heaterW, 0)
	n.reduce()
	p.t = n.solve()
}

// pipesJ is the enthalpy that the air lost in the pipes.
func (f *floor) pipesJ() float64 { return f.flux.SensibleJ + f.flux.LatentJ + f.flux.WaterJ }

// pipesKg is the water that it left there.
func (f *floor) pipesKg() float64 { return f.flux.CondensedKg - f.flux.EvaporatedKg }
