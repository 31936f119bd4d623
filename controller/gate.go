package controller

import (
	"sync"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
)

// gate shares the board's line between its houses: one start at a time over the whole board, and
// all fans together under the board's power. What it grants is an input of a house's tick. It is
// safe from any goroutine.
type gate struct {
	staggerS   float64 // least time between two starts on the board
	maxW       float64 // 0 is no limit
	generatorW float64 // the same on the generator

	mu     sync.Mutex
	freeS  float64 // monotonic time from which another start is allowed
	holder int     // the house that is in its tick with leave to start, or nobody
	claims []claim
	asked  bool    // a house has asked
	beganS float64 // when the first did
}

const (
	nobody    = -1
	roundingS = 1e-6 // of a house's own sum of its ticks
	// firstTicksS is the longest that all houses take for their first tick, s.
	firstTicksS = 3
)

// claim is what one house told after its last tick.
type claim struct {
	drawnW      float64
	wants       bool        // a fan waits for leave or for power
	frost       unit.Kelvin // its crop air over its frost limit: the lower, the sooner it is served
	onGenerator bool
	told        bool // by the house itself, after a tick
}

func newGate(houses int, staggerS, maxW, generatorW float64) *gate {
	return &gate{
		staggerS: staggerS, maxW: maxW, generatorW: generatorW,
		holder: nobody, claims: make([]claim, houses),
	}
}

// next returns the gate for these settings. The time until the next start goes on from g, which may
// be nil.
func (g *gate) next(s *config.Settings) *gate {
	staggerS := 0.0
	for i := range s.Houses {
		staggerS = max(staggerS, s.Houses[i].House.Decide.StaggerS)
	}
	n := newGate(len(s.Houses), staggerS, s.MaxPowerW, s.GeneratorPowerW)
	if g != nil {
		n.freeS = g.freeS
	}
	return n
}

// ask returns what house i may do in the tick that is at nowS by the monotonic clock. A house
// that asks must tell.
func (g *gate) ask(i int, nowS float64) decide.Grant {
	g.mu.Lock()
	defer g.mu.Unlock()
	if !g.asked {
		g.asked, g.beganS = true, nowS
	}
	open := g.holder == nobody && nowS >= g.freeS-roundingS && !g.unheard(i, nowS) && !g.needier(i)
	if open {
		g.holder = i
	}
	grant := decide.Grant{Closed: !open}
	limit := g.limit()
	if limit <= 0 {
		return grant
	}
	grant.Limited = true
	drawn, before := 0.0, 0.0 // of the others, and of those served before this one
	for k := range g.claims {
		if k == i {
			continue
		}
		drawn += g.claims[k].drawnW
		if g.claims[k].frost < g.claims[i].frost || g.claims[k].frost == g.claims[i].frost && k < i {
			before += g.claims[k].drawnW
		}
	}
	own := g.claims[i].drawnW
	switch {
	case drawn+own > limit: // the limit has fallen: those last served give way
		grant.PowerW = max(0, min(own, limit-before))
	case open:
		grant.PowerW = limit - drawn
	default:
		grant.PowerW = own
	}
	return grant
}

// limit is what all fans may draw together now, W; 0 is no limit.
func (g *gate) limit() float64 {
	for _, c := range g.claims {
		if c.onGenerator && g.generatorW > 0 && (g.maxW <= 0 || g.generatorW < g.maxW) {
			return g.generatorW
		}
	}
	return g.maxW
}

// unheard reports whether another house is still in its first tick. It may be the one that is to be
// served first, such as after a power cut.
func (g *gate) unheard(i int, nowS float64) bool {
	if nowS-g.beganS >= firstTicksS {
		return false
	}
	for k, c := range g.claims {
		if k != i && !c.told {
			return true
		}
	}
	return false
}

// needier reports whether another house waits that is nearer its frost limit than house i.
func (g *gate) needier(i int) bool {
	for k, c := range g.claims {
		if k != i && c.wants && c.frost < g.claims[i].frost {
			return true
		}
	}
	return false
}

// draws notes what the fans of house i draw before its first tick.
func (g *gate) draws(i int, drawnW float64) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.claims[i].drawnW = drawnW
}

// tell ends the tick of house i, which was at nowS: what it now draws and wants, and whether a fan started.
func (g *gate) tell(i int, nowS float64, c claim, started bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.claims[i] = c
	g.claims[i].told = true
	if g.holder == i {
		g.holder = nobody
	}
	if started {
		g.freeS = nowS + g.staggerS
	}
}
