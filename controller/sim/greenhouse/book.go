package greenhouse

import "loambank/config/unit"

// book moves the house into its new state and fills in what passed.
func (h *House) book(p *passage, f *Flux) {
	dt, was, t, o := p.dtS, &h.st, &h.terms, p.o
	outC, skyC := float64(o.Outside), float64(o.sky)
	heldJ, vapourWas := h.heatJ(was), was.Vapour
	f.SunJ = dt * o.GlobalWm2 * (h.sun.cover + h.sun.contents + h.sun.crop + h.sun.soilM2*h.p.FloorM2)
	f.HeaterJ, f.FanJ, f.FuelJ, f.HeaterS = dt*p.heaterW, dt*p.fanW, 0, 0
	if p.heaterW > 0 {
		f.FuelJ = f.HeaterJ / h.p.Heater.Efficiency
		f.HeaterS = f.HeaterJ / h.p.Heater.OutputW
	}
	f.OutsideJ = dt * p.outsideWK * (outC - p.t.layer[0])
	f.SkyJ = dt * (p.skyWK*(skyC-p.t.layer[0]) + p.throughWm2K*(p.surfaces.cover.ownWK*skyC-p.surfaces.cover.heatW))
	f.TranspiredKg, f.CondensedKg, f.PipesKg = dt*p.risesKgS, dt*p.dripsKgS, p.leftKg
	// For evaporation, less what condensation gave.
	paidJ := f.TranspiredKg*t.leaf.latentJkg - f.CondensedKg*t.inner.latentJkg + dt*p.evaporatesW
	if h.leafM2 > 0 {
		f.SkyJ += dt * p.throughWm2K * h.shadeM2 * (skyC - p.t.leaf)
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
	for i := range h.terms.cover.n {
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
