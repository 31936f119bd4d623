package greenhouse

import (
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
)

// soil steps every bed: what its surface gets from everything that was just found, and the air into its
// pipes.
func (h *House) soil(p *passage, f *Flux) {
	t := &p.t
	// What a m² that the cover sees gives off for each K, and what it gets.
	wm2K, wm2 := h.terms.blackAllWm2K+p.throughWm2K, p.throughWm2K*float64(p.o.sky)
	for i := range h.terms.cover.n {
		wm2 += h.terms.blackWm2K[i] * t.layer[i]
	}
	sunWm2 := p.o.GlobalWm2 * h.sun.soilM2
	air := physics.Air{C: unit.Celsius(t.air), W: p.guessW}
	var soilW, wetKgS, wetW float64
	for i := range h.floors {
		b, passed := &h.floors[i], &f.Beds[i]
		evaporatesW := b.evaporatesKgS * b.damp.latentJkg
		wetKgS += b.evaporatesKgS
		wetW += evaporatesW
		d := &b.drive
		d.Day, d.In, d.PressurePa = p.o.Day, air, p.o.PressurePa
		d.RadiationW = sunWm2*b.areaM2 - evaporatesW -
			b.openM2*(wm2K*b.surfaceC-wm2) - b.leafWK*(b.surfaceC-t.leaf) - b.heatWK*(b.surfaceC-t.air)
		d.EvenWm2K = (b.heatWK + b.openM2*wm2K + b.leafWK) / b.areaM2
		b.soil.Advance(d, p.dtS, passed)
		soilW += d.RadiationW
		if d.DryAirKgS > 0 {
			h.pipes(p, i, passed)
		}
	}
	f.SoilJ = p.dtS*soilW + p.pipesJ
	f.EvaporatedKg, p.evaporatesW = p.dtS*wetKgS, wetW
}

// pipes settles what the air left in a bed's pipes.
func (h *House) pipes(p *passage, bed int, passed *ground.Flux) {
	wK := pipeShare * h.floors[bed].drive.DryAirKgS * dryAirJkgK
	streamJ := passed.SensibleJ + passed.LatentJ + passed.WaterJ
	p.oweW += wK*(p.t.air-float64(h.st.Wall[bed])) - streamJ*p.perS
	p.pipesJ += streamJ
	p.leftKg += passed.CondensedKg - passed.EvaporatedKg
	h.st.Wall[bed] = unit.Celsius(p.t.air - passed.SensibleJ*p.perS/wK)
}
