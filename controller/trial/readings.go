package trial

import (
	"math"

	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/sim/greenhouse"
)

// Probes as they are built: a 12-bit thermometer shows sixteenths of a kelvin, a humidity chip
// tenths of a per cent.
const (
	perKelvin   = 16
	perHumidity = 1000
	ventOpen    = 0.05 // share of the full exchange from which on a contact says open
)

// looks gives the probes that a rule looks at.
func (p *Plant) looks(r Rule) []int {
	if narrow, ok := r.(Narrow); ok {
		return narrow.Looks()
	}
	all := make([]int, len(p.raw))
	for i := range all {
		all[i] = i
	}
	return all
}

// readings are what the probes of the settings show now, under weather w, those at the given places
// anew. They hold until the next call.
func (p *Plant) readings(w *greenhouse.Outdoors, at []int) []judge.Raw {
	for _, i := range at {
		p.raw[i] = p.show(i, w)
	}
	return p.raw
}

// show is what probe i shows, as finely as such probes do.
func (p *Plant) show(i int, w *greenhouse.Outdoors) judge.Raw {
	q := &p.s.House.Probes[i]
	v, ok := p.reading(q, i, w)
	switch role := q.Judge.Role; {
	case role == judge.Humidity:
		v = math.RoundToEven(v*perHumidity) / perHumidity
	case role.Temperature():
		v = math.RoundToEven(v*perKelvin) / perKelvin
	}
	return judge.Raw{Value: v, OK: ok}
}

func (p *Plant) reading(q *house.Probe, i int, w *greenhouse.Outdoors) (v float64, ok bool) {
	air := float64(p.house.State().Air)
	switch q.Judge.Role {
	case judge.Air, judge.DuctIn:
		return air, true
	case judge.Humidity:
		return p.house.Humidity(w.PressurePa), true
	case judge.Outside:
		return float64(w.Outside), true
	case judge.Soil:
		if q.Judge.Place == judge.Undisturbed || q.Store == house.WholeHouse {
			return float64(p.ground.At(q.Judge.DepthM, w.Day)), true
		}
		return float64(p.beds[q.Store].Read(p.spots[i])), true
	case judge.DuctOut:
		if p.fans[q.Store].FlowM3s <= 0 {
			return float64(p.beds[q.Store].Read(betweenSpot)), true
		}
		return float64(p.flux.Beds[q.Store].Out.C), true
	case judge.HeaterOn:
		return contact(p.flux.HeaterS > p.stepS/2), true
	case judge.VentOpen:
		return contact(p.flux.VentPerH > ventOpen*p.s.Vents.PerH), true
	case judge.FanPower, judge.AirflowProof:
		return p.seen(q), true
	case judge.Smoke, judge.PipeWater, judge.HandSwitch, judge.OnGenerator:
		return 0, true
	case judge.Light:
		return w.GlobalWm2 * coverOf(p.s).Transmission, true
	}
	return 0, false
}

// seen is what a proof shows of the fans it watches.
func (p *Plant) seen(q *house.Probe) float64 {
	fans := p.s.House.Decide.Stores[q.Store].Fans
	powerW := watched(q, len(fans), func(j int) float64 { return fans[j].PowerAt(p.stages[q.Store][j]) })
	if q.Judge.Role == judge.AirflowProof {
		return contact(powerW > 0)
	}
	return powerW
}

func contact(on bool) float64 {
	if on {
		return 1
	}
	return 0
}
