package controller

import (
	"context"
	"math"

	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
)

// blindForS is how long a house ticks without readings after a mistake of the program, s. What
// broke its tick was most likely a reading.
const blindForS = 300

// mending is what a house went through after its tick broke off. The zero value is that none did.
type mending struct {
	leftS float64 // it still ticks without readings
	count int     // of ticks that broke off since the start
	twice bool    // it broke off without readings too
}

// blind lets stepS pass and reports whether the house ticks without readings.
func (m *mending) blind(stepS float64) bool {
	m.leftS = max(0, m.leftS-max(0, stepS))
	return m.leftS > 0
}

// mend puts every fan of a house off whose tick broke off, and lets it go on with what it
// remembered, in its fallback duty. Where it breaks off in that too, it begins anew, fans off.
func (r *runner) mend(ctx context.Context, fault any, stack []byte) {
	m := &r.mended
	again := m.leftS > 0
	m.count++
	if !again || !m.twice {
		r.log.Error("tick broke off, a mistake of the program; fans off, then fallback duty",
			keyError, fault, "count", m.count, keyStack, string(stack))
	}
	drive(ctx, r.fans, off)
	for _, s := range r.inbox.giveBack() {
		r.log.Error("order is given up: each tick with it breaks off", keyOrder, s.what, keyBy, s.who)
		r.fault("order given up, each tick with it broke off: %s", s.what)
	}
	var saved house.Saved
	if !again {
		saved = r.memory.Load().saved
	}
	saved = saved.Restarted(0, false)
	saved.Probes = nil // their last readings may be what broke it
	saved.AirLostS = math.Max(saved.AirLostS, r.s.House.Decide.GraceS+1)
	r.house = house.Restore(&r.s.House, saved)
	r.begins(history.Recovered, saved)
	r.fault("tick broke off, a mistake of the program: %v", fault)
	if m.twice = again; again {
		m.leftS = max(0, m.leftS-r.tick.Seconds()) // no step passes while each breaks off
	} else {
		m.leftS = blindForS
	}
	r.begun, r.bookedS, r.inForce = false, 0, decide.Decision{Window: -1}
	r.board.gate.tell(r.place, r.board.monotonicS(r.board.clock.Now()), claim{}, false)
}
