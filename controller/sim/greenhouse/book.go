package greenhouse

import "loambank/config/unit"

// book moves the house into its new state and fills in what passed.
func (h *House) book(p *passage, f *Flux) {
	dt, was, l, o := p.dtS, &h.st, &p.layers, p.o
	outC := float64(o.Outside)
	heldJ, vapourWas := h.heatJ(was), was.Vapour
	f.SunJ = dt * o.GlobalWm2 * (h.sun.cover + h.sun.contents + h.sun.crop + h.sun.soilM2*h.p.FloorM2)
	f.HeaterJ, f.FanJ, f.FuelJ, f.HeaterS = dt*p.heaterW, dt*p.fanW, 0, 0
	if p.heaterW > 0 {
		f.FuelJ = f.HeaterJ / h.p.Heater.Efficiency
		f.HeaterS = f.HeaterJ / h.p.Heater.OutputW
	}
	f.OutsideJ = dt * l.outsideWK * (outC - p.t.layer[0])
	f.SkyJ = dt * (l.skyWK*(o.skyC-p.t.layer[0]) + l.throughWm2K*(p.floors.openM2*o.skyC-p.floors.openM2K))
	f.TranspiredKg, f.CondensedKg, f.EvaporatedKg = dt*p.risesKgS, dt*p.dripsKgS, 0
	// For evaporation, less what condensation gave.
	paidJ := f.TranspiredKg*latentJkg(float64(was.Crop)) - f.CondensedKg*latentJkg(float64(was.Cover[l.inner]))
	if h.leafM2 > 0 {
		f.SkyJ += dt * l.throughWm2K * h.shadeM2 * (o.skyC - p.t.leaf)
	}
	f.PipesKg, f.SoilJ = 0, 0
	for i := range h.floors {
		b, passed := &h.floors[i], &f.Beds[i]
		f.EvaporatedKg += dt * b.evaporatesKgS
		paidJ += dt * b.evaporatesKgS * latentJkg(b.surfaceC)
		f.PipesKg += passed.CondensedKg - passed.EvaporatedKg
		f.SoilJ += passed.SurfaceJ + streamJ(passed)
	}
	rose := f.TranspiredKg + f.EvaporatedKg - f.CondensedKg
	air := h.settle(p, f.PipesKg)
	steam := steamJkg(air)
	f.WaterJ = rose*steam - paidJ

	openKg := dt * (p.leakKgS + p.ventKgS)
	vapour := (h.airKg*was.Vapour + rose - f.PipesKg + openKg*o.Vapour) / (h.airKg + openKg)
	f.OpenKg = openKg * (o.Vapour - vapour)
	f.OpenJ = openKg*o.openJkgK*(outC-p.t.air) + f.OpenKg*steam
	f.LeakPerH, f.VentPerH = p.leakKgS*h.perH, p.ventKgS*h.perH

	h.move(p, air, vapour)
	f.StoredKg = h.airKg * (vapour - vapourWas)
	f.StoredJ = h.heatJ(&h.st) - heldJ
}

// settle lets the air take what it is still owed, with the vapour that stayed in the pipes, and returns
// its temperature then.
func (h *House) settle(p *passage, pipesKg float64) float64 {
	if p.oweW == 0 && pipesKg == 0 {
		return p.t.air
	}
	heldJK := h.airJK()
	return (heldJK*p.t.air + p.dtS*p.oweW + pipesKg*vapourJkg) / (heldJK - pipesKg*vapourJkgK)
}

func (h *House) move(p *passage, airC, vapour float64) {
	air := unit.Celsius(airC)
	h.st.Air, h.st.Vapour, h.st.Crop = air, vapour, air
	if h.leafM2 > 0 {
		h.st.Crop = unit.Celsius(p.t.leaf)
	}
	h.st.Cover = [3]unit.Celsius{air, air, air} // where a screen would hang
	for i := range p.layers.n {
		h.st.Cover[i] = unit.Celsius(p.t.layer[i])
	}
	h.st.VentKgS = p.ventKgS
}

// heatJ is what air, contents and leaves hold above 0 °C.
func (h *House) heatJ(st *State) float64 {
	air := h.airKg * (dryAirJkgK*float64(st.Air) + st.Vapour*steamJkg(float64(st.Air)))
	return air + h.p.ContentsJm2K*h.p.FloorM2*float64(st.Air) + h.leafJK()*float64(st.Crop)
}

// HeatJ is what air, contents and leaves hold above 0 °C, vapour with its latent heat.
func (h *House) HeatJ() float64 { return h.heatJ(&h.st) }

// WaterKg is the vapour in the air.
func (h *House) WaterKg() float64 { return h.airKg * h.st.Vapour }
