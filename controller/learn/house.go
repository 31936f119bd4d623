package learn

import (
	"math"
)

// Places in Params.House.
const (
	houseLossAt = iota // ln of the loss as a share of the stated
	floorAt            // ln of the floor's share of the usual
	airAt              // ln of the capacity's share of the stated
)

// usualFloorWm2K is what passes between still house air and its floor, radiation in it, for each m²
// and K; common practice, no source.
const usualFloorWm2K = 5.0

func (s *Settings) housePriors() []prior {
	return []prior{
		{sd: 0.4, low: -math.Log(4), high: math.Log(4), driftDay: 0.02},
		{sd: 0.5, low: -math.Log(4), high: math.Log(4), driftDay: 0.01},
		{sd: 0.5, low: -math.Log(4), high: math.Log(4), driftDay: 0.01},
	}
}

// Hour gathers what happens in the house for an hour.
type Hour struct {
	TimeS    float64 `json:"time_s"`
	LostS    float64 `json:"lost_s"` // without air, outside or heat
	Before   Temp    `json:"before"` // air at its beginning
	Air      Temp    `json:"air"`    // and last
	AirKS    float64 `json:"air_ks"` // °C times s, as the next two
	OutKS    float64 `json:"out_ks"`
	SoilKS   float64 `json:"soil_ks"`
	SoilS    float64 `json:"soil_s"`
	HeatJ    float64 `json:"heat_j"`  // into all stores, with the learned flow
	DoubtJ   float64 `json:"doubt_j"` // one standard error of it, but for the flow's
	FanJ     float64 `json:"fan_j"`
	GuessedJ float64 `json:"guessed_j"` // electricity of fans whose flow is not learned
	DarkS    float64 `json:"dark_s"`
	HeaterS  float64 `json:"heater_s"`
	BlindS   float64 `json:"blind_s"` // nobody said whether the heater was on
	VentS    float64 `json:"vent_s"`
}

// store adds what store i did in a step.
func (h *Hour) store(s *Settings, p *Params, b *StoreSample, passed passed, i int, stepS float64) {
	q, store := &p.Stores[i], &s.Stores[i]
	if !passed.known {
		h.LostS += stepS
	}
	flow := math.Exp(q.Soil.X[flowAt])
	h.HeatJ += passed.statedW * flow * stepS
	h.DoubtJ += passed.doubtW * flow * stepS
	fanJ := store.fanW(b) * stepS
	h.FanJ += fanJ
	if fanJ > 0 && store.Catalogue && !p.Values(s, i).FlowLearned {
		h.GuessedJ += fanJ
	}
	if soil := or(b.Root, b.Between); soil.Known {
		h.SoilKS += float64(soil.C) * stepS
		h.SoilS += stepS
	}
}

// add adds the house's own readings.
func (h *Hour) add(s *Settings, sample *Sample) {
	stepS := sample.StepS
	h.TimeS += stepS
	if !sample.Air.Known || !sample.Outside.Known {
		h.LostS += stepS
	} else {
		h.Air = sample.Air
		h.AirKS += float64(sample.Air.C) * stepS
		h.OutKS += float64(sample.Outside.C) * stepS
	}
	if sample.Dark {
		h.DarkS += stepS
	}
	if sample.Vent == On {
		h.VentS += stepS
	}
	switch {
	case !s.Heater.Present:
	case sample.Heater == On:
		h.HeaterS += stepS
	case sample.Heater == Unknown:
		// It is on where the house would else not be so near its setpoint in the dark.
		const near = 0.3
		h.BlindS += stepS
		if sample.Dark && sample.Air.Known && sample.Air.C <= s.Heater.Setpoint.Add(s.Heater.Band+near) {
			h.HeaterS += stepS
		}
	}
}

// hour learns from the house once an hour and lets the house without fans live on.
func (p *Params) hour(s *Settings, sample *Sample) {
	h := &p.Hour
	h.add(s, sample)
	if h.TimeS < hourS {
		return
	}
	ok := h.LostS == 0 && h.Before.Known && h.Air.Known && h.SoilS > 0
	if ok {
		p.House.wander(s.housePriors(), h.TimeS)
		p.other(s, h)
		p.open(s, h)
		p.night(s, h)
	} else {
		p.Other.Sum.LostS += h.TimeS
		p.Watch.OpenH = 0
	}
	p.Hour = Hour{}
	if h.LostS == 0 || sample.Air.Known {
		p.Hour.Before = sample.Air
	}
}

// balance is the house in an hour.
type balance struct {
	airC, outC, soilC float64
	bringW            float64 // what fans gave to the air, their electricity in it
	riseKS            float64 // of the air, K/s
}

func (h *Hour) balance() balance {
	return balance{
		airC: h.AirKS / h.TimeS, outC: h.OutKS / h.TimeS, soilC: h.SoilKS / h.SoilS,
		bringW: (h.FanJ - h.HeatJ) / h.TimeS,
		riseKS: float64(h.Air.C.Sub(h.Before.C)) / h.TimeS,
	}
}

// quiet reports whether nothing warms the house in the hour but its floor and its fans.
func (h *Hour) quiet() bool { return h.DarkS >= h.TimeS && h.HeaterS == 0 && h.VentS == 0 }

// nightK is by how much sky and wind, which nobody measures, move the air of a whole night, 1 σ; common
// practice, no source. How well nights fit widens it (Filter.Fit).
const nightK = 0.5

// leastK is how far over outside a house must be to tell how it loses heat.
const leastK = 3

// night learns from a dark hour without heater:
// C dT/dt = brought − L (T − outside) + G (soil − T), solved for T.
func (p *Params) night(s *Settings, h *Hour) {
	b, v := h.balance(), p.HouseValues(s)
	if !h.quiet() || b.airC-b.outC <= leastK {
		return
	}
	loss, floor, air := v.LossWK.Value, v.FloorWK.Value, v.CapacityJK.Value
	both, foretold := loss+floor, v.foretold(&b)
	slope := [order]float64{
		loss * (b.outC - foretold) / both, floor * (b.soilC - foretold) / both, -air * b.riseKS / both,
	}
	const nightH = 8
	p.House.observe(s.housePriors(), slope, b.airC-foretold, nightK*math.Sqrt(nightH), h.TimeS/hourS)
}

// foretold is the air that the balance of an hour asks for.
func (v *HouseValues) foretold(b *balance) float64 {
	loss, floor := v.LossWK.Value, v.FloorWK.Value
	return (loss*b.outC + floor*b.soilC + b.bringW - v.CapacityJK.Value*b.riseKS) / (loss + floor)
}
