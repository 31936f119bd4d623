package commission

import (
	"fmt"

	"loambank/controller/judge"
)

// Kind is what a step tries. The zero value is a fan.
type Kind uint8

// The closed list of kinds, in the order in which they are tried.
const (
	Fan Kind = iota
	Interlock
	Probe
)

// Step is one thing that is tried.
type Step struct {
	Kind  Kind
	Store string // of the fan or the probe; empty for a probe of the house
	Fan   string
	Stage uint8 // of the fan, 1 is the slowest
	Full  bool  // Stage is its full speed
	Only  bool  // it has no other speed
	Probe string
	Role  judge.Role
}

// interlocks are the roles that are tripped.
var interlocks = map[judge.Role]bool{
	judge.Smoke: true, judge.PipeWater: true, judge.HandSwitch: true, judge.HeaterOn: true, judge.VentOpen: true,
}

// stops reports whether an interlock stops fans, also those that a person runs; the others only bar
// what the rules would start.
func stops(r judge.Role) bool {
	return r == judge.Smoke || r == judge.PipeWater || r == judge.HandSwitch
}

// Steps is what there is to try in a house: three speeds of every fan at most, the full one first, then
// interlocks, then the probes that can be missed. A pulled contact reads as an open one, and is not.
func Steps(l *Look) (all []Step) {
	for i := range l.Stores {
		s := &l.Stores[i]
		for j := range s.Fans {
			n := s.Fans[j].Stages
			for _, stage := range speeds(n) {
				all = append(all, Step{Kind: Fan, Store: s.Name, Fan: s.Fans[j].Name, Stage: stage, Full: stage == n, Only: n == 1})
			}
		}
	}
	for _, p := range l.Probes {
		if interlocks[p.Role] {
			all = append(all, Step{Kind: Interlock, Store: p.Store, Probe: p.Name, Role: p.Role})
		}
	}
	for _, p := range l.Probes {
		if !p.Role.Contact() {
			all = append(all, Step{Kind: Probe, Store: p.Store, Probe: p.Name, Role: p.Role})
		}
	}
	return all
}

// speeds are the stages of a fan of n that are tried: the full one, the slowest, and one between.
func speeds(n uint8) []uint8 {
	switch n {
	case 0:
		return nil
	case 1:
		return []uint8{1}
	case 2:
		return []uint8{2, 1}
	}
	return []uint8{n, n/2 + n%2, 1}
}

// String names the step as people know it.
func (s *Step) String() string {
	switch s.Kind {
	case Fan:
		name := fmt.Sprintf("fan %s of %s", s.Fan, s.Store)
		switch {
		case s.Only:
			return name
		case s.Full:
			return name + " at full speed"
		}
		return fmt.Sprintf("%s at speed %d", name, s.Stage)
	case Interlock:
		return fmt.Sprintf("interlock %s (%s)", s.Probe, s.Role)
	}
	return fmt.Sprintf("probe %s (%s)", s.Probe, s.Role)
}
