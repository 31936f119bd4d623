package ground

import "math"

// pace is what a step of one length does to a Reduced store.
type pace struct {
	dtS    float64
	answer answer
	// By port and mode: what a mode's start adds to the port's mean over the step.
	mean [][]float64
	// By mode: what is left after the step, and what heat held over it adds, for each W/m.
	left, feed        []float64
	feedWall, feedTop []float64
	// Port by port, the mean over the step for each W/m at another, the stiff part too.
	cross square
	// Heat along the pipe moves in so many parts of the step.
	parts int
}

func (r *Reduced) pace(dtS float64) *pace {
	for _, p := range r.paces {
		if p.dtS == dtS {
			return p
		}
	}
	if len(r.paces) >= operatorsKept {
		r.paces = r.paces[1:]
	}
	p := r.newPace(dtS)
	r.paces = append(r.paces, p)
	return p
}

// newPace: modes fall by e^(−rate dt), and heat held over the step adds to them.
func (r *Reduced) newPace(dtS float64) *pace {
	n, ports := len(r.m.rate), len(r.m.shape)
	lists := make([]float64, 4*n)
	p := &pace{
		dtS: dtS, left: lists[:n], feed: lists[n : 2*n], feedWall: lists[2*n : 3*n], feedTop: lists[3*n:],
		cross: newSquare(ports), parts: int(math.Ceil(dtS / r.spread.longestS)),
	}
	for range ports {
		p.mean = append(p.mean, make([]float64, n))
	}
	for a := range ports {
		copy(p.cross[a], r.m.stiff[a])
	}
	for i, rate := range r.m.rate {
		gone := -math.Expm1(-rate * dtS)
		meanLeft := gone / (rate * dtS)
		p.left[i], p.feed[i] = 1-gone, gone/rate
		p.feedWall[i], p.feedTop[i] = p.feed[i]*r.m.shape[wallPort][i], p.feed[i]*r.m.shape[topPort][i]
		for a, shape := range r.m.shape {
			p.mean[a][i] = shape[i] * meanLeft
			for b, other := range r.m.shape {
				p.cross[a][b] += shape[i] * (1 - meanLeft) / rate * other[i]
			}
		}
	}
	p.answer = answer{p.cross[wallPort][wallPort], p.cross[wallPort][topPort], p.cross[topPort][topPort]}
	return p
}
