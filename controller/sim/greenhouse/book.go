package greenhouse

import "loambank/config/unit"

// book moves the house into its new state and fills in what passed.
func (h *House) book(p *passage, f *Flux) {
	dt, was := p.dtS, &h.st
	heldJ, vapourWas := h.heatJ(was), was.Vapour
	air, inner := p.t[airNode], p.layers.inner
	steam := steamJkg(air)
	f.SunJ = dt * (p.sun.coverW + p.sun.contentsW + p.sun.cropW + p.sun.soilW)
	f.HeaterJ, f.FanJ = dt*p.heaterW, dt*p.fanW
	f.SkyJ = dt * p.layers.skyWK * (p.layers.skyC - p.t[0])
	f.OutsideJ = dt * p.layers.outsideWK * (p.layers.outC - p.t[0])
	if p.heaterW > 0 {
		f.FuelJ = f.HeaterJ / h.p.Heater.Efficiency
		f.HeaterS = f.HeaterJ / h.p.Heater.OutputW
	}
	paidJ := 0.0 // for evaporation, less what condensation gave
	if h.p.Crop.LeafArea > 0 {
		crop := p.t[leafNode]
		f.TranspiredKg = dt * p.risesKgS
		paidJ += f.TranspiredKg * latentJkg(float64(was.Crop))
		f.SkyJ += dt * p.layers.throughWm2K * h.p.FloorM2 * h.shade * (p.layers.skyC - crop)
	}
	if p.wet {
		f.CondensedKg = dt * p.dripsKgS
		paidJ -= f.CondensedKg * latentJkg(float64(was.Cover[inner]))
	}
	for i := range h.beds {
		b := &p.beds[i]
		f.EvaporatedKg += dt * b.evaporatesKgS
		paidJ += dt * b.evaporatesKgS * latentJkg(b.surfaceC)
		f.SkyJ += dt * b.openM2 * p.layers.throughWm2K * (p.layers.skyC - b.surfaceC)
		f.PipesKg += b.pipesKg()
		f.SoilJ += b.flux.SurfaceJ + b.pipesJ()
		f.Beds[i] = b.flux
	}
	rose := f.TranspiredKg + f.EvaporatedKg - f.CondensedKg
	f.WaterJ = rose*steam - paidJ

	openKg := dt * (p.leakKgS + p.ventKgS)
	vapour := (h.airKg*was.Vapour + rose - f.PipesKg + openKg*p.w.Vapour) / (h.airKg + openKg)
	f.OpenKg = openKg * (p.w.Vapour - vapour)
	f.OpenJ = openKg*openJkgK(p.w)*(p.layers.outC-air) + f.OpenKg*steam
	f.LeakPerH = p.leakKgS / h.airKg * 3600
	f.VentPerH = p.ventKgS / h.airKg * 3600

	h.move(p, vapour)
	f.StoredKg = h.airKg * (vapour - vapourWas)
	f.StoredJ = h.heatJ(&h.st) - heldJ
}

func (h *House) move(p *passage, vapour float64) {
	h.st.Air, h.st.Vapour = unit.Celsius(p.t[airNode]), vapour
	h.st.Crop = h.st.Air
	if h.p.Crop.LeafArea > 0 {
		h.st.Crop = unit.Celsius(p.t[leafNode])
	}
	for i := range h.st.Cover {
		h.st.Cover[i] = h.st.Air // where a screen would hang
		if i < p.layers.n {
			h.st.Cover[i] = unit.Celsius(p.t[i])
		}
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
