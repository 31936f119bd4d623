package ground

import (
	"fmt"
	"slices"
)

// Reduced is a store in a few numbers for each stretch: a hundred times quicker than the Store it was
// made from and within a few hundredths of a K of it. Heat is exchanged at the mean temperatures over
// the step, and from step to step the soil's answer is exact.
//
// The soil's state is the mean of all stretches and how far each is apart from it. While the fan
// rests only the mean has anything to do, so that a step costs as if there were one stretch. What is
// slow against three hours, heat along the pipe and through the ends, moves once in them; EdgeJ and BaseJ
// are booked in that step.
type Reduced struct {
	p      Params
	m      modes
	longM  []float64
	spots  []Probe // of the ports from firstSpot on
	sum    sums
	spread spread
	paces  []*pace
	films  films

	whole []float64 // state: the mean of all stretches, by mode
	apart []float64 // how far each stretch is from it, by mode; their mean is nothing
	film  []float64
	heatJ float64 // of one pipe's zone
	last  last
	rest  rest
	slow  slow
	// scratch
	pull  []float64 // of the ground, by mode
	still []float64 // by port, of the ground and no other heat
	feed  []float64 // of heat at the pipe, by mode
	seen  struct {  // the ground was looked at for this pace and these days
		pace        *pace
		from, until float64
	}
}

// sums is the ground's whole conductances, W/(m K).
type sums struct{ base, side, sideIn, sideBack float64 }

// last is what the last step found.
type last struct {
	blown       bool       // air went through the pipes
	wallW       []float64  // heat at the pipe of each stretch, W/m
	topW        float64    // at the surface, the mean
	ground      [4]float64 // heat at the ground's ports
	wallC, topC float64    // wallC holds while blown
}

// rest counts the steps of one length that apart has yet to fade by.
type rest struct {
	pace  *pace
	steps int
}

// slow gathers what is yet to be booked, and what the stretches' differences have yet to be moved by: the
// time, the surface's coefficient over the usual one, W/(m K), times it, and the heat at the pipe and at
// the surface, J/m.
type slow struct {
	forS, moreS   float64
	wallJm, topJm float64
	// As the time began: the mean of all stretches, by mode, and how much warmer each stretch's surface is
	// than the mean.
	whole []float64
	topC  []float64
}

// Ports of a reduced store, in order.
const (
	wallPort = iota
	topPort
	basePort
	sidePort // to the ground's mean; its swing comes in at the next two
	sideInPort
	sideBackPort
	firstSpot
)

// Reduce returns the store in few numbers, in its present state, for steps of dtS seconds and more,
// with spots whose temperatures can be read. Each spot costs some speed.
func (s *Store) Reduce(dtS float64, spots ...Spot) (*Reduced, error) {
	if !(dtS > 0 && dtS <= 86400) {
		return nil, fmt.Errorf("step of %g s; over 0, at most a day", dtS)
	}
	n := len(s.soil.at)
	r := &Reduced{p: s.p, longM: s.soil.longM}
	ports := make([][]float64, firstSpot)
	for i := range ports {
		ports[i] = make([]float64, n)
	}
	if !s.p.Closed {
		ports[wallPort][s.soil.wall] = 1
	}
	for i, side := range s.soil.sideWmK {
		ports[topPort][i] = s.soil.topM[i] / s.soil.widthM
		a, b := shares(&s.p.Ground, s.soil.at[i].z)
		ports[basePort][i], ports[sidePort][i] = s.soil.baseWmK[i], side
		ports[sideInPort][i], ports[sideBackPort][i] = side*a, side*b
		r.sum.base += s.soil.baseWmK[i]
		r.sum.side += side
		r.sum.sideIn += side * a
		r.sum.sideBack += side * b
	}
	for _, spot := range spots {
		probe, err := s.Probe(spot)
		if err != nil {
			return nil, err
		}
		port := make([]float64, n)
		for i, node := range probe.node {
			port[node] += probe.share[i]
		}
		ports = append(ports, port)
		r.spots = append(r.spots, probe)
	}
	r.m = newModes(s.soil.section, s.soil.diagonal, ports, dtS)
	r.spread = r.newSpread(s.soil)
	r.films.pipe = r.p.Pipes.pipe()
	r.pull, r.feed, r.still = make([]float64, len(r.m.rate)), make([]float64, len(r.m.rate)), make([]float64, len(ports))
	r.adopt(s)
	return r, nil
}

// adopt takes the state of the store that r was made from.
func (r *Reduced) adopt(s *Store) {
	many, n := len(r.longM), len(r.m.rate)
	r.whole, r.apart = make([]float64, n), make([]float64, many*n)
	for k := range many {
		for i, fit := range r.m.fit {
			for node, weight := range fit {
				r.apart[k*n+i] += weight * s.soil.tempC[node*many+k]
			}
		}
	}
	r.centre()
	r.film = append([]float64(nil), s.film...)
	r.heatJ = s.soil.heatJ()
	r.slow.whole, r.slow.topC = make([]float64, n), make([]float64, many)
	r.last = last{wallW: make([]float64, many), wallC: float64(s.WallC()), topC: float64(s.SurfaceC())}
}

// Again returns a store in the state that st says of this one, which it shares nothing with that moves.
// It is there at once, where Reduce takes its time.
func (r *Reduced) Again(st ReducedState) (*Reduced, error) {
	n, many, ports := len(r.whole), len(r.longM), len(r.still)
	next := &Reduced{
		p: r.p, m: r.m, longM: r.longM, spots: r.spots, sum: r.sum, spread: r.spread, films: films{pipe: r.films.pipe},
		whole: make([]float64, n), apart: make([]float64, many*n), film: make([]float64, many),
		pull: make([]float64, n), feed: make([]float64, n), still: make([]float64, ports),
	}
	next.last.wallW, next.slow.topC, next.slow.whole = make([]float64, many), make([]float64, many), make([]float64, n)
	next.spread.ends = slices.Clone(r.spread.ends)
	for i := range next.spread.ends {
		next.spread.ends[i].mode = make([]float64, n)
	}
	return next, next.Restore(st)
}

// centre moves into the mean of all stretches what is left of it in their differences.
func (r *Reduced) centre() {
	n := len(r.whole)
	mean := r.feed[:n]
	clear(mean)
	for k, long := range r.longM {
		share := long / r.p.Pipes.LengthM
		for i, a := range r.apart[k*n : (k+1)*n] {
			mean[i] += share * a
		}
	}
	for i, m := range mean {
		r.whole[i] += m
	}
	for k := range r.longM {
		apart := r.apart[k*n : (k+1)*n]
		for i, m := range mean {
			apart[i] -= m
		}
	}
}
