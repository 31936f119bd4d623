package whatif

import (
	"time"

	"loambank/controller/learn"
)

// Fit is how well what the first two thirds of a recording taught foretells its last third, which taught
// nothing to it. What corrects the readings learns from all of the recording.
type Fit struct {
	Air  learn.Miss   // through each night, in dark hours without heater
	Soil []learn.Miss // of each store, a day ahead
}

// lastThird is when it begins.
func lastThird(first, last time.Time) time.Time { return last.Add(-last.Sub(first) / 3) }

// foretell tries what is known at the beginning of the last third on the samples after it.
func (p *past) foretell(at time.Time, x learn.Sample) {
	if at.Before(p.lastThird) {
		return
	}
	if p.ahead == nil {
		p.ahead = p.params.Ahead(&p.s)
	}
	p.ahead.Take(x)
}

func (p *past) fit() (f Fit) {
	f.Soil = make([]learn.Miss, len(p.s.Stores))
	if p.ahead == nil {
		return f
	}
	f.Air = p.ahead.Air()
	for i := range f.Soil {
		f.Soil[i] = p.ahead.Soil(i)
	}
	return f
}
