package greenhouse

import "loambank/controller/physics"

// pipeShare is how far air is first taken to go towards the pipes' wall; the soil finds the truth.
const pipeShare = 0.8

// moisture finds the humidity with which leaves, soil, cover and pipes exchange: the one in which
// all of them, and what leaks and the vents let in, would leave the air.
func (h *House) moisture(p *passage) {
	t, held, open := &h.terms, h.airKg*p.perS, p.leakKgS+h.st.VentKgS
	g := held + open + t.leafKgS
	sum := held*h.st.Vapour + open*p.o.Vapour + t.leafKgS*t.leaf.w
	if p.wet {
		g += t.innerKgS
		sum += t.innerKgS * t.inner.w
	}
	for i := range h.floors {
		f := &h.floors[i]
		g += f.vapourKgS
		sum += f.vapourKgS * f.damp.w
		if kgS := f.drive.DryAirKgS; kgS > 0 {
			if wall := physics.TabledSatHumidityRatio(h.st.Wall[i], p.o.PressurePa); wall < h.st.Vapour {
				p.pipesKgS += kgS * (h.st.Vapour - wall)
				g += pipeShare * kgS
				sum += pipeShare * kgS * wall
			}
		}
	}
	p.guessW = sum / g
	h.evaporate(p)
}

// evaporate finds what leaves the soil. Dew on it takes no more water from the air than there is, with
// what the pipes may draw; the rest is for the other surfaces.
func (h *House) evaporate(p *passage) {
	var sinks float64
	for i := range h.floors {
		f := &h.floors[i]
		f.evaporatesKgS = f.vapourKgS * (f.damp.w - p.guessW)
		sinks += positive(-f.evaporatesKgS)
	}
	p.mostKgS = 0.5 * positive(h.airKg*p.perS*h.st.Vapour-p.pipesKgS)
	if sinks > p.mostKgS {
		for i := range h.floors {
			if e := &h.floors[i].evaporatesKgS; *e < 0 {
				*e *= p.mostKgS / sinks
			}
		}
		sinks = p.mostKgS
	}
	p.mostKgS -= sinks
}

func positive(v float64) float64 { return max(0, v) }
