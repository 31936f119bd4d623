package greenhouse

import (
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
)

// soil steps every bed against the air just found, and lets its surface pay what it radiates.
func (h *House) soil(p *passage) {
	air := physics.Air{C: unit.Celsius(p.t[airNode]), W: p.guessW}
	for i := range h.beds {
		b, f := &h.beds[i], &p.beds[i]
		f.radiantW = p.sun.soilW*b.FloorM2/h.p.FloorM2 - f.evaporatesKgS*latentJkg(f.surfaceC)
		f.radiantW -= f.openM2 * p.layers.throughWm2K * (f.surfaceC - p.layers.skyC)
		for j := range p.layers.n {
			f.radiantW -= f.openM2 * p.layers.blackWm2K[j] * (f.surfaceC - p.t[j])
		}
		if h.p.Crop.LeafArea > 0 {
			f.radiantW -= f.leafWK * (f.surfaceC - p.t[leafNode])
		}
		f.drive = ground.Drive{
			Day: p.w.Day, In: air, DryAirKgS: f.pipeKgS, PressurePa: p.w.PressurePa,
			Air: air.C, SurfaceWm2K: f.heatWK / b.FloorM2, RadiationW: f.radiantW,
		}
		b.Soil.Advance(&f.drive, p.dtS, &f.flux)
		if f.pipeKgS > 0 {
			fallK := f.flux.SensibleJ / (p.dtS * pipeShare * f.pipeKgS * dryAirJkgK)
			h.st.Wall[i] = air.C - unit.Celsius(fallK)
		}
	}
}

// pipesJ is the enthalpy that the air lost in the pipes.
func (f *floor) pipesJ() float64 { return f.flux.SensibleJ + f.flux.LatentJ + f.flux.WaterJ }

// pipesKg is the water that it left there.
func (f *floor) pipesKg() float64 { return f.flux.CondensedKg - f.flux.EvaporatedKg }
