package learn

import (
	"math"

	"loambank/config/unit"
)

// Places in StoreParams.Soil.
const (
	flowAt     = iota // ln of the real flow's share of the stated
	capacityAt        // ln of the capacity's share of the stated
	lossAt            // 1/s of the difference to the equilibrium
	restAt            // that times the equilibrium over the base, K/s
)

// usualLoss is a tenth of the difference to what surrounds the store in a day, 1/s: 0.5 m of damp
// loam above and half a metre taking part; common practice, no source.
const usualLoss = 0.1 / dayS

func (s *Store) soilPriors() []prior {
	flowSD := 0.07 // a measured flow: common practice, no source
	if s.Catalogue {
		flowSD = 0.4
	}
	return []prior{
		{x: math.Log(s.believedShare()), sd: flowSD, low: math.Log(0.1), high: math.Log(2), driftDay: 0.003},
		{sd: 0.3, low: -math.Log(5), high: math.Log(5), driftDay: 0.003},
		{x: usualLoss, sd: usualLoss / 2, low: usualLoss / 10, high: 10 * usualLoss, driftDay: 0.003 * usualLoss},
		{sd: 5 * usualLoss, low: -25 * usualLoss, high: 25 * usualLoss, driftDay: 0.3 * usualLoss},
	}
}

// Day gathers what happens to the soil from one look at it to the next, a day later.
type Day struct {
	Open   bool    `json:"open"`
	First  Temp    `json:"first"`
	Last   Temp    `json:"last"`
	TimeS  float64 `json:"time_s"`
	LostS  float64 `json:"lost_s"`  // without a reading
	OverKS float64 `json:"over_ks"` // over the base, K times s
	HeatJ  float64 `json:"heat_j"`  // arrived, at the stated flow
	DoubtJ float64 `json:"doubt_j"` // what it may be off by, but for the flow
	PowerS float64 `json:"power_s"` // cube root of drawn over stated power, times s
	RunS   float64 `json:"run_s"`   // of PowerS
}

// mostLostS is the longest a day may be without soil or heat to count, s.
const mostLostS = 2 * hourS

// soil lets a step's heat arrive at the between probe and looks at it once a day.
func (s *Store) soil(q *StoreParams, b *StoreSample, air Temp, h passed, stepS, capacityJK float64) {
	ps := s.soilPriors()
	q.Soil.wander(ps, stepS)
	q.base(b.above(air), stepS)
	heatJ := q.arrive(h.statedW, stepS, s.lagS())
	d := &q.Day
	if !d.Open {
		if b.Between.Known && h.known && q.Base.Known {
			*d = Day{Open: true, First: b.Between, Last: b.Between}
		}
		return
	}
	if b.Between.Known {
		d.Last = b.Between
	}
	if !b.Between.Known || !h.known {
		d.LostS += stepS
	}
	d.TimeS += stepS
	d.OverKS += float64(d.Last.C.Sub(q.Base.C)) * stepS
	d.HeatJ += heatJ
	d.DoubtJ += h.doubtW * stepS
	if b.FanW.Known && b.Level > 0 && s.PowerW > 0 {
		d.PowerS += math.Cbrt(b.FanW.V/s.PowerW) / b.Level * stepS
		d.RunS += stepS
	}
	switch {
	case d.LostS > mostLostS:
		*d = Day{}
	case d.TimeS >= dayS && b.Between.Known:
		s.day(q, ps, capacityJK)
		*d = Day{Open: true, First: b.Between, Last: b.Between}
	}
}

// arrive lets heat come down to the between probe over a lag, and returns what arrives in a step, at
// the stated flow: the exact integral of the first-order lag.
func (q *StoreParams) arrive(statedW, stepS, lagS float64) (heatJ float64) {
	before := q.Arriving
	q.Arriving += (statedW - q.Arriving) * -math.Expm1(-stepS/lagS)
	return statedW*stepS - lagS*(q.Arriving-before)
}

// above is what lies over the soil between the pipes, as far as it is read.
func (b *StoreSample) above(air Temp) Temp { return or(b.Root, or(air, b.Undisturbed)) }

// base moves what the equilibrium counts from: the soil above, else the air over it, as it has come
// down to the pipes. Most of a store's loss goes up; what goes elsewhere is the equilibrium's own.
func (q *StoreParams) base(above Temp, stepS float64) {
	const downS = 50e3 // common practice, no source
	switch {
	case !above.Known:
	case !q.Base.Known:
		q.Base = above
	default:
		q.Base.C = q.Base.C.Add(above.C.Sub(q.Base.C) * unit.Kelvin(-math.Expm1(-stepS/downS)))
	}
}

// day learns from a whole one: ΔT = flow share · heat/C − loss · (T − equilibrium) · time.
func (s *Store) day(q *StoreParams, ps []prior, capacityJK float64) {
	d, x := &q.Day, &q.Soil.X
	if !(s.FlowM3s > 0) {
		return
	}
	heated := math.Exp(x[flowAt]-x[capacityAt]) * d.HeatJ / capacityJK
	lostK := x[lossAt]*d.OverKS - x[restAt]*d.TimeS
	seen := float64(d.Last.C.Sub(d.First.C))
	noise := soilNoise(heated)
	s.book(q, heated, seen+lostK, noise*math.Sqrt(max(1, q.Soil.Fit)), capacityJK)
	slope := [order]float64{heated, -heated, -d.OverKS, d.TimeS}
	q.Soil.observe(ps, slope, seen-(heated-lostK), noise, d.TimeS/hourS)
	if d.RunS > hourS && !s.Catalogue {
		// Fan laws (AMCA 201): power goes with the cube of the flow; a meter and a worn motor leave a
		// tenth, which more days do not make smaller: 20 of them count as one.
		flow := d.PowerS / d.RunS
		noise := 0.1 * math.Sqrt(20)
		q.Soil.observe(ps, [order]float64{1}, math.Log(max(flow, 0.05))-x[flowAt], noise, 0)
	}
	// What is found in the first autumn moves on by a third: capacity and loss part only in the cold.
	const known, seasonH, ranH = 0.2, 150 * 24, 100
	if sd := q.Soil.ratioSE(); !q.First.Known && sd < known && q.Soil.Hours > seasonH && q.RanS > ranH*hourS {
		q.First, q.FirstSE = Number{V: x[capacityAt] - x[flowAt], Known: true}, sd
	}
}

// soilNoise is how far a day's change of the between probe may miss, K: two readings in sixteenths,
// soil that is not one lump.
func soilNoise(heatedK float64) float64 { return math.Hypot(0.12, 0.15*heatedK) }

// ratioSE is the error of ln(capacity/flow), which the soil's answer alone tells.
func (f *Filter) ratioSE() float64 {
	v := f.P[flowAt][flowAt] + f.P[capacityAt][capacityAt] - 2*f.P[flowAt][capacityAt]
	return math.Sqrt(max(0, v) * max(1, f.Fit))
}

// renew forgets what depends on the fans and keeps what is the soil's own.
func (s *Store) renew(q *StoreParams) {
	ps := s.soilPriors()
	q.Fans, q.RanS, q.RunS = s.key(), 0, 0
	q.Exchange = newFilter(s.exchangePriors()...)
	q.Near, q.Arriving, q.Day, q.Account, q.Touch = [near]float64{}, 0, Day{}, Accounts{}, Touch{}
	q.Soil.X[flowAt] = ps[flowAt].x
	for i := range q.Soil.P {
		q.Soil.P[flowAt][i], q.Soil.P[i][flowAt] = 0, 0
	}
	q.Soil.P[flowAt][flowAt] = ps[flowAt].sd * ps[flowAt].sd
	q.First, q.FirstSE = Number{}, 0
}
