package commission

import (
	"fmt"
	"strings"

	"loambank/config/unit"
)

// fanRun is one speed of one fan, as far as it was tried.
type fanRun struct {
	ranS           float64
	power, in, out mean
	direction      string
	flowM3s        *float64
	readings       string
}

// mean adds up a reading that is not always there. The zero value has none.
type mean struct {
	sum float64
	n   int
}

func (m *mean) add(v *float64) {
	if v != nil {
		m.sum += *v
		m.n++
	}
}

func (m *mean) value() *float64 {
	if m.n == 0 {
		return nil
	}
	v := m.sum / float64(m.n)
	return &v
}

func (r *fanRun) result(step *Step, v Verdict, problem string) FanResult {
	return FanResult{
		Store: step.Store, Fan: step.Fan, Stage: step.Stage, Full: step.Full, Verdict: v, Problem: problem,
		Direction: r.direction, FlowM3s: r.flowM3s, Readings: r.readings,
		PowerW: r.power.value(), DuctInC: r.in.value(), DuctOutC: r.out.value(),
	}
}

func (s *Session) beginFan() {
	s.enter("Go where its air comes out, clear of the fan. Enter runs it alone, s skips it: ", nil, s.startFan)
}

// startFan has the fan of the step alone, the other stores of the house off.
func (s *Session) startFan() {
	step := &s.steps[0]
	s.fan = fanRun{}
	s.order(append(s.others(step.Store), Order{Do: Run, Store: step.Store, Fan: step.Fan, Stage: step.Stage})...)
	s.say("It runs for %s before it is asked about; s skips it.", s.o.Display.Duration(s.o.SettleS))
	s.wait(s.starting)
}

// runsAlone says why the fan of the step does not run alone; empty is that it does.
func (s *Session) runsAlone() string {
	step := &s.steps[0]
	f := s.look.fan(step.Store, step.Fan)
	switch {
	case f == nil:
		return "The settings do not have this fan any more."
	case !f.Obeys:
		return "The fan takes no orders: look at its relay and its entry in the settings."
	case f.Stage != step.Stage:
		return fmt.Sprintf("The fan does not run as ordered. The house says: %s.", s.look.store(step.Store).Why)
	}
	for _, name := range s.look.runningOf("") {
		if name != step.Store+"/"+step.Fan {
			return fmt.Sprintf("Fan %s runs too, or takes no orders.", name)
		}
	}
	return ""
}

func (s *Session) starting(Event) {
	problem := s.runsAlone()
	switch {
	case problem == "":
		s.wait(s.settling)
	case s.heldS > startS:
		s.again(problem, s.startFan)
	}
}

// settling waits, and takes what is measured in the second half.
func (s *Session) settling(e Event) {
	step := &s.steps[0]
	if problem := s.runsAlone(); problem != "" {
		s.again(problem, s.startFan)
		return
	}
	s.fan.ranS += e.PassedS
	store := s.look.store(step.Store)
	if 2*s.fan.ranS >= s.o.SettleS {
		s.fan.power.add(s.look.fan(step.Store, step.Fan).PowerW)
		s.fan.in.add(store.DuctInC)
		s.fan.out.add(store.DuctOutC)
	}
	if s.fan.ranS < s.o.SettleS {
		return
	}
	s.say("%s", s.measured())
	s.askDirection()
}

// measured tells what the probes say of the fan.
func (s *Session) measured() string {
	d, step := s.o.Display, &s.steps[0]
	var parts []string
	f := s.look.fan(step.Store, step.Fan)
	if w := s.fan.power.value(); w != nil {
		text := "it draws " + d.Power(*w)
		if step.Full && f != nil {
			text += ", stated are " + d.Power(f.StatedW)
		}
		parts = append(parts, text)
	}
	in, out := s.fan.in.value(), s.fan.out.value()
	if in != nil {
		parts = append(parts, "air goes in at "+d.Temperature(unit.Celsius(*in)))
	}
	if out != nil {
		parts = append(parts, "air comes out at "+d.Temperature(unit.Celsius(*out)))
	}
	if len(parts) == 0 {
		return "No probe tells its power or the temperatures of its air."
	}
	return "Measured: " + strings.Join(parts, "; ") + "."
}

// beside tells a measured airflow beside the stated one.
func (s *Session) beside(flowM3s float64) string {
	d, step := s.o.Display, &s.steps[0]
	f := s.look.fan(step.Store, step.Fan)
	if !step.Full || f == nil {
		return "That is " + d.Flow(flowM3s) + "."
	}
	text := "That is " + d.Flow(flowM3s) + "; stated are " + d.Flow(f.StatedFlowM3s) + "."
	if strays(f.StatedFlowM3s, flowM3s) {
		text += fmt.Sprintf(" Put what you measured into the settings: flow = %q, flow_is = \"measured\".", d.Flow(flowM3s))
	}
	return text
}

func (s *Session) askDirection() {
	s.question("Does air come out at the far end of the pipes, the right way? y, n, or s for not seen: ", func(line string) {
		switch strings.ToLower(line) {
		case "y", "yes":
			s.fan.direction = "right"
		case "n", "no":
			s.fan.direction = "wrong"
		case "s":
		default:
			s.say("%q is no answer to that.", line)
			s.askDirection()
			return
		}
		s.askAirflow()
	})
}

func (s *Session) askAirflow() {
	s.question("Airflow (800 cfm; 650 640 fpm in 12 in; Enter for none): ", func(line string) {
		if line != "" && !strings.EqualFold(line, "s") {
			flow, err := ParseAirflow(line)
			if err != nil {
				s.say("%v.", err)
				s.askAirflow()
				return
			}
			s.fan.flowM3s, s.fan.readings = &flow, line
			s.say("%s", s.beside(flow))
		}
		if s.fan.direction == "wrong" {
			s.conclude(Failed, "the air goes the wrong way. Lock out the disconnect, and have an electrician turn the fan or change its wiring.")
			return
		}
		s.conclude(Passed, "")
	})
}
