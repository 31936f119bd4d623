package ground

import (
	"math"

	"loambank/config/unit"
)

// Modes is how many numbers stand for each stretch's soil.
func (r *Reduced) Modes() int { return len(r.m.rate) }

// Step moves the store on by dtS seconds, not shorter than it was made for, under the same drive;
// none or less does nothing. The first step of a new length costs more than others.
func (r *Reduced) Step(in Drive, dtS float64) Flux {
	f := Flux{Out: in.In, SurfaceC: unit.Celsius(r.last.topC)}
	if !(dtS > 0) {
		return f
	}
	p := r.pace(dtS)
	r.surround(p, in.Day)
	radiationWm2 := in.RadiationW / r.p.FloorM2()
	air := newStretch(&in, &r.p.Pipes, unit.Celsius(r.last.wallC))
	n := len(r.m.rate)
	clear(r.along)
	var g gains
	var wallC, topC, walls, tops float64
	for k, long := range r.longM {
		mode := r.mode[k*n : (k+1)*n]
		stillWall := r.still[wallPort] + dot(p.mean[wallPort], mode)
		stillTop := r.still[topPort] + dot(p.mean[topPort], mode)
		at := p.answer.port(stillWall, stillTop, r.p.Pipes.SpacingM, r.p.SurfaceWm2K, &in, radiationWm2)
		wall := air.pass(&f, &r.p.Pipes, at, long, &r.film[k], dtS)
		top := at.topW + at.topPer*wall
		r.last.wallW[k], r.last.topW[k] = wall, top
		wallC += long * (stillWall + p.answer.wallWall*wall + p.answer.wallTop*top)
		surfaceC := stillTop + p.answer.wallTop*wall + p.answer.topTop*top
		topC += long * surfaceC

		seconds := long * dtS
		g.surfaceJ += seconds * (top - r.p.SurfaceWm2K*r.p.Pipes.SpacingM*surfaceC)
		walls, tops = walls+long*wall, tops+long*top
		left, feedWall, feedTop, pull, along := p.left[:n], p.feedWall[:n], p.feedTop[:n], r.pull[:n], r.along[:n]
		for i, m := range mode {
			along[i] += long * m
			mode[i] = left[i]*m + feedWall[i]*wall + feedTop[i]*top + pull[i]
		}
	}
	metreS := r.p.Pipes.LengthM * dtS
	g.baseJ = metreS*r.sum.base*r.last.ground[0] - dtS*r.at(p, basePort, walls, tops)
	if r.sum.side > 0 {
		g.edgeJ = metreS*r.groundSide() - dtS*r.at(p, sidePort, walls, tops)
	}
	r.last.wallC, r.last.topC = wallC/r.p.Pipes.LengthM, topC/r.p.Pipes.LengthM
	g.edgeJ += r.spreadAlong(p)
	pipes := float64(r.p.Pipes.Count)
	g.storedJ = f.AirJ()/pipes + g.surfaceJ + g.edgeJ + g.baseJ
	r.heatJ += g.storedJ
	f.Out, f.SurfaceC = air.in, unit.Celsius(r.last.topC)
	f.addSoil(g, r.p.Pipes.Count)
	return f
}

// surround finds what the ground does to all stretches alike in this step.
func (r *Reduced) surround(p *pace, day float64) {
	// The wave moves by less than a thousandth of its swing in an hour: it is looked at in each one's
	// middle.
	hour := math.Floor(day * 24)
	if r.seen.pace == p && r.seen.hour == hour {
		return
	}
	r.seen.pace, r.seen.hour = p, hour
	day = (hour + 0.5) / 24
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

// at is a port's mean over the step, summed over all metres. The modes are those before the step.
func (r *Reduced) at(p *pace, port int, walls, tops float64) float64 {
	return r.p.Pipes.LengthM*r.still[port] + dot(p.mean[port], r.along) + p.cross[port][wallPort]*walls + p.cross[port][topPort]*tops
}

// Read returns the temperature of a spot that the store was made with, by its number, at the end of
// the last step.
func (r *Reduced) Read(spot int) unit.Celsius {
	port, n := firstSpot+spot, len(r.m.rate)
	k := r.spots[spot].stretch
	stiff := r.m.stiff[port]
	sum := dot(r.m.shape[port], r.mode[k*n:(k+1)*n]) + stiff[wallPort]*r.last.wallW[k] + stiff[topPort]*r.last.topW[k]
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
