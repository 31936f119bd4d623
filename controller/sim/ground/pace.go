package ground

import "math"

// pace is what a step of one length does to a Reduced store.
type pace struct {
	dtS    float64
	answer answer
	// By mode: what its start adds to the mean over the step at the pipe's wall and at the surface; what
	// is left of it; and what heat held over the step adds, for each W/m at the wall and at the surface.
	wallMean, topMean, left, feedWall, feedTop []float64
	// Likewise of its start that stays on the mean, and of a unit of heat.
	meanLeft, feed []float64
	// fade[n] is what is left after n steps.
	fade [][]float64
	// Port by port, the mean over the step for each W/m at another, the stiff part too.
	cross square
	// Heat along the pipe moves in so many parts of the step.
	parts int
}

// fadesKept is how many steps without air the stretches' differences may wait: of five minutes, until
// what is slow moves anyhow.
const fadesKept = slowS / 300

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
	p := &pace{dtS: dtS, cross: newSquare(ports), parts: int(math.Ceil(dtS / r.spread.longestS))}
	for _, of := range []*[]float64{&p.wallMean, &p.topMean, &p.left, &p.feedWall, &p.feedTop, &p.meanLeft, &p.feed} {
		*of = make([]float64, n)
	}
	for a := range ports {
		copy(p.cross[a], r.m.stiff[a])
	}
	for i, rate := range r.m.rate {
		gone := -math.Expm1(-rate * dtS)
		meanLeft := gone / (rate * dtS)
		p.left[i], p.meanLeft[i], p.feed[i] = 1-gone, meanLeft, gone/rate
		wall, top := r.m.shape[wallPort][i], r.m.shape[topPort][i]
		p.wallMean[i], p.topMean[i] = wall*meanLeft, top*meanLeft
		p.feedWall[i], p.feedTop[i] = wall*p.feed[i], top*p.feed[i]
		for a, shape := range r.m.shape {
			for b, other := range r.m.shape {
				p.cross[a][b] += shape[i] * (1 - meanLeft) / rate * other[i]
			}
		}
	}
	p.fade = newFades(p.left)
	p.answer = answer{p.cross[wallPort][wallPort], p.cross[wallPort][topPort], p.cross[topPort][topPort]}
	return p
}

func newFades(left []float64) (fade [][]float64) {
	now := make([]float64, len(left))
	for i := range now {
		now[i] = 1
	}
	for range fadesKept + 1 {
		fade = append(fade, now)
		next := make([]float64, len(left))
		for i, l := range left {
			next[i] = now[i] * l
		}
		now = next
	}
	return fade
}
