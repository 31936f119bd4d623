package greenhouse

// warmth finds the temperatures at which everything exchanges, with soil and pipe walls as they were,
// and with them vents, heater and what leaves give off and the cover sheds.
func (h *House) warmth(p *passage) {
	var n network
	h.joinCover(p, &n)
	if h.leafM2 > 0 {
		h.joinLeaves(p, &n)
	}
	h.joinAir(p, &n)
	n.reduce()
	outC, openJkgK := float64(p.o.Outside), p.o.openJkgK
	p.ventKgS = h.vents(&n, openJkgK, outC)
	n.air.to(p.ventKgS*openJkgK, outC)
	perW := 1 / n.air.ownWK
	off := n.air.heatW * perW
	p.heaterW = h.heater(off, perW)
	n.solve(&p.t, off+p.heaterW*perW)
	h.shed(p)
}

func (h *House) joinCover(p *passage, n *network) {
	l, o := &p.layers, p.o
	n.n = l.n
	outer := &n.layer[0]
	outer.ownWK = l.outsideWK + l.skyWK
	outer.heatW = l.outsideWK*float64(o.Outside) + l.skyWK*o.skyC + o.GlobalWm2*h.sun.cover
	for i := range l.n {
		n.layer[i].ownWK += l.blackWm2K[i] * p.floors.openM2
		n.layer[i].heatW += l.blackWm2K[i] * p.floors.openM2K
	}
	for i := range l.inner {
		n.next[i] = l.between[i]
		n.layer[i].ownWK += l.between[i]
		n.layer[i+1].ownWK += l.between[i]
	}
	n.innerAir = l.airWK
	inner := &n.layer[l.inner]
	inner.ownWK += l.airWK
	if p.wet {
		was := float64(h.st.Cover[l.inner])
		inner.exchange(latentJkg(was)*l.vapourKgS, p.guessW, p.coverSatW, p.coverRise, was)
	}
}

func (h *House) joinLeaves(p *passage, n *network) {
	l, m2, crop := &p.layers, h.p.FloorM2*h.shade, float64(h.st.Crop)
	heldWK, skyWK := h.leafJK()*p.perS, l.throughWm2K*m2
	n.leafAir = p.leaves.heatWK
	n.leaf.ownWK = n.leafAir + heldWK + skyWK + p.floors.leafWK
	n.leaf.heatW = heldWK*crop + skyWK*p.o.skyC + p.floors.leafW + p.o.GlobalWm2*h.sun.crop
	for i := range l.n {
		wK := l.blackWm2K[i] * m2
		n.toLeaf[i] = wK
		n.leaf.ownWK += wK
		n.layer[i].ownWK += wK
	}
	n.leaf.exchange(latentJkg(crop)*p.leaves.vapourKgS, p.guessW, p.leaves.satW, p.leaves.slope, crop)
}

func (h *House) joinAir(p *passage, n *network) {
	heldWK, openWK := h.airJK()*p.perS, p.leakKgS*p.o.openJkgK
	n.air.ownWK = heldWK + openWK + n.innerAir + n.leafAir + p.floors.airWK
	n.air.heatW = heldWK*float64(h.st.Air) + openWK*float64(p.o.Outside) + p.floors.airW +
		p.o.GlobalWm2*h.sun.contents + p.fanW
	for i := range h.floors {
		if kgS := h.floors[i].drive.DryAirKgS; kgS > 0 {
			n.air.to(pipeShare*kgS*dryAirJkgK, float64(h.st.Wall[i]))
		}
	}
}

// airJK is what the air, its vapour and the contents take for each K.
func (h *House) airJK() float64 {
	return h.airKg*(dryAirJkgK+h.st.Vapour*vapourJkgK) + h.p.ContentsJm2K*h.p.FloorM2
}

func (h *House) leafJK() float64 { return leafJm2K * h.leafM2 }

// exchange lets vapour leave or meet the node, whose saturation was satW at c and moves by slope: the
// heat of wJ for a difference of humidity ratio of one, W.
func (t *tied) exchange(wJ, airW, satW, slope, c float64) {
	t.ownWK += wJ * slope
	t.heatW += wJ * (airW - satW + slope*c)
}

// shed finds the water that leaves give off and that drips from the cover. Neither takes more from the
// air than there is; the air has the heat of what they would have taken.
func (h *House) shed(p *passage) {
	l := &p.layers
	crop, inner := float64(h.st.Crop), float64(h.st.Cover[l.inner])
	p.risesKgS = p.leaves.vapourKgS * (p.leaves.satW + p.leaves.slope*(p.t.leaf-crop) - p.guessW)
	if p.wet {
		p.dripsKgS = l.vapourKgS * (p.guessW - p.coverSatW - p.coverRise*(p.t.layer[l.inner]-inner))
	}
	sinks := positive(-p.risesKgS) + positive(p.dripsKgS)
	if sinks <= p.mostKgS {
		return
	}
	kept := p.mostKgS / sinks
	if p.risesKgS < 0 {
		p.oweW += p.risesKgS * (1 - kept) * latentJkg(crop)
		p.risesKgS *= kept
	}
	if p.dripsKgS > 0 {
		p.oweW -= p.dripsKgS * (1 - kept) * latentJkg(inner)
		p.dripsKgS *= kept
	}
}
