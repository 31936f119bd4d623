package greenhouse

import (
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
)

// soil steps every bed: what its surface gets from everything that was just found, and the air into its
// pipes.
func (h *House) soil(p *passage, f *Flux) {
	l, t := &p.layers, &p.t
	// What a m² that the cover sees gives off for each K, and at 0 °C.
	wm2K, wm2 := l.throughWm2K, l.throughWm2K*p.o.skyC
	for i := range l.n {
		wm2K += l.blackWm2K[i]
		wm2 += l.blackWm2K[i] * t.layer[i]
	}
	sunWm2 := p.o.GlobalWm2 * h.sun.soilM2
	air := physics.Air{C: unit.Celsius(t.air), W: p.guessW}
	for i := range h.floors {
		b := &h.floors[i]
		d := &b.drive
		d.Day, d.In, d.PressurePa = p.o.Day, air, p.o.PressurePa
		d.RadiationW = sunWm2*b.areaM2 - b.evaporatesKgS*latentJkg(b.surfaceC) -
			b.openM2*(wm2K*b.surfaceC-wm2) - b.leafWK*(b.surfaceC-t.leaf) - b.heatWK*(b.surfaceC-t.air)
		b.soil.Advance(d, p.dtS, &f.Beds[i])
		if d.DryAirKgS > 0 {
			wK := pipeShare * d.DryAirKgS * dryAirJkgK
			p.oweW += wK*(t.air-float64(h.st.Wall[i])) - streamJ(&f.Beds[i])*p.perS
			h.st.Wall[i] = air.C - unit.Celsius(f.Beds[i].SensibleJ*p.perS/wK)
		}
	}
}

// streamJ is the enthalpy that the air lost in the pipes of a bed.
func streamJ(b *ground.Flux) float64 { return b.SensibleJ + b.LatentJ + b.WaterJ }
