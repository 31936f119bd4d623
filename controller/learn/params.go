package learn

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Params is all that is learned of a house: plain data that survives JSON. The zero value is a house
// never seen. Its fields are what Update needs; the methods are what it found, in units.
type Params struct {
	Begun  bool                   `json:"begun"`
	Stores [MaxStores]StoreParams `json:"stores"`
	House  Filter                 `json:"house"`
	Hour   Hour                   `json:"hour"`
	Nights Nights                 `json:"nights"`
	Other  Without                `json:"without"`
	Watch  Watch                  `json:"watch"`
}

// StoreParams is what is learned of one store.
type StoreParams struct {
	Fans     FanKey        `json:"fans"`
	Exchange Filter        `json:"exchange"`
	Near     [near]float64 `json:"near_w"`   // W at the stated flow, held back by the soil next to the pipe
	Soil     Filter        `json:"soil"`     // see its places
	Base     Temp          `json:"base"`     // what the equilibrium counts from
	Arriving float64       `json:"arriving"` // W at the stated flow, on its way to the between probe
	Day      Day           `json:"day"`      // being gathered
	Account  Accounts      `json:"account"`  // of heat, air side and soil side
	RanS     float64       `json:"ran_s"`    // since the fans' settings last changed
	RunS     float64       `json:"run_s"`    // since the last start, 0 at rest
	First    Number        `json:"first"`    // ln of capacity over flow when it was first well known
	FirstSE  float64       `json:"first_se"` // and its error
	Touch    Touch         `json:"touch"`    // of the between probe
	Highest  Temp          `json:"highest"`  // soil of the season
}

// FanKey is what of the settings the exchange depends on.
type FanKey struct {
	Fans      uint64  `json:"fans"`
	FlowM3s   float64 `json:"flow_m3s"`
	PowerW    float64 `json:"power_w"`
	Catalogue bool    `json:"catalogue"`
}

func (s *Store) key() FanKey {
	return FanKey{Fans: s.Fans, FlowM3s: s.FlowM3s, PowerW: s.PowerW, Catalogue: s.Catalogue}
}

// Values is what is known of one store. A flow, capacity or exchange that nothing taught yet is what
// the settings state, with a wide error.
type Values struct {
	FlowM3s       Estimate // at full speed
	NTU           Estimate // number of transfer units at full speed, against the pipe's wall
	Effectiveness Estimate // the same as a share of the way to the wall, 0 to 1
	NearKW        Estimate // how much warmer the wall gets for each W, in the end
	CapacityJK    Estimate // of the soil that the between probe stands for
	LossWK        Estimate // from that soil to its surroundings
	Equilibrium   Estimate // where it settles without fans, °C; Hours 0: not known
	// FlowLearned says that the flow may carry a claim: measured, or known to a quarter from at least
	// 30 h of running.
	FlowLearned bool
}

// Values returns what is known of store i.
func (p *Params) Values(s *Settings, i int) Values {
	q := p.Stores[i]
	if !p.Begun {
		q = s.newStore(i)
	}
	store := &s.Stores[i]
	v := Values{
		FlowM3s: q.Soil.exp(flowAt, store.FlowM3s), NTU: q.Exchange.exp(ntuAt, 1),
		CapacityJK: q.Soil.exp(capacityAt, s.capacityJK(i)),
	}
	e := physics.Effectiveness(v.NTU.Value)
	v.Effectiveness = Estimate{Value: e, SE: (1 - e) * v.NTU.SE, Hours: v.NTU.Hours}
	v.NearKW = q.nearKW()
	v.LossWK = q.Soil.plain(lossAt, v.CapacityJK.Value)
	if q.Base.Known {
		loss := q.Soil.X[lossAt]
		over := q.Soil.X[restAt] / loss
		v.Equilibrium = Estimate{
			Value: float64(q.Base.C) + over, SE: math.Hypot(q.Soil.sd(restAt), over*q.Soil.sd(lossAt)) / loss, Hours: q.Soil.Hours,
		}
	}
	v.FlowLearned = store.FlowM3s > 0 &&
		(!store.Catalogue || q.RanS >= 30*hourS && v.FlowM3s.SE <= 0.25*v.FlowM3s.Value)
	return v
}

// Settled is what may be reckoned with for decisions: flow and transfer units at full speed, how much
// warmer the wall gets for each W in the end, and the transfer units to the wall that water meets.
type Settled struct{ FlowM3s, NTU, NearKW, FilmNTU float64 }

// Settled returns what is known of store i well enough to decide by: its transfer units to a quarter
// from at least 20 h of running with the fans it has now, and a flow that was measured or is learned
// (Values.FlowLearned). enough is false otherwise.
func (p *Params) Settled(s *Settings, i int) (x Settled, enough bool) {
	if !p.Begun || p.Stores[i].Fans != s.Stores[i].key() {
		return Settled{}, false
	}
	v := p.Values(s, i)
	enough = v.FlowLearned && v.NTU.Hours >= 20 && v.NTU.SE <= 0.25*v.NTU.Value
	if !enough {
		return Settled{}, false
	}
	return Settled{
		FlowM3s: v.FlowM3s.Value, NTU: v.NTU.Value, NearKW: max(0, v.NearKW.Value), FilmNTU: s.Stores[i].filmNTU(),
	}, true
}

// nearKW is the rise of the wall for each W really left there, once all of it has settled.
func (q *StoreParams) nearKW() Estimate {
	var sum, own float64
	for i := quickAt; i <= slowAt; i++ {
		sum += q.Exchange.X[i]
		for j := quickAt; j <= slowAt; j++ {
			own += q.Exchange.P[i][j]
		}
	}
	flow := math.Exp(q.Soil.X[flowAt])
	se := math.Sqrt(max(0, own)*max(1, q.Exchange.Fit)) / flow
	return Estimate{Value: sum / flow, SE: math.Hypot(se, sum/flow*q.Soil.sd(flowAt)), Hours: q.Exchange.Hours}
}

// HouseValues is what is known of the house.
type HouseValues struct {
	LossWK     Estimate // for each K over outside
	FloorWK    Estimate // between air and soil near the surface
	CapacityJK Estimate // air and contents
}

// HouseValues returns what is known of the house.
func (p *Params) HouseValues(s *Settings) HouseValues {
	f := p.House
	if !p.Begun {
		f = newFilter(s.housePriors()...)
	}
	return HouseValues{
		LossWK: f.exp(houseLossAt, s.houseLossWK()), FloorWK: f.exp(floorAt, usualFloorWm2K*s.floorM2()),
		CapacityJK: f.exp(airAt, s.houseCapacityJK()),
	}
}

// newStore is a store never seen.
func (s *Settings) newStore(i int) StoreParams {
	store := &s.Stores[i]
	return StoreParams{
		Fans: store.key(), Exchange: newFilter(store.exchangePriors()...), Soil: newFilter(store.soilPriors()...),
	}
}

// Heat is what store i would exchange with its fans at a level of full flow, 0 to 1, running since
// the samples that p saw: with in at the intake, the between soil at soil and air of pressure pPa.
// Sustained says that the soil next to the pipes has settled to it, as at the end of a long night.
func (p *Params) Heat(s *Settings, i int, level float64, in physics.Air, soil unit.Celsius, sustained bool) physics.Heat {
	q := p.Stores[i]
	if !p.Begun {
		q = s.newStore(i)
	}
	return s.Stores[i].heat(&q, level, in, soil, s.pressurePa(), sustained)
}
