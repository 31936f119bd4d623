package whatif

import (
	"math"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/learn"
	"loambank/controller/lesson"
	"loambank/controller/replay"
)

// past is what a house read and did in the recording, and what that taught.
type past struct {
	s       learn.Settings
	params  learn.Params
	samples []moment
	ranS    float64 // time that fans ran
	metered bool    // what the fans did was measured by their power, at least in part

	lastThird time.Time
	ahead     *learn.Ahead // nil before that
}

// moment is what was read at one time.
type moment struct {
	at     time.Time
	sample learn.Sample
}

func newPast(h *config.House, first, last time.Time) *past {
	return &past{s: lesson.Settings(h), lastThird: lastThird(first, last)}
}

// take learns from one tick of a replay under the settings that were in force. What the fans did is
// what they drew, where every fan of a store is metered, else what the settings decide.
func (p *past) take(h *config.House, t *replay.Tick, rested bool) {
	d := &h.House.Decide
	x := lesson.Sample(&h.House, t.Result, t.Was, t.State.Slot.Night, t.StepS)
	for i := range d.Stores {
		b := &x.Stores[i]
		switch {
		case rested:
			b.Level, b.FanW = 0, learn.Number{}
		case b.FanW.Known:
			p.metered = true
			b.Level = drawnLevel(&d.Stores[i], &t.Result.Inputs.Stores[i])
		}
		if b.Level > 0 {
			p.ranS += t.StepS
		}
	}
	p.foretell(t.Time, x)
	p.params = learn.Update(&p.s, p.params, x)
	for i := range d.Stores {
		if b := &x.Stores[i]; !rested && !b.FanW.Known {
			b.FanW = learn.Number{V: ranOf(&d.Stores[i], &t.Was.Stores[i], p.s.Stores[i].FlowM3s).PowerW, Known: true}
		}
	}
	p.samples = append(p.samples, moment{t.Time, x})
}

// drawnLevel is the share of full flow by what the fans drew: power goes with the cube of the flow
// (fan laws, AMCA 201).
func drawnLevel(s *decide.Store, in *decide.StoreInputs) float64 {
	full, moved := 0.0, 0.0
	for j := range s.Fans {
		f := &s.Fans[j]
		full += f.FlowM3s
		if w := in.Fans[j].PowerW; w > 0 && f.PowerW > 0 {
			moved += f.FlowM3s * min(1, math.Cbrt(w/f.PowerW))
		}
	}
	if full == 0 {
		return 0
	}
	return moved / full
}

// ranOf is what a decision lets the fans of a store do, as a share of a flow.
func ranOf(s *decide.Store, d *decide.StoreDecision, fullM3s float64) (r learn.Ran) {
	for j := range s.Fans {
		if fullM3s > 0 {
			r.Level += s.Fans[j].FlowAt(d.Stages[j]) / fullM3s
		}
		r.PowerW += s.Fans[j].PowerAt(d.Stages[j])
	}
	return r
}

// lacks is why too little was learned to correct readings by, "" where it is enough: how the house
// loses heat to a quarter, and each store well enough to decide by.
func (p *past) lacks(h *config.House) string {
	loss := p.params.HouseValues(&p.s).LossWK
	const share, leastH = 0.25, 40
	switch {
	case p.ranS == 0:
		return "the fans never ran in the recording, so it does not tell what they do"
	case loss.Hours < leastH || loss.SE > share*loss.Value:
		return "how the house loses heat is not known to a quarter; it takes dark hours without heater, with air and outside read"
	}
	for i := range h.House.Decide.Stores {
		if _, enough := p.params.Settled(&p.s, i); !enough {
			return "what the pipes of store " + h.House.Decide.Stores[i].Name +
				" exchange is not known to a quarter; it takes 20 h of running with duct-in, duct-out and soil read, and a known airflow"
		}
	}
	return ""
}
