package commission

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"loambank/config/unit"
)

// Options is how a session goes.
type Options struct {
	SettleS float64 // how long a fan runs before it is asked about, s; 0 is 180
	Display unit.Display
}

// Event is what a session is told, a few times a second.
type Event struct {
	Now     time.Time // wall time, for the baseline
	PassedS float64   // since the last event, by a clock that nobody sets, s
	Look    *Look     // nil where the daemon did not answer
	Line    *string   // what the person typed; nil is nothing
}

// Turn is what a session wants done until the next event.
type Turn struct {
	Say    []string // to be shown, one paragraph each; an empty one is a gap
	Orders []Order  // to be given to the house, in this order
	Ask    string   // the question that stands; empty while nothing is asked
	Keep   bool     // the baseline has grown
	Done   bool     // the session is over
}

// Verb is what an order asks for. The zero value gives fans back to the program.
type Verb uint8

// The closed list of what a session orders.
const (
	Auto Verb = iota
	Run
	Off
	ClearSmoke // unlatch smoke and faults, as the person has said
)

// Order is what a session has the house do. It ends by itself after ForS.
type Order struct {
	Do    Verb
	Store string // empty is all stores
	Fan   string // of Run; that one alone, empty is all of the store
	Stage uint8  // of Run; 0 is full speed
	ForS  int64  // by the house's clock
}

const (
	leaseS   = 90      // an order of a session ends by itself after this, s: the person may be gone
	renewS   = 30      // and is given anew this often, s
	attendS  = 15 * 60 // fans are not kept for a question that nobody answers for longer, s
	startS   = 60      // a fan starts within this, the stagger and others' starts included, s
	tripS    = 120     // a person does what is asked within this, s, or is asked again
	unheardS = 30      // the daemon answers within this, s
	settleS  = 180     // duct and motor settle within this; common practice, no source
)

// Session is one round through one house, as far as it has come.
type Session struct {
	o     Options
	b     Baseline
	look  *Look
	turn  Turn
	steps []Step // those that are left
	count int    // of all steps

	phase  func(Event) // what happens at the next event
	ask    string      // the question that stands
	answer func(string)
	heldS  float64 // the question has stood, or the phase has lasted, s
	hold   []Order // renewed while the step lasts
	leaseS float64 // since they were given, s

	unheardS float64
	fan      fanRun
	trip     trip
}

// Begin returns a session over the house that l shows. b is a round to go on with, whose failed steps
// are tried again, or the zero value for a new one.
func Begin(o Options, l *Look, b Baseline, now time.Time) *Session {
	if o.SettleS <= 0 {
		o.SettleS = settleS
	}
	if b.Schema == 0 {
		b = Baseline{Schema: 1, House: l.House, Begun: now}
	}
	b.Fans = slices.DeleteFunc(slices.Clone(b.Fans), func(r FanResult) bool { return r.Verdict == Failed })
	b.Interlocks = slices.DeleteFunc(slices.Clone(b.Interlocks), func(r InterlockResult) bool { return r.Verdict == Failed })
	b.Probes = slices.DeleteFunc(slices.Clone(b.Probes), func(r ProbeResult) bool { return r.Verdict == Failed })
	s := &Session{o: o, b: b, look: l}
	for _, step := range Steps(l) {
		if s.count++; !b.done(&step) {
			s.steps = append(s.steps, step)
		}
	}
	s.phase = s.opening
	return s
}

// Baseline returns what was found so far.
func (s *Session) Baseline() Baseline { return s.b }

// Update takes an event in. After a turn that is done nothing more comes.
func (s *Session) Update(e Event) Turn {
	s.turn = Turn{}
	if !s.alive(&e) {
		return s.turn
	}
	s.heldS += e.PassedS
	if e.Line != nil {
		s.hear(strings.TrimSpace(*e.Line), e)
	} else {
		s.phase(e)
	}
	s.renew(e.PassedS)
	s.turn.Ask = s.ask
	return s.turn
}

// alive ends the session where the daemon is gone or the house does not tick, or where the fans have more urgent work.
func (s *Session) alive(e *Event) bool {
	if e.Look == nil || e.Now.Sub(e.Look.At).Seconds() > 3*e.Look.TickS+10 {
		if s.unheardS += e.PassedS; s.unheardS > unheardS {
			s.stop("The house does not answer any more. Every order of this round ends by itself within a minute and a half. " +
				"See whether the daemon runs, then begin again: what is done is kept.")
			return false
		}
		e.Look = s.look
		return true
	}
	s.unheardS, s.look = 0, e.Look
	if s.look.Frost {
		s.stop("The crop is at its frost limit: the fans are needed, and this round stops. Begin again when it is warmer: what is done is kept.")
		return false
	}
	return true
}

// hear takes what the person typed: anywhere q ends the round.
func (s *Session) hear(line string, e Event) {
	switch {
	case strings.EqualFold(line, "q"):
		s.stop("Stopped; every fan goes by the program again. What is done is kept: the next round goes on from here.")
	case s.ask != "":
		answer := s.answer
		s.ask, s.answer, s.heldS = "", nil, 0
		answer(line)
	case strings.EqualFold(line, "s") && len(s.steps) > 0:
		s.conclude(Skipped, "")
	default:
		s.phase(e)
	}
}

// question asks; then is given the answer.
func (s *Session) question(text string, then func(string)) {
	s.ask, s.answer, s.heldS = text, then, 0
	s.phase = func(Event) {}
}

// enter is a question that Enter, s or another word of those given answers.
func (s *Session) enter(text string, others map[string]func(), then func()) {
	s.question(text, func(line string) {
		word := strings.ToLower(line)
		do := others[word]
		switch {
		case line == "":
			then()
		case word == "s":
			s.conclude(Skipped, "")
		case do != nil:
			do()
		default:
			s.say("%q is no answer to that.", line)
			s.enter(text, others, then)
		}
	})
}

// wait lets a phase run from the next event on.
func (s *Session) wait(phase func(Event)) { s.phase, s.heldS = phase, 0 }

// again is asked where something did not come in time.
func (s *Session) again(problem string, retry func()) {
	s.release()
	s.say("%s", problem)
	s.enter("Enter tries again, s skips it, f notes that it failed: ", map[string]func(){
		"f": func() { s.conclude(Failed, problem) },
	}, retry)
}

func (s *Session) say(format string, args ...any) {
	s.turn.Say = append(s.turn.Say, fmt.Sprintf(format, args...))
}

// gap leaves a line free.
func (s *Session) gap() { s.turn.Say = append(s.turn.Say, "") }

// order has fans held as stated until release, or until nobody renews it.
func (s *Session) order(hold ...Order) {
	const most = 12 * 3600 // of an order, s
	for i := range hold {
		hold[i].ForS = int64(min(most, leaseS*max(1, s.look.Speed)))
	}
	s.hold, s.leaseS = hold, 0
	s.turn.Orders = append(s.turn.Orders, hold...)
}

// renew keeps orders alive while a step lasts and the person attends to it.
func (s *Session) renew(passedS float64) {
	if len(s.hold) == 0 || s.heldS > attendS {
		return
	}
	if s.leaseS += passedS; s.leaseS >= renewS {
		s.order(s.hold...)
	}
}

// release gives the fans back.
func (s *Session) release() {
	if len(s.hold) > 0 {
		s.hold = nil
		s.turn.Orders = append(s.turn.Orders, Order{Do: Auto})
	}
}

// stop ends the session with the fans given back.
func (s *Session) stop(text string) {
	s.hold, s.ask, s.answer = nil, "", nil
	s.say("%s", text)
	s.turn.Orders = []Order{{Do: Auto}}
	s.turn.Keep, s.turn.Done = len(s.steps) < s.count, true
	s.turn.Ask = ""
}

// opening says what a person must know before touching anything.
func (s *Session) opening(Event) {
	if len(s.steps) == 0 && !s.b.Finished.IsZero() {
		s.stop("Every step of this round is done.")
		return
	}
	s.say("Before anything is touched: lock out the disconnect of a fan before hands or tools come near it, " +
		"and unlock it only with everybody clear. Mains wiring is for a licensed electrician. loambank is a " +
		"convenience control, not a safety device.")
	s.gap()
	s.say("Fans start and stop during this round. They go by the program again when it ends, at q, at Ctrl-C, " +
		"and by themselves within a minute and a half when this command is gone. Frost protection and interlocks " +
		"win over the round at any time.")
	s.gap()
	if done := s.count - len(s.steps); done > 0 {
		s.say("The round of %s goes on: %d of %d steps are done.", s.b.Begun.Format("2 January"), done, s.count)
	} else {
		s.say("%d steps: every fan alone, every interlock tripped, every probe pulled.", s.count)
	}
	s.question("Is everybody clear of the fans? Enter begins, q leaves: ", func(line string) {
		if line != "" {
			s.stop("Not begun.")
			return
		}
		s.next()
	})
}

// next begins the next step.
func (s *Session) next() {
	if len(s.steps) == 0 {
		s.wait(s.finish)
		return
	}
	step := &s.steps[0]
	s.gap()
	s.say("%d of %d: %s.", s.count-len(s.steps)+1, s.count, step)
	switch step.Kind {
	case Fan:
		s.beginFan()
	case Interlock:
		s.beginInterlock(step)
	case Probe:
		s.beginProbe()
	}
}

// conclude ends the step with a verdict, and begins the next.
func (s *Session) conclude(v Verdict, problem string) {
	s.release()
	step := &s.steps[0]
	switch step.Kind {
	case Fan:
		s.b.Fans = append(s.b.Fans, s.fan.result(step, v, problem))
	case Interlock:
		s.b.Interlocks = append(s.b.Interlocks, s.trip.interlock(step, v, problem))
	case Probe:
		s.b.Probes = append(s.b.Probes, s.trip.probe(step, v, problem))
	}
	s.fan, s.trip = fanRun{}, trip{}
	s.turn.Keep = true
	switch v {
	case Passed:
		s.say("Passed.")
	case Failed:
		s.say("Failed: %s", problem)
	default:
		s.say("Skipped.")
	}
	s.steps = s.steps[1:]
	s.ask, s.answer = "", nil
	s.next()
}

// finish ends a round with all its steps done.
func (s *Session) finish(e Event) {
	for i := range s.look.Stores {
		if store := &s.look.Stores[i]; store.Learned != nil && store.Learned.known() {
			s.b.Stores = append(s.b.Stores, StoreResult{Store: store.Name, Learned: *store.Learned})
		}
	}
	s.b.Finished = e.Now
	failed, then := s.b.Count(Failed), ""
	if failed > 0 {
		then = " Mend what failed, then make the round anew."
	}
	s.stop(fmt.Sprintf("The round is complete: %d passed, %d failed, %d skipped. It is kept as the baseline of %s; "+
		"a fan that strays from it by a fifth is warned of.%s", s.b.Count(Passed), failed, s.b.Count(Skipped), s.b.House, then))
}

// others are orders that keep off all stores but one.
func (s *Session) others(store string) (all []Order) {
	for i := range s.look.Stores {
		if name := s.look.Stores[i].Name; name != store {
			all = append(all, Order{Do: Off, Store: name})
		}
	}
	return slices.Clip(all)
}
