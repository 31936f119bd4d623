package greenhouse

// network joins all that does not depend on the soil.
func (h *House) network(p *passage, n *network) {
	l, o, sun := &p.layers, p.o, p.o.GlobalWm2
	outC := float64(o.Outside)
	n.n, n.innerAir, n.leafAir = l.n, l.airWK, p.leaves.heatWK
	outer, inner := &n.layer[0], &n.layer[l.inner]
	outer.to(l.outsideWK, outC)
	outer.to(l.skyWK, o.skyC)
	outer.heatW += sun * h.sun.cover
	for i := range l.inner {
		n.next[i] = l.between[i]
		n.layer[i].ownWK += l.between[i]
		n.layer[i+1].ownWK += l.between[i]
	}
	inner.ownWK += l.airWK
	if h.leafM2 > 0 {
		h.joinLeaves(p, n)
	}
	n.air.ownWK = l.airWK + p.leaves.heatWK
	n.air.heatW = sun*h.sun.contents + p.fanW
	n.air.to(h.airJK()/p.dtS, float64(h.st.Air))
	n.air.to(p.leakKgS*o.openJkgK, outC)
}

func (h *House) joinLeaves(p *passage, n *network) {
	l, m2 := &p.layers, h.p.FloorM2*h.shade
	n.leaf = tied{ownWK: p.leaves.heatWK, heatW: p.o.GlobalWm2 * h.sun.crop}
	n.leaf.to(h.leafJK()/p.dtS, float64(h.st.Crop))
	n.leaf.to(l.throughWm2K*m2, p.o.skyC)
	for i := range l.n {
		wK := l.blackWm2K[i] * m2
		n.toLeaf[i] = wK
		n.leaf.ownWK += wK
		n.layer[i].ownWK += wK
	}
}

// airJK is what the air, its vapour and the contents take for each K.
func (h *House) airJK() float64 {
	return h.airKg*(dryAirJkgK+h.st.Vapour*vapourJkgK) + h.p.ContentsJm2K*h.p.FloorM2
}

func (h *House) leafJK() float64 { return leafJm2K * h.leafM2 }

// guess finds the temperatures with soil and pipe walls as they were, and with them vents and heater.
func (h *House) guess(p *passage, n *network) {
	l, o, outC := &p.layers, p.o, float64(p.o.Outside)
	n.air.ownWK += p.floors.airWK
	n.air.heatW += p.floors.airW
	for i := range l.n {
		n.layer[i].ownWK += l.blackWm2K[i] * p.floors.openM2
		n.layer[i].heatW += l.blackWm2K[i] * p.floors.openM2K
	}
	for i := range h.floors {
		if kgS := h.floors[i].drive.DryAirKgS; kgS > 0 {
			n.air.to(pipeShare*kgS*dryAirJkgK, float64(h.st.Wall[i]))
		}
	}
	crop, inner := float64(h.st.Crop), float64(h.st.Cover[l.inner])
	if h.leafM2 > 0 {
		n.leaf.ownWK += p.floors.leafWK
		n.leaf.heatW += p.floors.leafW
		n.leaf.exchange(latentJkg(crop)*p.leaves.vapourKgS, p.guessW, p.leaves.satW, p.leaves.slope, crop)
	}
	if p.wet {
		n.layer[l.inner].exchange(latentJkg(inner)*l.vapourKgS, p.guessW, p.coverSatW, p.coverRise, inner)
	}
	n.reduce()
	p.ventKgS = h.vents(n, o.openJkgK, outC)
	n.air.to(p.ventKgS*o.openJkgK, outC)
	p.heaterW = h.heater(n)
	n.air.heatW += p.heaterW
	n.solve(&p.t)
	p.risesKgS = p.leaves.vapourKgS * (p.leaves.satW + p.leaves.slope*(p.t.leaf-crop) - p.guessW)
	if p.wet {
		p.dripsKgS = l.vapourKgS * (p.guessW - p.coverSatW - p.coverRise*(p.t.layer[l.inner]-inner))
	}
	h.limit(p)
}

// exchange lets vapour leave or meet the node, whose saturation was satW at c and moves by slope: the
// heat of wJ for a difference of humidity ratio of one, W.
func (t *tied) exchange(wJ, airW, satW, slope, c float64) {
	t.ownWK += wJ * slope
	t.heatW += wJ * (airW - satW + slope*c)
}

// finish finds the temperatures once more, now with what the soil really took.
func (h *House) finish(p *passage, n *network, f *Flux) {
	l, o := &p.layers, p.o
	for i := range l.n {
		n.layer[i].heatW += l.blackWm2K[i] * (p.floors.openM2K - p.floors.openM2*p.t.layer[i])
	}
	if h.leafM2 > 0 {
		n.leaf.heatW += p.floors.leafW - p.floors.leafWK*p.t.leaf - p.risesKgS*latentJkg(float64(h.st.Crop))
	}
	for i := range h.floors {
		b := &f.Beds[i]
		n.air.heatW += h.floors[i].drive.RadiationW - b.SurfaceJ/p.dtS
		if h.floors[i].drive.DryAirKgS > 0 {
			waterKgS := (b.CondensedKg - b.EvaporatedKg) / p.dtS
			n.air.heatW += waterKgS*vapourJkg - streamJ(b)/p.dtS
			n.air.ownWK -= waterKgS * vapourJkgK
		}
	}
	n.layer[l.inner].heatW += p.dripsKgS * latentJkg(float64(h.st.Cover[l.inner]))
	n.air.to(p.ventKgS*o.openJkgK, float64(o.Outside))
	n.air.heatW += p.heaterW
	n.reduce()
	n.solve(&p.t)
}
