package learn

import (
	"math"

	"loambank/config/unit"
)

// Twin is a house that ran its fans otherwise than the real one, followed as the difference to it:
// the same three nodes and the same heater as of the house that never ran, see Without. A twin that
// did what the real house did differs by exactly nothing. The zero value is of no use; see Params.Twins.
type Twin struct {
	s *Settings
	p Params
	t terms

	real, other     [MaxStores]StoreParams // for the soil next to their pipes
	hour            Hour                   // of the real house
	heatJ, fanJ     float64                // of the twin, in that time
	doubtJ          float64                // of heatJ
	apart           Difference
	heaterJ         float64
	inJ, outJ       float64
	countedS, lostS float64
}

// Ran is what the fans of a store did. The zero value is that they stood still.
type Ran struct {
	Level  float64 // share of the full flow that Settings states, 0 and over
	PowerW float64 // electric
}

// twinS is the time step of a twin, s: longer than probes are slow, shorter than a house.
const twinS = 900.0

// Twins returns twins at rest, equal to the real house: the first by what was learned, each other with
// one learned value a standard error higher. The errors of what they tell add in squares.
func (p *Params) Twins(s *Settings) []Twin {
	all := make([]Twin, copies)
	t, flowSE := p.terms(s), p.flowSE(s)
	for k := range all {
		w := &all[k]
		*w = Twin{s: s, p: *p, t: p.unsure(t, k, flowSE)}
		for i := range s.stores() {
			q := p.Stores[i]
			if !p.Begun {
				q = s.newStore(i)
			}
			q.Near, q.RunS = [near]float64{}, 0
			w.real[i], w.other[i] = q, q
		}
	}
	return all
}

// Apart is how much warmer the real house is than its twin, K.
func (w *Twin) Apart() Difference { return w.apart }

// HeaterKWh is the useful heat that the twin's heater gave so far: what the real one gave by the
// house's balance, and what the twin's gave more.
func (w *Twin) HeaterKWh() float64 { return w.heaterJ / jPerKWh }

// HeatKWh is the heat that the twin's fans put into its soil and took out of it so far, by the learned
// exchange, store by store.
func (w *Twin) HeatKWh() (in, out float64) { return w.inJ / jPerKWh, w.outJ / jPerKWh }

// Hours are those that were followed, and those that could not be for want of readings.
func (w *Twin) Hours() (followed, lost float64) { return w.countedS / hourS, w.lostS / hourS }

// Live takes what was read in the real house, and what the twin's fans did in that time.
func (w *Twin) Live(sample Sample, its [MaxStores]Ran) {
	if sample.gap() {
		w.hour, w.heatJ, w.fanJ, w.doubtJ = Hour{}, 0, 0, 0
		return
	}
	sample = sample.clean(w.s.stores())
	for i := range w.s.stores() {
		w.store(i, &sample, its[i])
	}
	h := &w.hour
	h.add(w.s, &sample)
	if h.TimeS < twinS {
		return
	}
	if h.LostS == 0 && h.Before.Known && h.SoilS > 0 {
		b := h.balance()
		heatJ := w.t.flow*(h.HeatJ-w.heatJ) + w.t.doubts*(h.DoubtJ-w.doubtJ)
		more := push{bringW: (h.FanJ - w.fanJ - heatJ) / h.TimeS, inW: heatJ / h.TimeS}
		heaterW := w.p.heaterW(w.s, h, &b, &w.t)
		w.heaterJ += (heaterW + w.apart.live(w.s, h, &b, &w.t, more, heaterW)) * h.TimeS
		w.countedS += h.TimeS
	} else {
		w.lostS += h.TimeS
	}
	w.hour, w.heatJ, w.fanJ, w.doubtJ = Hour{Before: sample.Air}, 0, 0, 0
}

// store reckons the heat of store i for both houses by the same learned exchange, so that what it
// misses falls out of the difference.
func (w *Twin) store(i int, sample *Sample, ran Ran) {
	s, pPa, air := &w.s.Stores[i], w.s.pressurePa(), sample.moist(w.s)
	b := sample.Stores[i]
	b.DuctOut = Temp{}
	h := s.pass(&w.real[i], sample, &b, air, pPa)
	w.hour.store(w.s, &w.p, &b, h, i, sample.StepS)

	its, c := *sample, b
	c.Level = ran.Level
	for _, t := range []struct {
		at *Temp
		k  float64
	}{{&its.Air, w.apart.Air}, {&c.DuctIn, w.apart.Air}, {&c.Between, w.apart.Store}} {
		t.at.C -= unit.Celsius(t.k)
	}
	h = s.pass(&w.other[i], &its, &c, air, pPa)
	flow := math.Exp(w.p.Stores[i].Soil.X[flowAt])
	heatJ := h.statedW * flow * sample.StepS
	w.heatJ += heatJ
	w.doubtJ += h.doubtW * flow * sample.StepS
	w.inJ += w.t.flow * max(0, heatJ)
	w.outJ += w.t.flow * max(0, -heatJ)
	w.fanJ += ran.PowerW * sample.StepS
	if !h.known {
		w.hour.LostS += sample.StepS
	}
}
