package ground

import (
	"math"

	"loambank/config/unit"
)

// Modes is how many numbers stand for each stretch's soil.
func (r *Reduced) Modes() int { return len(r.m.rate) }

// Step moves the store on by dtS seconds, not shorter than it was made for, under the same drive;
// none or less does nothing. The first step of a new length costs more than others.
func (r *Reduced) Step(in Drive, dtS float64) (f Flux) {
	r.Advance(&in, dtS, &f)
	return f
}

// Advance is Step for many years: what passed overwrites f.
func (r *Reduced) Advance(in *Drive, dtS float64, f *Flux) {
	*f = Flux{Out: in.In, SurfaceC: unit.Celsius(r.last.topC)}
	if !(dtS > 0) {
		return
	}
	p := r.pace(dtS)
	if r.seen.pace != p || !(in.Day >= r.seen.from && in.Day < r.seen.until) {
		r.surround(p, in.Day)
	}
	if r.slow.forS == 0 {
		r.begin(p)
	}
	pipes := &r.p.Pipes
	stillTop := r.still[topPort] + dot(p.topMean, r.whole)
	at := p.answer.port(0, stillTop, pipes.SpacingM, r.p.SurfaceWm2K, in, in.RadiationW/r.p.FloorM2())
	top, wall := at.topW, 0.0
	if in.DryAirKgS > 0 && !r.p.Closed {
		wall = r.blow(f, p, at, in)
		top += at.topPer * wall
		r.feedBoth(p, wall, top)
	} else {
		r.lie(p)
		r.feedTop(p, top)
	}
	r.last.topW = top
	r.last.topC = stillTop + p.answer.wallTop*wall + p.answer.topTop*top

	r.slow.forS += dtS
	r.slow.wallJm += dtS * wall
	r.slow.topJm += dtS * top
	r.slow.moreS += dtS * (in.SurfaceWm2K + in.EvenWm2K - r.p.SurfaceWm2K) * pipes.SpacingM
	g := gains{surfaceJ: pipes.LengthM * dtS * (top - r.p.SurfaceWm2K*pipes.SpacingM*r.last.topC)}
	if r.slow.forS >= slowS {
		g.edgeJ, g.baseJ = r.settle(p)
	}
	g.storedJ = f.AirJ()/float64(pipes.Count) + g.surfaceJ + g.edgeJ + g.baseJ
	r.heatJ += g.storedJ
	f.SurfaceC = unit.Celsius(r.last.topC)
	f.addSoil(g, pipes.Count)
}

// feedTop moves the mean of all stretches on by a step with heat at the surface alone.
func (r *Reduced) feedTop(p *pace, top float64) {
	whole := r.whole
	left, feed, pull := p.left[:len(whole)], p.feedTop[:len(whole)], r.pull[:len(whole)]
	for i := range whole {
		whole[i] = left[i]*whole[i] + (feed[i]*top + pull[i])
	}
}

// feedBoth is feedTop with heat at the pipe too.
func (r *Reduced) feedBoth(p *pace, wall, top float64) {
	whole, feedWall := r.whole, p.feedWall[:len(r.whole)]
	r.feedTop(p, top)
	for i := range whole {
		whole[i] += feedWall[i] * wall
	}
}

// blow takes air through all stretches and moves them apart by what each got. at is the surface's
// balance without the wall's own temperature. It returns the mean heat at the pipe, W/m.
func (r *Reduced) blow(f *Flux, p *pace, at port, in *Drive) float64 {
	r.fade()
	n, lengthM := len(r.whole), r.p.Pipes.LengthM
	wallMean := p.wallMean
	still := at.stillC + r.still[wallPort] + dot(wallMean, r.whole)
	guess := still
	if r.last.blown {
		guess = r.last.wallC
	}
	air := newStream(in, &r.p.Pipes, unit.Celsius(guess), &r.films)
	var walls, wallC float64
	for k, long := range r.longM {
		here := at
		here.stillC = still + dot(wallMean, r.apart[k*n:(k+1)*n])
		w := air.pass(&r.p.Pipes, here, long, r.last.wallW[k], &r.film[k], p.dtS)
		r.last.wallW[k] = w
		walls += long * w
		wallC += long * (here.stillC + here.riseKW*w)
	}
	air.book(f, &r.p.Pipes, p.dtS)
	mean := walls / lengthM
	r.last.blown, r.last.wallC = true, wallC/lengthM

	feed := r.feed[:n]
	for i := range feed {
		feed[i] = p.feedWall[i] + at.topPer*p.feedTop[i]
	}
	left := p.left[:n]
	for k, w := range r.last.wallW {
		apart, more := r.apart[k*n : (k+1)*n][:len(left)], w-mean
		for i, l := range left {
			apart[i] = l*apart[i] + feed[i]*more
		}
	}
	return mean
}

// lie lets the stretches' differences be for a step without air.
func (r *Reduced) lie(p *pace) {
	if r.last.blown {
		r.last.blown = false
		clear(r.last.wallW)
	}
	if r.rest.pace != p || r.rest.steps >= len(p.fade)-1 {
		r.fade()
		r.rest.pace = p
	}
	r.rest.steps++
}

// fade brings the stretches' differences up to date after steps without air.
func (r *Reduced) fade() {
	if r.rest.steps == 0 {
		return
	}
	fade, n := r.rest.pace.fade[r.rest.steps], len(r.whole)
	for k := range r.longM {
		apart := r.apart[k*n : (k+1)*n][:len(fade)]
		for i, share := range fade {
			apart[i] *= share
		}
	}
	r.rest.steps = 0
}

// surround finds what the ground does to all stretches alike from a day on.
func (r *Reduced) surround(p *pace, day float64) {
	// The wave moves by less than two thousandths of its swing in two hours: it is looked at every
	// four, in their middle.
	const looksPerDay = 6
	part := math.Floor(day * looksPerDay)
	r.seen.pace, r.seen.from, r.seen.until = p, part/looksPerDay, (part+1)/looksPerDay
	day = (part + 0.5) / looksPerDay
	in, back := swing(&r.p.Ground, day)
	base := float64(r.p.Ground.At(r.p.DepthM+baseM, day))
	r.last.ground = [4]float64{base, float64(r.p.Ground.Mean), in, back}
	clear(r.pull)
	clear(r.still)
	for j, heat := range r.last.ground {
		port := basePort + j
		if port > basePort && r.sum.side == 0 {
			break
		}
		for i, shape := range r.m.shape[port] {
			r.pull[i] += p.feed[i] * shape * heat
		}
		for at := range firstSpot {
			r.still[at] += p.cross[at][port] * heat
		}
	}
}

// groundSide is the side's conductances times the undisturbed ground beside them, W/m.
func (r *Reduced) groundSide() float64 {
	return r.sum.side*r.last.ground[1] + r.sum.sideIn*r.last.ground[2] + r.sum.sideBack*r.last.ground[3]
}

// Read returns the temperature of a spot that the store was made with, by its number, at the end of
// the last step.
func (r *Reduced) Read(spot int) unit.Celsius {
	port, k, n := firstSpot+spot, r.spots[spot].stretch, len(r.whole)
	stiff, shape := r.m.stiff[port], r.m.shape[port][:n]
	whole, apart := r.whole[:n], r.apart[k*n:(k+1)*n]
	sum := stiff[wallPort]*r.last.wallW[k] + stiff[topPort]*r.last.topW
	sum += dot(shape, whole)
	if r.rest.steps == 0 {
		sum += dot(shape, apart)
	} else {
		for i, share := range r.rest.pace.fade[r.rest.steps][:n] {
			sum += shape[i] * share * apart[i]
		}
	}
	for j, heat := range r.last.ground {
		sum += stiff[basePort+j] * heat
	}
	return unit.Celsius(sum)
}

// HeatJ is what all the soil down to DepthM holds above 0 °C.
func (r *Reduced) HeatJ() float64 { return float64(r.p.Pipes.Count) * r.heatJ }

// FilmKg is the water standing in all pipes.
func (r *Reduced) FilmKg() (sum float64) {
	for _, kg := range r.film {
		sum += kg
	}
	return float64(r.p.Pipes.Count) * sum
}
