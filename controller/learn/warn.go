package learn

import "math"

// Warning is something that looks wrong. The zero value is nothing.
type Warning uint8

// The closed list of warnings.
const (
	NoWarning   Warning = iota
	SideOpen            // the house loses heat much faster than it does
	ProbeInSun          // an air probe is warmed by the sun
	ProbeAtPipe         // the between probe follows the pipes
	StoreWetter         // the soil takes more heat for each K than it did
	StoreDrier          // or less
)

// String is the warning in words.
func (w Warning) String() string {
	switch w {
	case SideOpen:
		return "a side is open"
	case ProbeInSun:
		return "air probe in the sun"
	case ProbeAtPipe:
		return "soil probe touches a pipe"
	case StoreWetter:
		return "store is wetter than it was"
	case StoreDrier:
		return "store is drier than it was"
	}
	return "nothing"
}

// Notice is a warning with the numbers that were compared.
type Notice struct {
	Warning Warning
	Store   int     // -1 for the house
	Have    float64 // in the unit of its warning: W/K, K, share, share of its earlier capacity
	Need    float64 // over which it warns, under for StoreDrier
}

// Watch is what warnings of the house need to remember.
type Watch struct {
	OpenH float64 `json:"open_h"`  // h in a row that the house lost far too much
	LossW float64 `json:"loss_wk"` // in the last of them, W/K
	Sunny Pair    `json:"sunny"`   // air probe over duct-in by day, K times s, and s
	Night Pair    `json:"night"`   // and in the dark
}

// sun compares the air probe with the air that fans take in, which the sun does not reach.
func (w *Watch) sun(sample *Sample, stores int) {
	if !sample.Air.Known {
		return
	}
	for i := range stores {
		b := &sample.Stores[i]
		if b.Level == 0 || !b.DuctIn.Known {
			continue
		}
		over := float64(sample.Air.C.Sub(b.DuctIn.C)) * sample.StepS
		if sample.Dark {
			w.Night.add(over, sample.StepS, sample.StepS)
		} else {
			w.Sunny.add(over, sample.StepS, sample.StepS)
		}
	}
}

// When the house seems open; common practice, no source.
const openShare, openSE, openFor = 1.5, 3.0, 2.0

// open compares the loss of a dark hour without heater with what was learned. An open house is nearly
// as cold as outside, so that it is the air foretold that must be well over it.
func (p *Params) open(s *Settings, h *Hour) {
	b, v := h.balance(), p.HouseValues(s)
	const leastSeenK = 0.2
	foretold := v.foretold(&b)
	supplyW := b.bringW + v.FloorWK.Value*(b.soilC-b.airC) - v.CapacityJK.Value*b.riseKS
	seen := supplyW / max(b.airC-b.outC, leastSeenK)
	if !h.quiet() || foretold-b.outC <= leastK || !(seen > openLimit(v.LossWK)) || v.LossWK.Hours < 24 {
		p.Watch.OpenH = 0
		return
	}
	p.Watch.OpenH += h.TimeS / hourS
	p.Watch.LossW = seen
}

func openLimit(loss Estimate) float64 {
	return max(openShare*loss.Value, loss.Value+openSE*loss.SE)
}

// Touch is how the between probe answers in the first hour of a run.
type Touch struct {
	From  Temp    `json:"from"`   // at the start
	RestS float64 `json:"rest_s"` // before it
	Way   float64 `json:"way"`    // mean share of the way to the air that it went
	N     int     `json:"n"`
}

// touch watches the first hour of each run that follows two hours of rest.
func (s *Store) touch(q *StoreParams, b *StoreSample, h passed, stepS float64) {
	t := &q.Touch
	const longRestS, leastK = 2 * hourS, 4
	switch {
	case b.Level == 0:
		t.RestS = min(t.RestS+stepS, dayS)
		t.From = b.Between
	case t.RestS < longRestS || !t.From.Known:
		t.RestS = 0
	case q.RunS >= hourS:
		t.RestS = 0
		if toAir := float64(h.in.C.Sub(t.From.C)); h.in.Known && b.Between.Known && math.Abs(toAir) > leastK {
			t.N++
			t.Way += (float64(b.Between.C.Sub(t.From.C))/toAir - t.Way) / min(float64(t.N), 10)
		}
	}
}

// Limits of the other warnings; common practice, no source. A probe a hand's width from a pipe goes
// less than a fiftieth of the way in an hour (physics.LineSourceK).
const (
	sunK       = 2.0
	touchWay   = 0.08
	touchRuns  = 3
	wetShare   = 0.35
	speedShare = 0.07
)

// Notices lists what looks wrong now.
func (p *Params) Notices(s *Settings) (all []Notice) {
	w := &p.Watch
	if w.OpenH >= openFor {
		all = append(all, Notice{SideOpen, -1, w.LossW, openLimit(p.HouseValues(s).LossWK)})
	}
	if w.Sunny.B > leastRun && w.Night.B > leastRun {
		if over := w.Sunny.A/w.Sunny.B - w.Night.A/w.Night.B; over > sunK {
			all = append(all, Notice{ProbeInSun, -1, over, sunK})
		}
	}
	for i := range s.stores() {
		q := &p.Stores[i]
		if q.Touch.N >= touchRuns && q.Touch.Way > touchWay {
			all = append(all, Notice{ProbeAtPipe, i, q.Touch.Way, touchWay})
		}
		// Less air looks like wetter soil; a power meter tells them apart.
		if speed := q.Account.Power.ratio(); !q.First.Known || math.Abs(speed-1) > speedShare {
			continue
		}
		changed := q.Soil.X[capacityAt] - q.Soil.X[flowAt] - q.First.V
		limit := max(wetShare, 2*math.Hypot(q.FirstSE, q.Soil.ratioSE()))
		switch {
		case changed > limit:
			all = append(all, Notice{StoreWetter, i, math.Exp(changed), math.Exp(limit)})
		case changed < -limit:
			all = append(all, Notice{StoreDrier, i, math.Exp(changed), math.Exp(-limit)})
		}
	}
	return all
}
