package tune

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"loambank/controller/decide"
	"loambank/controller/trial"
)

// Outcome is what one year came to, or any other time that settings are compared over.
type Outcome struct {
	Cost  float64 `json:"cost"`   // electricity and fuel, currency; where electricity has no price, its kWh
	RiskH float64 `json:"risk_h"` // with crop air at or under the frost limit, h
	FanH  float64 `json:"fan_h"`  // of all stores, h
	LowC  float64 `json:"low_c"`  // lowest crop air, °C
}

// OutcomeOf sums up a year; priced says that electricity has a price.
func OutcomeOf(r *trial.Result, priced bool) Outcome {
	t := r.Total()
	o := Outcome{Cost: t.Electricity + t.Fuel, RiskH: t.FrostS / 3600, LowC: float64(t.Low)}
	if !priced {
		o.Cost = t.FanKWh
	}
	o.FanH = FanH(&t.StateS)
	return o
}

// FanH is the hours of all stores in which fans run, by the time in each activity, s.
func FanH(stateS *[decide.Activities]float64) (hours float64) {
	for a, s := range stateS {
		if activity := decide.Activity(a); activity != decide.Rest && activity != decide.Hold && activity != decide.Hand {
			hours += s / 3600
		}
	}
	return hours
}

// Times is the outcome of so many times as long: the lowest air stays.
func (o Outcome) Times(n float64) Outcome {
	return Outcome{Cost: n * o.Cost, RiskH: n * o.RiskH, FanH: n * o.FanH, LowC: o.LowC}
}

// Trial is a point and what it came to in each of a study's years.
type Trial struct {
	Point Point     `json:"point"`
	Years []Outcome `json:"years"`
}

// Mean is the mean of the years, of LowC the lowest.
func (t *Trial) Mean() Outcome {
	n := float64(len(t.Years))
	m := Outcome{LowC: math.Inf(1)}
	for _, y := range t.Years {
		m.Cost += y.Cost / n
		m.RiskH += y.RiskH / n
		m.FanH += y.FanH / n
		m.LowC = min(m.LowC, y.LowC)
	}
	return m
}

// Study is all that was tried: plain data, so that an interrupted or divided search is put together
// again. Its trials are in the order in which they were lived through.
type Study struct {
	Schema int      `json:"schema"` // 1
	Of     string   `json:"of"`     // names settings, weather and seeds; parts of others are not joined
	Seeds  []uint64 `json:"seeds"`  // of the years that the search sees, or the numbers of its blocks
	Trials []Trial  `json:"trials"`
}

// Join adds the trials of another part of the same study.
func (s *Study) Join(part *Study) error {
	if part.Schema != s.Schema || part.Of != s.Of || !slices.Equal(part.Seeds, s.Seeds) {
		return errors.New("it is a part of another study; settings, weather or recording, seed and years must be the same")
	}
	for i := range part.Trials {
		t := &part.Trials[i]
		if len(t.Years) != len(s.Seeds) {
			return fmt.Errorf("trial %d has %d years, the study %d", i+1, len(t.Years), len(s.Seeds))
		}
		if s.find(t.Point) == nil {
			s.Trials = append(s.Trials, *t)
		}
	}
	return nil
}

func (s *Study) find(p Point) *Trial {
	for i := range s.Trials {
		if slices.Equal(s.Trials[i].Point, p) {
			return &s.Trials[i]
		}
	}
	return nil
}

// Job is one search of a study.
type Job struct {
	// RiskCost is what an hour at the frost limit counts, in the unit of Outcome.Cost.
	RiskCost float64
	Seed     uint64 // of where it starts; 0 starts at today's settings
}

// Jobs are the searches of a study: from today's settings and from starts drawn by seed, once for
// each price of risk. hourCost is what an hour of all fans costs.
func Jobs(hourCost float64, starts int, seed uint64) (all []Job) {
	for start := range starts {
		for _, times := range []float64{0, 5, 50} {
			j := Job{RiskCost: times * hourCost}
			if start > 0 {
				j.Seed = seed + uint64(start)
			}
			all = append(all, j)
		}
	}
	return all
}

// Search runs one job with at most so many trials, those already in the study not counted. live lives
// through the study's years under the settings of each point; its error ends the search, and what was
// lived through until then is in the study.
func (s *Study) Search(sp *Space, j Job, most int, live func([]Point) ([]Trial, error)) error {
	lived := 0
	ask := func(points []Point) ([]float64, error) {
		fresh := s.fresh(sp, points)
		fresh = fresh[:min(len(fresh), most-lived)]
		lived += len(fresh)
		trials, err := live(fresh)
		s.Trials = append(s.Trials, trials...)
		if err != nil {
			return nil, err
		}
		scores := make([]float64, len(points))
		for i, p := range points {
			scores[i] = math.Inf(1)
			if t := s.find(p); t != nil {
				scores[i] = j.score(t)
			}
		}
		return scores, nil
	}
	first, box := sp.Shape()
	best, err := Minimise(j.start(sp, box), first, box, patience*most, ask)
	if err != nil {
		return err
	}
	first, box = sp.Months(best)
	_, err = Minimise(best, first, box, patience*most, ask)
	return err
}

// patience is how many points a walk may ask for, for each that may be lived through: those known
// already, and those that are no settings, cost nothing.
const patience = 10

func (j Job) score(t *Trial) float64 {
	m := t.Mean()
	return m.Cost + j.RiskCost*m.RiskH
}

// start is where a job begins: the nearest settings to a drawn point that are no contradiction.
func (j Job) start(sp *Space, box Box) Point {
	p := sp.Today()
	if j.Seed == 0 {
		return p
	}
	r := rand.New(rand.NewPCG(j.Seed, 1))
	for i := range p {
		p[i] = box.Lo[i] + r.IntN(box.Hi[i]-box.Lo[i]+1)
	}
	for {
		if _, ok := sp.House(p); ok {
			return p
		}
		for i := range p {
			p[i] /= 2 // today's settings are reached at the latest
		}
	}
}

// fresh are the points that are settings and were not lived through, each once.
func (s *Study) fresh(sp *Space, points []Point) (all []Point) {
	for _, p := range points {
		if _, ok := sp.House(p); !ok || s.find(p) != nil {
			continue
		}
		if !slices.ContainsFunc(all, func(q Point) bool { return slices.Equal(p, q) }) {
			all = append(all, p)
		}
	}
	return all
}

// Front is the trade-off: the trials of which no other has both less cost and less risk, by rising
// cost. Where several come to the same, it has the first tried.
func (s *Study) Front() (front []*Trial) {
	order := make([]*Trial, len(s.Trials))
	for i := range s.Trials {
		order[i] = &s.Trials[i]
	}
	slices.SortStableFunc(order, func(a, b *Trial) int {
		x, y := a.Mean(), b.Mean()
		return cmp.Or(cmp.Compare(x.Cost, y.Cost), cmp.Compare(x.RiskH, y.RiskH))
	})
	least := math.Inf(1)
	for _, t := range order {
		if risk := t.Mean().RiskH; risk < least {
			least, front = risk, append(front, t)
		}
	}
	return front
}

// Best is the trial with the least cost at a price of risk, the first tried of several; nil for an
// empty study.
func (s *Study) Best(riskCost float64) (best *Trial) {
	for i := range s.Trials {
		if t := &s.Trials[i]; best == nil || (Job{RiskCost: riskCost}).score(t) < (Job{RiskCost: riskCost}).score(best) {
			best = t
		}
	}
	return best
}
