package controller

import (
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/learn"
)

// lookHours is from how many hours of teaching on a learned airflow is held against another.
const lookHours = 20

// look is the house as a tick saw it, its fans at the stages of d.
func (r *runner) look(result *house.Result, d *decide.Decision) commission.Look {
	s := &r.s.House.Decide
	a := &result.Decision.Alarms
	l := commission.Look{
		House: r.s.House.Name, Smoke: r.house.Decided().Smoke,
		Frost: a.FrostNoHelp || a.HandOffFrost,
	}
	for i := range s.Stores {
		l.Frost = l.Frost || result.Decision.Stores[i].State == decide.Frost
		l.Stores = append(l.Stores, r.lookStore(result, d, i))
	}
	for _, f := range r.fans {
		l.Stores[f.store].Fans[f.index].Obeys = f.err == nil
	}
	for i := range r.s.House.Probes {
		p, v := &r.s.House.Probes[i], &result.Verdicts[i]
		x := commission.ProbeLook{Name: p.Name, Role: p.Judge.Role, Place: p.Judge.Place, Usable: v.Quality.Usable(), Value: v.Value, AgeS: v.AgeS}
		if p.Store >= 0 {
			x.Store = s.Stores[p.Store].Name
		}
		l.Probes = append(l.Probes, x)
	}
	return l
}

func (r *runner) lookStore(result *house.Result, d *decide.Decision, i int) commission.StoreLook {
	s, in, is := &r.s.House.Decide.Stores[i], &result.Inputs.Stores[i], &result.Decision.Stores[i]
	reason := is.Reason
	if is.Waiting.Code != decide.NoReason && !is.Running() {
		reason = is.Waiting
	}
	x := commission.StoreLook{
		Name: s.Name, Why: r.speaker.Why(&r.s.House.Decide, reason), DuctInC: readC(in.DuctIn), DuctOutC: readC(in.DuctOut),
		Learned: flowOf(r.learnt.Values(&r.learns, i)),
	}
	for j := range s.Fans {
		f := &s.Fans[j]
		fan := commission.FanLook{
			Name: f.Name, Stage: d.Stores[i].Stages[j], Stages: uint8(len(f.Levels)), StatedW: f.PowerW, StatedFlowM3s: f.FlowM3s,
		}
		if w := in.Fans[j]; w.PowerKnown {
			fan.PowerW = &w.PowerW
		}
		x.Fans = append(x.Fans, fan)
	}
	return x
}

func readC(t decide.Temperature) *float64 {
	if !t.Quality.Usable() {
		return nil
	}
	c := float64(t.C)
	return &c
}

// flowOf is a learned airflow, nil while it is what was stated.
func flowOf(v learn.Values) *commission.Flow {
	if v.FlowM3s.Hours < lookHours {
		return nil
	}
	return &commission.Flow{M3s: v.FlowM3s.Value, SE: v.FlowM3s.SE}
}
