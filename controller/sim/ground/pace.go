package ground

import "math"

// pace is what a step of one length does to a Reduced store.
type pace struct {
	dtS    float64
	answer answer
	line   []line
	// As in line, by mode.
	wallMean, left, feed []float64
	// fade[n] is what is left after n steps.
	fade [][]float64
	// Port by port, the mean over the step for each W/m at another, the stiff part too.
	cross square
	// Heat along the pipe moves in so many parts of the step.
	parts int
}

// line is what a step does to one mode.
type line struct {
	mean              [sidePort + 1]float64 // what its start adds to a port's mean over the step
	left              float64               // of it after the step
	feedWall, feedTop float64               // what heat held over the step adds, for each W/m
}

// fadesKept is how many steps without air the stretches' differences may wait.
const fadesKept = 12

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
	p := &pace{
		dtS: dtS, line: make([]line, n), wallMean: make([]float64, n), left: make([]float64, n), feed: make([]float64, n),
		cross: newSquare(ports), parts: int(math.Ceil(dtS / r.spread.longestS)),
	}
	for a := range ports {
		copy(p.cross[a], r.m.stiff[a])
	}
	for i, rate := range r.m.rate {
		gone := -math.Expm1(-rate * dtS)
		meanLeft := gone / (rate * dtS)
		l := &p.line[i]
		l.left, p.feed[i] = 1-gone, gone/rate
		l.feedWall, l.feedTop = p.feed[i]*r.m.shape[wallPort][i], p.feed[i]*r.m.shape[topPort][i]
		for a := range l.mean {
			l.mean[a] = r.m.shape[a][i] * meanLeft
		}
		p.wallMean[i], p.left[i] = l.mean[wallPort], l.left
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
