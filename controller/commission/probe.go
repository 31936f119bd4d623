package commission

import "math"

func (s *Session) beginProbe() {
	s.enter("Enter, then pull its plug; s skips it: ", nil, s.pull)
}

func (s *Session) pull() {
	step := &s.steps[0]
	s.trip = trip{}
	switch p := s.look.probe(step.Probe); {
	case p == nil:
		s.again("The settings do not have this probe any more.", s.pull)
		return
	case p.lost(s.look.TickS):
		s.again("It is not read even now: look at its plug and wiring.", s.pull)
		return
	}
	s.say("Now: pull the plug.")
	s.wait(s.pulling)
}

// ticksS is the time of three ticks of the house, or a person's if that is longer, s.
func (s *Session) ticksS() float64 { return math.Max(tripS, 3*s.look.TickS) }

func (s *Session) pulling(Event) {
	step := &s.steps[0]
	p := s.look.probe(step.Probe)
	switch {
	case p != nil && p.lost(s.look.TickS):
		lostS := s.heldS
		s.trip.lostS = &lostS
		s.say("The house misses it. Plug it back.")
		s.wait(s.plugging)
	case s.heldS > s.ticksS():
		s.again("The house still reads it: another plug was pulled, or two probes have changed places.", s.pull)
	}
}

func (s *Session) plugging(Event) {
	p := s.look.probe(s.steps[0].Probe)
	switch {
	case p != nil && !p.lost(s.look.TickS):
		s.conclude(Passed, "")
	case s.heldS > s.ticksS():
		s.again("It has not come back: look at its plug.", func() { s.wait(s.plugging) })
	}
}
