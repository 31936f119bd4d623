package learn

import (
	"math"

	"loambank/config/unit"
)

// Temp is a temperature that is known or not. The zero value is not.
type Temp struct {
	C     unit.Celsius `json:"c"`
	Known bool         `json:"known"`
}

// Number is any other figure that is known or not. The zero value is not.
type Number struct {
	V     float64 `json:"v"`
	Known bool    `json:"known"`
}

// Contact is an on/off probe. The zero value is not known.
type Contact uint8

// The closed list of contact states.
const (
	Unknown Contact = iota
	Off
	On
)

// Sample is what was measured, and what the fans did, since the last one. Each field's zero value is
// not known; readings are usable ones, judged before.
type Sample struct {
	StepS    float64 // monotonic seconds; a step of 0 or under, or over 30 min, teaches nothing
	Air      Temp
	Humidity Number // relative, 0 to 1
	Outside  Temp
	Dark     bool // the sun is down
	Heater   Contact
	Vent     Contact
	Stores   [MaxStores]StoreSample
}

// StoreSample is that of one store.
type StoreSample struct {
	Level       float64 // share of full flow that the fans were given, 0 to 1; 0 is at rest
	FanW        Number  // drawn, measured; unknown: by the fan laws from what is stated
	Between     Temp    // soil midway between the pipes
	Root        Temp    // soil 10 to 15 cm deep
	Undisturbed Temp    // soil outside the footprint
	DuctIn      Temp
	DuctOut     Temp
	Water       Contact // stands in the pipes
}

// longestS is the longest step that is taken for one without a gap, s.
const longestS = 1800.0

// Temperatures beyond these are no temperatures of a house.
const coldest, hottest unit.Celsius = -60, 80

// clean is the sample with what cannot be taken out.
func (s Sample) clean(stores int) Sample {
	s.Air, s.Outside = s.Air.clean(), s.Outside.clean()
	s.Humidity = s.Humidity.within(0, 1.05)
	s.Humidity.V = min(s.Humidity.V, 1)
	for i := range s.Stores {
		if i >= stores {
			s.Stores[i] = StoreSample{}
			continue
		}
		b := &s.Stores[i]
		const slowest = 0.01 // no fan turns slower
		if !(b.Level >= slowest) {
			b.Level = 0
		}
		b.Level = min(b.Level, 1)
		b.FanW = b.FanW.within(0, 1e6)
		for _, t := range []*Temp{&b.Between, &b.Root, &b.Undisturbed, &b.DuctIn, &b.DuctOut} {
			*t = t.clean()
		}
	}
	return s
}

func (t Temp) clean() Temp {
	if !t.Known || !(t.C >= coldest && t.C <= hottest) {
		return Temp{}
	}
	return t
}

func (n Number) within(least, most float64) Number {
	if !n.Known || !(n.V >= least && n.V <= most) {
		return Number{}
	}
	return n
}

func or(t, other Temp) Temp {
	if t.Known {
		return t
	}
	return other
}

// gap reports whether the step is none to learn from.
func (s *Sample) gap() bool {
	return !(s.StepS > 0 && s.StepS <= longestS) || math.IsNaN(s.StepS)
}

// fanW is the electricity drawn; without a meter by the cube of the speed (fan laws, AMCA 201).
func (s *Store) fanW(b *StoreSample) float64 {
	if b.Level == 0 {
		return 0
	}
	if b.FanW.Known {
		return b.FanW.V
	}
	return s.PowerW * b.Level * b.Level * b.Level
}
