package house

import (
	"slices"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

// longestS is up to where package judge counts time, s: 32 years.
const longestS = 1e9

// Restarted is what a house remembers when the program starts again after downS seconds. Every
// fan is off and its rest begins; an action in progress is dropped. Latched faults, smoke, hand
// orders and waits stay. The time down counts as elapsed only where it is believed, which takes a
// wall clock that was believed before and is now; a downS that is no time counts as 0.
//
// The grace time for lost air does not go on while nobody asks the probes.
func (s Saved) Restarted(downS float64, believed bool) Saved {
	s = s.clone()
	if !believed || !(downS > 0) {
		downS = 0
	}
	s.HeaterWaitS = max(0, s.HeaterWaitS-downS)
	s.StaggerS = max(0, s.StaggerS-downS)
	for i := range s.Probes {
		age(&s.Probes[i].State, downS)
	}
	for i := range s.Stores {
		s.Stores[i].restart(downS)
	}
	return s
}

// age lets time pass for a probe that nobody read. That is no time of standing still: the next
// reading adds the whole of AgeS to StillS, so it is taken off here.
func age(p *judge.State, downS float64) {
	was := p.AgeS
	p.AgeS = min(p.AgeS+downS, longestS)
	p.StillS -= p.AgeS - was
	p.SilentS = min(p.SilentS+downS, longestS)
	if t := &p.Trial; t.N > 0 {
		t.AgeS = min(t.AgeS+downS, longestS)
		t.StoodS = min(t.StoodS+downS, longestS)
		t.JumpS = min(t.JumpS+downS, longestS)
	}
}

func (ss *SavedStore) restart(downS float64) {
	ss.end()
	ss.Action, ss.ActionRunS, ss.ActionDueS = "", 0, 0
	if ss.Order != decide.NoOrder {
		ss.OrderLeftS -= downS
		if ss.OrderLeftS <= 0 {
			ss.Order, ss.OrderStage, ss.OrderFan, ss.OrderLeftS = decide.NoOrder, 0, "", 0
		}
	}
	for _, c := range []*judge.Carry{&ss.Soil, &ss.Root.Hottest, &ss.Root.Coldest} {
		_, *c = judge.CarrySoil(*c, judge.Verdict{}, 0, 0, downS)
	}
	for j := range ss.Fans {
		f := &ss.Fans[j]
		f.Stage, f.HeldS = 0, 0
		f.StartWaitS = max(0, f.StartWaitS-downS)
		f.RetryS = max(0, f.RetryS-downS)
	}
}

// FansOff is what a house remembers once the named fans of a store have been put off, such as by
// opening their devices anew. With its last running fan a store has come to rest.
func (s Saved) FansOff(store string, fans ...string) Saved {
	s = s.clone()
	ss := s.store(store)
	if ss == nil {
		return s
	}
	ran := ss.running()
	for j := range ss.Fans {
		f := &ss.Fans[j]
		if f.Stage > 0 && slices.Contains(fans, f.Name) {
			f.Stage, f.HeldS = 0, 0
		}
	}
	if ran && !ss.running() {
		ss.end()
	}
	return s
}
