package learn

import (
	"math"

	"loambank/config/unit"
)

// Ahead tries what was learned on later readings, of which nothing is learned: the soil of each store a
// day ahead, and the air of each night from its first hour to the end of its dark hours without heater.
// Both start from what was read and then feel only what surrounds them: weather, fans, the soil at the
// roots. The zero value is of no use; see Params.Ahead.
type Ahead struct {
	s *Settings
	p Params // learns nothing

	stores [MaxStores]StoreParams // for what wanders by itself: heat on its way, soil next to the pipe
	soils  [MaxStores]soilAhead
	hour   Hour
	air    Temp         // foretold for now; not known: no night is followed
	dusk   unit.Celsius // read when the night began
	overK  float64      // how far the air that was read is over the foretold
	airs   Miss
}

// soilAhead is the soil of a store in a day that is foretold.
type soilAhead struct {
	open         bool
	first, now   unit.Celsius // read at its beginning, and foretold
	timeS, lostS float64
	miss         Miss
}

// Miss is how far what was foretold lay off. The zero value is nothing foretold.
type Miss struct {
	N        int     // hours of the air, days of the soil
	OffK2    float64 // squares of what was foretold less what was read, summed
	StayedK2 float64 // of what was read at the beginning less that
}

// RMSK is the root mean square of what was foretold less what was read, K; 0 without any.
func (m Miss) RMSK() float64 { return math.Sqrt(m.OffK2 / float64(max(1, m.N))) }

// StayedK is the same had one foretold that all stays as it was read at the beginning, K.
func (m Miss) StayedK() float64 { return math.Sqrt(m.StayedK2 / float64(max(1, m.N))) }

func (m *Miss) add(foretold, began, read unit.Celsius) {
	m.N++
	m.OffK2 += math.Pow(float64(foretold.Sub(read)), 2)
	m.StayedK2 += math.Pow(float64(began.Sub(read)), 2)
}

// Ahead begins a trial of what is known now.
func (p *Params) Ahead(s *Settings) *Ahead {
	a := &Ahead{s: s, p: *p, stores: p.Stores}
	for i := range s.stores() {
		if !p.Begun {
			a.stores[i] = s.newStore(i)
			a.p.Stores[i] = a.stores[i]
		}
	}
	return a
}

// Air is how well the air of nights was foretold so far.
func (a *Ahead) Air() Miss { return a.airs }

// Soil is how well the soil of store i was foretold so far.
func (a *Ahead) Soil(i int) Miss { return a.soils[i].miss }

// Take goes on by one sample.
func (a *Ahead) Take(sample Sample) {
	if sample.gap() {
		a.hour, a.air, a.overK = Hour{}, Temp{}, 0
		for i := range a.soils {
			a.soils[i] = soilAhead{miss: a.soils[i].miss}
			a.stores[i].RunS = 0
		}
		return
	}
	sample = sample.clean(a.s.stores())
	for i := range a.s.stores() {
		a.store(i, &sample)
	}
	h := &a.hour
	h.add(a.s, &sample)
	if h.TimeS < hourS {
		return
	}
	a.night()
	a.hour = Hour{Before: sample.Air}
}

// store reckons what the fans of store i did in the foretold house, and moves its soil on.
func (a *Ahead) store(i int, sample *Sample) {
	s, q, soil := &a.s.Stores[i], &a.stores[i], &a.soils[i]
	its, b := *sample, sample.Stores[i]
	b.DuctOut = Temp{} // to be foretold
	its.Air.C -= unit.Celsius(a.overK)
	b.DuctIn.C -= unit.Celsius(a.overK)
	if soil.open {
		b.Between = Temp{C: soil.now, Known: true}
	}
	h := s.pass(q, &its, &b, sample.moist(a.s), a.s.pressurePa())
	a.hour.store(a.s, &a.p, &b, h, i, sample.StepS)
	q.base(b.above(sample.Air), sample.StepS)
	heatJ := q.arrive(h.statedW, sample.StepS, s.lagS())
	read := sample.Stores[i].Between
	if !soil.open {
		soil.begin(read, h.known && q.Base.Known)
		return
	}
	x := &a.p.Stores[i].Soil.X
	heated := math.Exp(x[flowAt]-x[capacityAt]) * heatJ / a.s.capacityJK(i)
	lostK := (x[lossAt]*float64(soil.now.Sub(q.Base.C)) - x[restAt]) * sample.StepS
	soil.now += unit.Celsius(heated - lostK)
	soil.timeS += sample.StepS
	if !h.known {
		soil.lostS += sample.StepS
	}
	if soil.timeS < dayS {
		return
	}
	if read.Known && soil.lostS <= mostLostS {
		soil.miss.add(soil.now, soil.first, read.C)
	}
	soil.begin(read, h.known)
}

// begin starts a day where the soil is read and its heat known.
func (d *soilAhead) begin(read Temp, ok bool) {
	*d = soilAhead{open: read.Known && ok, first: read.C, now: read.C, miss: d.miss}
}

// night foretells the air at the end of an hour of a night, stepped implicitly.
func (a *Ahead) night() {
	h := &a.hour
	if h.LostS > 0 || !h.Before.Known || !h.Air.Known || h.SoilS == 0 || !h.quiet() {
		a.air, a.overK = Temp{}, 0
		return
	}
	if !a.air.Known {
		a.air, a.dusk = h.Before, h.Before.C
	}
	b, v := h.balance(), a.p.HouseValues(a.s)
	loss, floor, airWK := v.LossWK.Value, v.FloorWK.Value, v.CapacityJK.Value/h.TimeS
	a.air.C = unit.Celsius((airWK*float64(a.air.C) + loss*b.outC + floor*b.soilC + b.bringW) / (airWK + loss + floor))
	a.airs.add(a.air.C, a.dusk, h.Air.C)
	a.overK = float64(h.Air.C.Sub(a.air.C))
}
