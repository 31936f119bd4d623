package learn

import "math"

// copies is how many houses without fans are carried: one by the learned values and one for each
// value that the answer depends on, set one standard error higher.
const copies = 7

// The copies.
const (
	asLearned = iota
	moreFlow
	moreHeat // out of the same flow
	moreLoss
	moreFloor
	moreShallow
	moreUp
)

// What is not learned of the soil under the floor; common practice, no source.
const (
	shallowJm2K = 2e5 // takes part in a day: damp soil to about the daily damping depth, 0.1 m
	upShare     = 0.8 // of a store's loss goes up into it
	unsure      = 0.5 // of both, one standard error
)

// Without follows the same house never running its fans, as the difference to it: plain data.
type Without struct {
	Copies [copies]Difference `json:"copies"`
	Sum    Sums               `json:"sum"`
	Night  NightLows          `json:"night"`
}

// Difference is how much warmer the house is than it would be, K.
type Difference struct {
	Air     float64 `json:"air"`
	Shallow float64 `json:"shallow"`
	Store   float64 `json:"store"`
}

// Sums are what has added up since learning began. Savings compares two of them.
type Sums struct {
	SavedJ   [copies]float64 `json:"saved_j"`   // heater heat
	KeptKH   [copies]float64 `json:"kept_kh"`   // under the crop's limit, K times h
	NightsN  [copies]float64 `json:"nights"`    // kept over it
	MovedJ   float64         `json:"moved_j"`   // heat in either direction
	FanJ     float64         `json:"fan_j"`     // electricity
	GuessedJ float64         `json:"guessed_j"` // of it, of fans whose flow was not learned then
	HeaterJ  float64         `json:"heater_j"`  // the heater's real heat
	CountedS float64         `json:"counted_s"`
	LostS    float64         `json:"lost_s"` // time that could not be counted
}

// NightLows are the lowest of a night so far.
type NightLows struct {
	Dark bool            `json:"dark"`
	With float64         `json:"with"`
	Less [copies]float64 `json:"less"`
}

// terms are the conductances and capacities that a copy counts with.
type terms struct {
	lossWK, floorWK, airJK, shallowJK, upWK, storeJK, awayWK, flow, doubts float64
}

func (p *Params) terms(s *Settings) (t terms) {
	v := p.HouseValues(s)
	t = terms{
		lossWK: v.LossWK.Value, floorWK: v.FloorWK.Value, airJK: v.CapacityJK.Value,
		shallowJK: shallowJm2K * s.floorM2(), flow: 1,
	}
	for i := range s.stores() {
		q := p.Values(s, i)
		t.storeJK += q.CapacityJK.Value
		t.upWK += upShare * q.LossWK.Value
		t.awayWK += (1 - upShare) * q.LossWK.Value
	}
	return t
}

// other lets each copy live through the hour.
func (p *Params) other(s *Settings, h *Hour) {
	sum := &p.Other.Sum
	b, t := h.balance(), p.terms(s)
	sum.MovedJ += math.Abs(h.HeatJ)
	sum.FanJ += h.FanJ
	sum.GuessedJ += h.GuessedJ
	sum.CountedS += h.TimeS
	heaterW := p.heaterW(s, h, &b, &t)
	sum.HeaterJ += heaterW * h.TimeS
	flowSE := p.flowSE(s)
	p.Other.begin(h)
	for k := range copies {
		u := p.unsure(t, k, flowSE)
		inW := (u.flow*h.HeatJ + u.doubts*h.DoubtJ) / h.TimeS
		more := push{bringW: h.FanJ/h.TimeS - inW, inW: inW}
		d := &p.Other.Copies[k]
		extraW := d.live(s, h, &b, &u, more, heaterW)
		sum.SavedJ[k] += extraW * h.TimeS
		p.Other.keep(s, h, k, b.airC)
	}
	p.Other.end(s, h)
}

// flowSE is one standard error of the flow as a share of it, of the store where it is widest.
func (p *Params) flowSE(s *Settings) (share float64) {
	for i := range s.stores() {
		f := p.Values(s, i).FlowM3s
		if f.Value > 0 {
			share = max(share, f.SE/f.Value)
		}
	}
	return share
}

// unsure is the terms of copy k.
func (p *Params) unsure(t terms, k int, flowSE float64) terms {
	switch k {
	case moreFlow:
		t.flow += flowSE
	case moreHeat:
		t.doubts = 1
	case moreLoss:
		p.House.along(houseLossAt, &t)
	case moreFloor:
		p.House.along(floorAt, &t)
	case moreShallow:
		t.shallowJK *= 1 + unsure
	case moreUp:
		t.upWK *= 1 + unsure
	}
	return t
}

// push is what the real house's fans gave more than the other's: to the air, their electricity in it,
// and to the soil, W.
type push struct{ bringW, inW float64 }

// along moves the house's terms by one standard error of value i and what goes with it of the others;
// of the floor only what its loss leaves open (the columns of a Cholesky factor).
func (f *Filter) along(i int, t *terms) {
	wide := math.Sqrt(max(1, f.Fit))
	var shift [order]float64
	for j := range shift {
		cov := f.P[j][i]
		if i != houseLossAt {
			cov -= f.P[j][houseLossAt] * f.P[i][houseLossAt] / f.P[houseLossAt][houseLossAt]
		}
		shift[j] = cov
	}
	sd := math.Sqrt(max(shift[i], 1e-12))
	t.lossWK *= math.Exp(shift[houseLossAt] / sd * wide)
	t.floorWK *= math.Exp(shift[floorAt] / sd * wide)
	t.airJK *= math.Exp(shift[airAt] / sd * wide)
}

// heaterW is the heater's heat in the hour: what the house's balance asks for, at most what is stated
// for as long as it was on; some burn lower than that.
func (p *Params) heaterW(s *Settings, h *Hour, b *balance, t *terms) float64 {
	if h.HeaterS == 0 {
		return 0
	}
	w := t.lossWK*(b.airC-b.outC) - t.floorWK*(b.soilC-b.airC) - b.bringW + t.airJK*b.riseKS
	w = max(0, w)
	if s.Heater.OutputW > 0 {
		w = min(w, s.Heater.OutputW*h.HeaterS/h.TimeS)
	}
	return w
}

// live moves a copy on and returns the heat that its heater would have given over the real one's, W.
// All three nodes are stepped implicitly, the soil after the air.
func (d *Difference) live(s *Settings, h *Hour, b *balance, t *terms, more push, heaterW float64) (extraW float64) {
	perK := t.airJK/h.TimeS + t.lossWK + t.floorWK
	air := (t.airJK/h.TimeS*d.Air + more.bringW + t.floorWK*d.Shallow) / perK
	if s.Heater.Present {
		// Where the heater ran, the house was as warm as the heater keeps it.
		held := b.airC
		if h.HeaterS == 0 {
			held = float64(s.Heater.Setpoint.Add(s.Heater.Band / 2))
		}
		extraW = max(-heaterW, perK*(held-(b.airC-air)))
		if h.HeaterS == 0 {
			extraW = max(0, extraW)
		}
		if s.Heater.OutputW > 0 {
			extraW = min(extraW, s.Heater.OutputW-heaterW)
		}
		air -= extraW / perK
	}
	if s.VentsAt.Known {
		air = max(air, b.airC-max(b.airC, float64(s.VentsAt.C)))
	}
	d.Air = bound(air)
	shallow := t.shallowJK/h.TimeS + t.floorWK + t.upWK
	d.Shallow = bound((t.shallowJK/h.TimeS*d.Shallow + t.floorWK*d.Air + t.upWK*d.Store) / shallow)
	store := t.storeJK/h.TimeS + t.upWK + t.awayWK
	d.Store = bound((t.storeJK/h.TimeS*d.Store + more.inW + t.upWK*d.Shallow) / store)
	return extraW
}

// bound keeps a difference one that a house can have, K.
func bound(k float64) float64 {
	const most = 40
	if math.IsNaN(k) {
		return 0
	}
	return min(max(k, -most), most)
}

func (w *Without) begin(h *Hour) {
	if dark := h.DarkS*2 > h.TimeS; dark && !w.Night.Dark {
		w.Night = NightLows{Dark: true, With: math.MaxFloat64}
		for k := range w.Night.Less {
			w.Night.Less[k] = math.MaxFloat64
		}
	}
	w.Night.With = min(w.Night.With, h.AirKS/h.TimeS)
}

// keep counts what the crop of an unheated house was spared.
func (w *Without) keep(s *Settings, h *Hour, k int, airC float64) {
	if s.Heater.Present || !s.CropLimit.Known {
		return
	}
	less, limit := airC-w.Copies[k].Air, float64(s.CropLimit.C)
	w.Sum.KeptKH[k] += (max(0, limit-less) - max(0, limit-airC)) * h.TimeS / hourS
	if w.Night.Dark {
		w.Night.Less[k] = min(w.Night.Less[k], less)
	}
}

// end closes a night at its first light hour.
func (w *Without) end(s *Settings, h *Hour) {
	if !w.Night.Dark || h.DarkS*2 > h.TimeS {
		return
	}
	w.Night.Dark = false
	if s.Heater.Present || !s.CropLimit.Known {
		return
	}
	limit := float64(s.CropLimit.C)
	for k, less := range w.Night.Less {
		switch {
		case w.Night.With >= limit && less < limit:
			w.Sum.NightsN[k]++
		case w.Night.With < limit && less >= limit:
			w.Sum.NightsN[k]--
		}
	}
}
