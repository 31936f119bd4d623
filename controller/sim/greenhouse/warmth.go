package greenhouse

import "loambank/controller/weather"

// network joins all that does not depend on the soil.
func (h *House) network(p *passage, n *network) {
	l, st := &p.layers, &h.st
	n.tie(0, l.outsideWK, l.outC)
	n.tie(0, l.skyWK, l.skyC)
	n.heat(0, p.sun.coverW, 0)
	for i := range l.inner {
		n.join(i, i+1, l.between[i])
	}
	n.join(l.inner, airNode, l.airWK)
	if h.p.Crop.LeafArea > 0 {
		h.joinLeaves(p, n)
	}
	n.heat(airNode, p.sun.contentsW+p.fanW, 0)
	n.tie(airNode, h.airJK()/p.dtS, float64(st.Air))
	n.tie(airNode, p.leakKgS*openJkgK(p.w), l.outC)
}

func (h *House) joinLeaves(p *passage, n *network) {
	crop := float64(h.st.Crop)
	leafM2 := h.p.FloorM2 * h.shade
	n.tie(leafNode, h.leafJK()/p.dtS, crop)
	n.heat(leafNode, p.sun.cropW, 0)
	n.join(leafNode, airNode, p.leaves.heatWK)
	n.tie(leafNode, p.layers.throughWm2K*leafM2, p.layers.skyC)
	for i := range p.layers.n {
		n.join(leafNode, i, p.layers.blackWm2K[i]*leafM2)
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

// tieFloor lets a bed's surface radiate to the layers of the cover and to leaves.
func (h *House) tieFloor(p *passage, n *network, f *floor) {
	for i := range p.layers.n {
		n.tie(i, p.layers.blackWm2K[i]*f.openM2, f.surfaceC)
	}
	if h.p.Crop.LeafArea > 0 {
		n.tie(leafNode, f.leafWK, f.surfaceC)
	}
}

func (h *House) leavesToFloorWK(f *floor) float64 {
	return floorEmits * floorEmits * radiation(f.surfaceC, float64(h.st.Crop)) * f.leafM2
}

// finish finds the temperatures once more, now with what the soil really took.
func (h *House) finish(p *passage, n *network) {
	for i := range h.beds {
		f := &p.beds[i]
		for j := range p.layers.n {
			n.heat(j, p.layers.blackWm2K[j]*f.openM2*(f.surfaceC-p.t[j]), 0)
		}
		if h.p.Crop.LeafArea > 0 {
			n.heat(leafNode, f.leafWK*(f.surfaceC-p.t[leafNode]), 0)
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
