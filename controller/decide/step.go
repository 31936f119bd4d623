package decide

import (
	"math"
	"time"

	"loambank/config/unit"
	"loambank/controller/judge"
)

// Step answers one tick of one house, all its stores. It never blocks, reads no clock and cannot
// fail: a missing reading is an input, not an error. in.StepS is the time that counts; now is
// only the calendar, so that a clock jump or a restart does not bend a minimum run.
//
// The returned State goes into the next call together with the same Settings. After a change of
// settings house.Restore makes it anew.
func Step(s Settings, st State, in Inputs, now time.Time) (d Decision, next State) {
	st.Advance(&s, &in, now, &d)
	return d, st
}

// Advance is Step in place: it moves the state on and overwrites d with the decision. A trial decides
// many million times.
func (st *State) Advance(s *Settings, in *Inputs, now time.Time, d *Decision) {
	*d = Decision{}
	t := tick{s: s, in: in, st: st, d: d, unix: now.Unix()}
	t.elapse()
	t.calendar(now)
	t.look()

	var wishes [MaxStores]wish
	for i := range s.Stores {
		t.on[i] = st.Stores[i].running()
		t.faults(i)
		t.hand(i)
		t.rule(i, &wishes[i])
	}
	order := t.order(&wishes)
	for _, i := range order[:len(s.Stores)] {
		if t.shiftK != 0 && wishes[i].run && !t.on[i] {
			t.rule(i, &wishes[i]) // what earlier stores take or give is no longer in the air
		}
		t.act(i, &wishes[i])
	}
	t.alarms()
	t.d.Window, t.d.Prices = st.Slot.Window, st.Slot.Prices
	t.d.HeaterWouldRun = s.Heater.Present && t.airKnown && t.heaterWouldRun()
	st.LastUnix = t.unix
}

// tick is the working memory of one Step.
type tick struct {
	s  *Settings
	p  *Policy
	in *Inputs
	st *State
	d  *Decision

	unix int64
	dt   float64         // time that passed, s: finite, not negative
	on   [MaxStores]bool // a fan of the store ran up to now

	airKnown bool
	air      unit.Celsius // crop air
	low      unit.Celsius // lowest usable crop air
	intake   unit.Celsius // air the fans take in
	intakeOK bool
	humid    bool    // its vapour is known
	vapour   float64 // its humidity ratio, kg/kg, once it was asked for

	powerLeftW float64     // what fans may still draw
	shiftK     unit.Kelvin // how far stores decided before move the air, not yet measured
	frostMet   bool        // crop air is at its frost limit
}

// longestStepS bounds one tick: a longer, negative or undefined one is no time that passed.
const longestStepS = 366 * 86400

// elapse moves every clock in the state by the tick's monotonic time.
func (t *tick) elapse() {
	dt := t.in.StepS
	if !(dt > 0) || dt > longestStepS {
		dt = 0
	}
	t.dt = dt
	st := t.st
	st.StaggerS = max(0, st.StaggerS-dt)
	st.HeaterWaitS = max(0, st.HeaterWaitS-dt)
	for i := range t.s.Stores {
		t.elapseStore(&st.Stores[i], len(t.s.Stores[i].Fans), dt)
	}
	st.AirLostS += dt
}

func (t *tick) elapseStore(ss *StoreState, fans int, dt float64) {
	running := false
	for j := range fans {
		f := &ss.Fans[j]
		running = running || f.Stage > 0
		f.HeldS += dt
		f.StartWaitS = max(0, f.StartWaitS-dt)
		f.RetryS = max(0, f.RetryS-dt)
	}
	ss.StageS += dt
	if running {
		ss.RunS += dt
	} else {
		ss.RestS += dt
	}
	if running && ss.Doing == Dry {
		ss.DryS += dt
	}
	if running && ss.Doing == Action {
		ss.ActionRunS -= dt
	}
	ss.ActionDueS -= dt
	if ss.Order != NoOrder {
		ss.OrderLeftS -= dt
		if ss.OrderLeftS <= 0 {
			ss.endOrder()
		}
	}
}

// look reads the inputs that all stores share.
func (t *tick) look() {
	in, st := t.in, t.st
	t.p = &t.s.Policies[st.Slot.Window+1]
	t.airKnown = in.CropAir.Quality.Usable() && finite(float64(in.CropAir.C))
	if t.airKnown {
		t.air, t.low = in.CropAir.C, in.CropAir.C
		if l := in.CropLow; l.Quality.Usable() && finite(float64(l.C)) && l.C < t.air {
			t.low = l.C
		}
		st.AirLostS = 0
		t.lowest()
	}
	t.intakeOK = in.IntakeAir.Quality.Usable() && finite(float64(in.IntakeAir.C))
	if t.intakeOK {
		t.intake = in.IntakeAir.C
	}
	if h := in.Humidity; t.intakeOK && h.Quality == judge.Good && h.V > 0 && h.V <= 1 {
		t.humid = true
	}
	if in.HeaterOn == On {
		st.HeaterWaitS = t.s.Heater.RestS
	}
	if in.Smoke == On {
		st.Smoke = true
	}
	if in.ClearFault {
		st.Smoke = in.Smoke == On
	}
	t.frostMet = t.p.Crop && t.airKnown && t.low <= t.p.Frost
	t.powerLeftW = t.powerLimit()
}

// lowest keeps the lowest crop air since sunset.
func (t *tick) lowest() {
	low, slot := &t.st.Low, &t.st.Slot
	if slot.Believed && slot.Sunset != 0 && low.Since != slot.Sunset {
		*low = Low{Since: slot.Sunset}
	}
	if !low.Known || t.low < low.C {
		low.C, low.Unix, low.Known = t.low, t.unix, true
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// alarms gathers the causes for which a person should be called.
func (t *tick) alarms() {
	a := &t.d.Alarms
	a.Smoke = t.st.Smoke
	a.AirLost = !t.airKnown && t.st.AirLostS > t.s.GraceS
	helped := false
	for i := range t.s.Stores {
		d := &t.d.Stores[i]
		helped = helped || (d.State == Frost || d.State == Discharge) && d.Running() ||
			d.Waiting.Code == WaitStagger || d.Waiting.Code == WaitGrant // it follows in seconds
		for j := range t.s.Stores[i].Fans {
			fault := t.st.Stores[i].Fans[j].Fault
			a.FanFault = a.FanFault || fault == DoesNotStart || fault == StuckOn || t.in.Stores[i].Fans[j].Down
		}
	}
	a.FrostNoHelp = t.frostMet && !helped && !a.HandOffFrost
}
