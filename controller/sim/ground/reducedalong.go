package ground

import "math"

// spread is heat along the pipe of a Reduced store, for each second. From stretch to stretch every
// mode spreads as the soil does on the whole: where layers conduct unlike, modes would mix a little.
// The ends are taken node by node.
type spread struct {
	share    []float64 // of the difference to the next stretch that each takes, 1/s
	back     []float64 // and that one gives
	ends     []reducedEnd
	longestS float64 // a part of a step may be
}

// reducedEnd is an end of the store.
type reducedEnd struct {
	stretch int
	// What each mode gets for 1 K of the ground's mean, its swing, its swing a quarter year ago; and
	// gives for each mode; 1/s.
	ground [3][]float64
	modes  square
	same   float64 // where every mode gives itself alone and alike, else 0; 1/s
	// The heat that this is, W/K, of one pipe's zone.
	groundWK [3]float64
	modesWK  []float64
	mode     []float64 // scratch
}

func (r *Reduced) newSpread(s *soil) spread {
	var conduct, capacity float64
	for i := range s.at {
		conduct += s.alongWm[i]
		capacity += s.capJmK[i]
	}
	a := spread{longestS: math.Inf(1)}
	quickest := 0.0
	last := len(r.longM) - 1
	for k := range last {
		between := conduct / ((r.longM[k] + r.longM[k+1]) / 2) / capacity
		a.share, a.back = append(a.share, between/r.longM[k]), append(a.back, between/r.longM[k+1])
		quickest = max(quickest, 4*a.share[k], 4*a.back[k])
	}
	if s.edge.ReachM > 0 {
		for _, k := range []int{-1, last} {
			end := r.newEnd(s, k)
			for i := range s.at {
				quickest = max(quickest, 2*s.linkAlong(i, k)/(s.capJmK[i]*r.longM[end.stretch]))
			}
			a.ends = append(a.ends, end)
		}
	}
	if quickest > 0 {
		a.longestS = 1 / quickest
	}
	return a
}

// newEnd projects the conductances beyond stretch k on the modes.
func (r *Reduced) newEnd(s *soil, k int) reducedEnd {
	n := len(r.m.rate)
	e := reducedEnd{stretch: max(k, 0), modes: newSquare(n), modesWK: make([]float64, n), mode: make([]float64, n)}
	for j := range e.ground {
		e.ground[j] = make([]float64, n)
	}
	long := r.longM[e.stretch]
	shape := make([]float64, n)
	for node := range s.at {
		g := s.linkAlong(node, k)
		in, back := shares(&r.p.Ground, s.at[node].z)
		e.groundWK[0] += g
		e.groundWK[1] += g * in
		e.groundWK[2] += g * back
		for i, fit := range r.m.fit {
			shape[i] = fit[node] / s.capJmK[node]
		}
		for i, v := range shape {
			e.modesWK[i] += g * v
			e.ground[0][i] += v * g / long
			e.ground[1][i] += v * g / long * in
			e.ground[2][i] += v * g / long * back
			for j, w := range shape {
				e.modes[i][j] += v * g / long * w
			}
		}
	}
	e.same = e.modes.scalar()
	return e
}

// scalar is the number that the matrix multiplies by, 0 where it does more than that.
func (m square) scalar() float64 {
	for i := range m {
		for j := range m {
			want := 0.0
			if i == j {
				want = m[0][0]
			}
			if math.Abs(m[i][j]-want) > 1e-9*m[0][0] {
				return 0
			}
		}
	}
	return m[0][0]
}

// slowS is how long what is slow may wait, s. Along the pipe heat needs days from stretch to stretch.
const slowS = 3 * 3600

// settle books what came in through edge and base in the time that waited, J, and moves what is slow by it.
func (r *Reduced) settle(p *pace) (edgeJ, baseJ float64) {
	r.fade()
	if r.slow.forS != p.dtS {
		p = r.pace(r.slow.forS)
	}
	baseJ = r.broughtJ(p, basePort, r.sum.base*r.last.ground[0])
	if r.sum.side > 0 {
		edgeJ = r.broughtJ(p, sidePort, r.groundSide())
	}
	if len(r.longM) > 1 {
		r.settleTop(p, r.slow.moreS/r.slow.forS)
	}
	edgeJ += r.spreadAlong(p)
	r.centre()
	r.slow.forS, r.slow.moreS, r.slow.wallJm, r.slow.topJm = 0, 0, 0, 0
	return edgeJ, baseJ
}

// broughtJ is the heat that came in at a port to the ground in the time that waited, of one pipe: what the
// ground sends, W/m, less what the soil sends back at its mean temperature over the time.
func (r *Reduced) broughtJ(p *pace, at int, groundWm float64) float64 {
	perS := 1 / r.slow.forS
	back := p.cross[at][wallPort]*r.slow.wallJm*perS + p.cross[at][topPort]*r.slow.topJm*perS
	shape := r.m.shape[at]
	for i, w := range r.slow.whole {
		back += shape[i] * p.meanLeft[i] * w
	}
	for j, heat := range r.last.ground {
		back += p.cross[at][basePort+j] * heat
	}
	return r.p.Pipes.LengthM * r.slow.forS * (groundWm - back)
}

// begin looks at the soil before what is slow waits anew.
func (r *Reduced) begin(p *pace) {
	copy(r.slow.whole, r.whole)
	if len(r.longM) == 1 {
		return
	}
	r.fade()
	if p.dtS < slowS {
		p = r.pace(slowS)
	}
	n := len(r.whole)
	for k := range r.longM {
		r.slow.topC[k] = dot(p.topMean, r.apart[k*n:(k+1)*n])
	}
}

// settleTop lets what a stretch's surface is warmer than the mean go to the air, as far as the usual
// coefficient does not do so already.
func (r *Reduced) settleTop(p *pace, moreWmK float64) {
	n := len(r.whole)
	share := moreWmK / (1 + moreWmK*p.answer.topTop)
	for k := range r.longM {
		apart := r.apart[k*n : (k+1)*n]
		for i, feed := range p.feedTop {
			apart[i] -= feed * share * r.slow.topC[k]
		}
	}
}

// spreadAlong moves heat along the pipe for a step and returns what came in through the ends, J.
func (r *Reduced) spreadAlong(p *pace) (endsJ float64) {
	dtS := p.dtS / float64(p.parts)
	n := len(r.whole)
	for range p.parts {
		for k := range r.spread.share {
			here, next := r.apart[k*n:(k+1)*n], r.apart[(k+1)*n:(k+2)*n]
			share, back := r.spread.share[k]*dtS, r.spread.back[k]*dtS
			for i := range here {
				by := next[i] - here[i]
				here[i] += share * by
				next[i] -= back * by
			}
		}
		for i := range r.spread.ends {
			e := &r.spread.ends[i]
			endsJ += e.pass(r.whole, r.apart[e.stretch*n:(e.stretch+1)*n], [3]float64(r.last.ground[1:]), dtS)
		}
	}
	return endsJ
}

// pass moves the end's heat into its stretch, which is at whole and apart together.
func (e *reducedEnd) pass(whole, apart []float64, ground [3]float64, dtS float64) (inJ float64) {
	for j, c := range ground {
		inJ += e.groundWK[j] * c * dtS
	}
	mode := e.mode[:len(whole)]
	for i, a := range apart[:len(whole)] {
		mode[i] = whole[i] + a
	}
	inJ -= dot(e.modesWK, mode) * dtS
	mean, in, back := ground[0]*dtS, ground[1]*dtS, ground[2]*dtS
	ofMean, ofIn, ofBack := e.ground[0][:len(mode)], e.ground[1][:len(mode)], e.ground[2][:len(mode)]
	same := e.same * dtS
	for i, m := range mode {
		gives := same * m
		if same == 0 {
			gives = dot(e.modes[i], mode) * dtS
		}
		apart[i] += ofMean[i]*mean + ofIn[i]*in + ofBack[i]*back - gives
	}
	return inJ
}
