package commission

import (
	"fmt"
	"time"

	"loambank/controller/judge"
)

// trip is one interlock or probe, as far as it was tried.
type trip struct {
	at    time.Time // of the tick that first read it on
	lagS  *float64
	lostS *float64
}

func (t *trip) interlock(step *Step, v Verdict, problem string) InterlockResult {
	return InterlockResult{Probe: step.Probe, Store: step.Store, Role: step.Role, Verdict: v, Problem: problem, LagS: t.lagS}
}

func (t *trip) probe(step *Step, v Verdict, problem string) ProbeResult {
	return ProbeResult{Probe: step.Probe, Store: step.Store, Role: step.Role, Verdict: v, Problem: problem, LostS: t.lostS}
}

// actS is within which an interlock acts once it is read, s; the rules of the house.
const actS = 2

// how says how a contact is tripped, and put back.
func how(r judge.Role) (tripped, restored string) {
	switch r {
	case judge.Smoke:
		return "Press the test button of the smoke detector. The bell may sound.", "Let go of the button, and clear the air of the detector."
	case judge.PipeWater:
		return "Put the float or the sensor in the pipe under water.", "Take it out of the water and dry it."
	case judge.HandSwitch:
		return "Turn the switch at the panel to off.", "Turn the switch back to automatic."
	case judge.HeaterOn:
		return "Turn the heater's thermostat up until the heater runs.", "Turn the thermostat back."
	}
	return "Open the side or the vent.", "Close it again."
}

func (s *Session) beginInterlock(step *Step) {
	text := "Enter begins, s skips it: "
	if stops(step.Role) {
		text = "Enter runs the fans, so that it can be seen to stop them; s skips it: "
	}
	s.enter(text, nil, s.arm)
}

// arm has fans run that the interlock is to stop.
func (s *Session) arm() {
	step := &s.steps[0]
	s.trip = trip{}
	switch p := s.look.probe(step.Probe); {
	case p == nil:
		s.again("The settings do not have this probe any more.", s.arm)
		return
	case !p.Usable:
		s.again("It cannot be read: look at its plug and wiring.", s.arm)
		return
	case p.on():
		s.again("It reads on already: put it back first.", s.arm)
		return
	}
	if !stops(step.Role) {
		s.askTrip()
		return
	}
	s.order(Order{Do: Run, Store: step.Store})
	s.wait(s.armed)
}

func (s *Session) askTrip() {
	tripped, _ := how(s.steps[0].Role)
	s.say("Now: %s", tripped)
	s.wait(s.tripping)
}

func (s *Session) armed(Event) {
	step := &s.steps[0]
	switch {
	case len(s.look.runningOf(step.Store)) > 0:
		s.askTrip()
	case s.heldS > startS:
		s.again("No fan runs that it could stop. The house says: "+s.look.why(step.Store)+".", s.arm)
	}
}

// tripping waits until the house reads it on, and then for the fans.
func (s *Session) tripping(Event) {
	step := &s.steps[0]
	p := s.look.probe(step.Probe)
	running := s.look.runningOf(step.Store)
	switch {
	case p == nil || s.trip.at.IsZero() && !p.on():
		if s.heldS > tripS {
			s.again("The house has not seen it trip: look at its wiring, and whether it opens or closes when it trips.", s.arm)
		}
		return
	case s.trip.at.IsZero():
		s.trip.at, s.heldS = s.look.At, 0
	}
	if !stops(step.Role) {
		s.say("Seen.")
		s.askRestore()
		return
	}
	lagS := s.look.At.Sub(s.trip.at).Seconds()
	switch {
	case len(running) == 0:
		s.trip.lagS = &lagS
		s.say("Seen: the fans are off. The house says: %s.", s.look.why(step.Store))
		s.askRestore()
	case s.heldS > actS:
		s.again(fmt.Sprintf("It is read, and fan %s runs on.", running[0]), s.arm)
	}
}

// askRestore waits for the contact to be put back. Smoke is unlatched only when the person says so.
func (s *Session) askRestore() {
	s.release()
	step := &s.steps[0]
	_, restored := how(step.Role)
	s.say("Now: %s", restored)
	if step.Role != judge.Smoke {
		s.wait(s.restoring)
		return
	}
	s.enter("Enter when that is done: it clears the smoke, and the house's latched faults with it: ", nil, func() {
		s.turn.Orders = append(s.turn.Orders, Order{Do: ClearSmoke})
		s.wait(s.restoring)
	})
}

func (s *Session) restoring(Event) {
	step := &s.steps[0]
	p := s.look.probe(step.Probe)
	switch {
	case p != nil && p.Usable && !p.on() && !(step.Role == judge.Smoke && s.look.Smoke):
		s.conclude(Passed, "")
	case s.heldS > tripS:
		s.again("It still reads on, or still holds the fans.", s.askRestore)
	}
}
