package greenhouse

// node is a part of the house of one temperature: all that it is joined to, together, W/K, and the heat
// that comes from there while it is at 0 °C, W. Its temperature is heatW/ownWK.
type node struct{ ownWK, heatW float64 }

// to joins the node to something of a given temperature.
func (n node) to(wK, c float64) node { return node{n.ownWK + wK, n.heatW + wK*c} }

// exchange lets vapour leave or meet the node: kgS for a difference of humidity ratio of one to air of
// airW.
func (n node) exchange(kgS, airW float64, s *curve) node {
	wJ := kgS * s.latentJkg
	return node{n.ownWK + wJ*s.slope, n.heatW + wJ*(airW-s.w+s.slope*s.c)}
}

// temps are the temperatures of a house's nodes, °C. What a house has not stays at 0.
type temps struct {
	layer     [3]float64
	leaf, air float64
}

// sheet is a layer of the cover in terms of what lies further in: its temperature is perW times heatW and
// what comes from the next and from leaves.
type sheet struct{ perW, heatW, leafWK float64 }

// warmth finds the temperatures at which everything exchanges, with soil and pipe walls as they were,
// and with them vents, heater and what leaves give off and the cover sheds. From the outermost layer
// inwards each node is put in terms of the next ones, the air's equation is what is left, and the others
// follow from it.
func (h *House) warmth(p *passage) {
	leaf := h.leafNode(p)
	leaf, air, leafWK := h.through(p, leaf)
	leafWK += h.leafWK()
	leafPerW := 0.0
	if leaf.ownWK > 0 {
		leafPerW = 1 / leaf.ownWK
	}
	by := leafWK * leafPerW
	air.ownWK += h.leafWK() - by*leafWK
	air.heatW += by * leaf.heatW
	air = h.airNode(p, air)
	p.ventKgS = h.vents(air, p.o)
	air = air.to(p.ventKgS*p.o.openJkgK, float64(p.o.Outside))
	perW := 1 / air.ownWK
	off := air.heatW * perW
	p.heaterW = h.heater(off, perW)

	p.t.air = off + p.heaterW*perW
	p.t.leaf = (leaf.heatW + leafWK*p.t.air) * leafPerW
	next := p.t.air
	for i := h.terms.cover.inner; i >= 0; i-- {
		s := &p.sheets[i]
		next = (s.heatW + h.terms.inwardsWK[i]*next + s.leafWK*p.t.leaf) * s.perW
		p.t.layer[i] = next
	}
	h.shed(p)
}

// through puts the cover in terms of leaves and air: it returns the leaves with what the cover does to
// them, the beginning of the air, and what joins both through the cover.
func (h *House) through(p *passage, leaf node) (left, air node, leafWK float64) {
	t, o := &h.terms, p.o
	here := node{heatW: o.GlobalWm2 * h.sun.cover}.to(p.outsideWK, float64(o.Outside)).to(p.skyWK, float64(o.sky))
	for i := range t.cover.n {
		black, inwardsWK := t.blackWm2K[i], t.inwardsWK[i]
		leafWK += black * h.shadeM2
		leaf.ownWK += black * h.shadeM2
		here.ownWK += black*(h.shadeM2+p.surfaces.cover.ownWK) + inwardsWK
		here.heatW += black * p.surfaces.cover.heatW
		if i == t.cover.inner && p.wet {
			here = here.exchange(t.innerKgS, p.guessW, &t.inner)
		}
		perW := 1 / here.ownWK
		p.sheets[i] = sheet{perW, here.heatW, leafWK}
		leaf.ownWK -= leafWK * leafWK * perW
		leaf.heatW += leafWK * perW * here.heatW
		by := inwardsWK * perW
		here = node{inwardsWK - by*inwardsWK, by * here.heatW}
		leafWK *= by
	}
	return leaf, here, leafWK
}

// leafNode is the leaves but for the cover.
func (h *House) leafNode(p *passage) node {
	if h.leafM2 == 0 {
		return node{}
	}
	n := node{p.surfaces.leaf.ownWK + h.leafWK(), p.surfaces.leaf.heatW + p.o.GlobalWm2*h.sun.crop}
	n = n.to(h.leafJK()*p.perS, float64(h.st.Crop)).to(p.throughWm2K*h.shadeM2, float64(p.o.sky))
	return n.exchange(h.terms.leafKgS, p.guessW, &h.terms.leaf)
}

// airNode is the air, what cover and leaves do to it with all the rest but vents and heater.
func (h *House) airNode(p *passage, n node) node {
	n.ownWK += p.surfaces.air.ownWK
	n.heatW += p.surfaces.air.heatW + p.o.GlobalWm2*h.sun.contents + p.fanW
	n = n.to(h.airJK()*p.perS, float64(h.st.Air)).to(p.leakKgS*p.o.openJkgK, float64(p.o.Outside))
	for i := range h.floors {
		if kgS := h.floors[i].drive.DryAirKgS; kgS > 0 {
			n = n.to(pipeShare*kgS*dryAirJkgK, float64(h.st.Wall[i]))
		}
	}
	return n
}

// airJK is what the air, its vapour and the contents take for each K.
func (h *House) airJK() float64 {
	return h.airKg*(dryAirJkgK+h.st.Vapour*vapourJkgK) + h.p.ContentsJm2K*h.p.FloorM2
}

func (h *House) leafJK() float64 { return leafJm2K * h.leafM2 }

// shed finds the water that leaves give off and that drips from the cover, which has none to give back.
// Neither takes more from the air than there is; the air has the heat of what they would have taken.
func (h *House) shed(p *passage) {
	t := &h.terms
	p.risesKgS = t.leafKgS * (t.leaf.at(p.t.leaf) - p.guessW)
	drips := 0.0
	if p.wet {
		drips = t.innerKgS * (p.guessW - t.inner.at(p.t.layer[t.cover.inner]))
		p.dripsKgS = positive(drips)
	}
	if sinks := positive(-p.risesKgS) + p.dripsKgS; sinks > p.mostKgS {
		kept := p.mostKgS / sinks
		p.dripsKgS *= kept
		if p.risesKgS < 0 {
			p.oweW += p.risesKgS * (1 - kept) * t.leaf.latentJkg
			p.risesKgS *= kept
		}
	}
	p.oweW += (p.dripsKgS - drips) * t.inner.latentJkg
}
