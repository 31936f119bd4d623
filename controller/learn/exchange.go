package learn

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Places in StoreParams.Exchange.
const (
	ntuAt    = iota // ln of the transfer units at full flow
	quickAt         // K the soil next to the pipe is warmer for each W at the stated flow, soon
	middleAt        // over hours
	slowAt          // and over a day
	besideAt        // K the pipes' soil is over the between probe with neither
)

// near is how many exponentials follow the soil next to the pipe, which answers a steady heat as the
// logarithm of time (physics.LineSourceK); three of these times follow it from minutes to a day.
const near = 3

const quickS, middleS, slowS = 0.3 * hourS, 2 * hourS, 16 * hourS

// ntuFalls is how transfer units fall with flow in turbulent pipes: the coefficient rises with its
// power 0.8 (Dittus and Boelter; Incropera and DeWitt, eq. 8.60), the stream with its first.
const ntuFalls = 0.2

// exchangePriors: the warming by a line source in soil of 1.2 W/(m K) and 5e-7 m²/s around a pipe
// of 100 mm after half an hour, four hours and a day, from one metre of it.
func (s *Store) exchangePriors() []prior {
	const quickKmW, middleKmW, slowKmW = 0.05, 0.07, 0.1
	quick, middle, slow := quickKmW/s.pipeM(), middleKmW/s.pipeM(), slowKmW/s.pipeM()
	return []prior{
		{x: math.Log(s.statedNTU()), sd: 0.7, low: math.Log(0.02), high: math.Log(10), driftDay: 0.01},
		{x: quick, sd: quick, low: 0, high: 20 * quick, driftDay: 0.01 * quick},
		{x: middle, sd: middle, low: 0, high: 20 * middle, driftDay: 0.01 * middle},
		{x: slow, sd: slow, low: 0, high: 20 * slow, driftDay: 0.01 * slow},
		{sd: 0.5, low: -3, high: 3, driftDay: 0.05},
	}
}

// share is the part of the way to the wall that the air goes at a level of full flow.
func (q *StoreParams) share(level float64) float64 {
	return physics.Effectiveness(math.Exp(q.Exchange.X[ntuAt]) * math.Pow(level, -ntuFalls))
}

// film is the same to the wall itself, of which the errors in wider make it another; never less.
func (q *StoreParams) film(s *Store, level, wider float64) float64 {
	ntu := max(s.filmNTU()*wider, math.Exp(q.Exchange.X[ntuAt]))
	return physics.Effectiveness(ntu * math.Pow(level, -ntuFalls))
}

// wall is what thermometers take for the pipe's wall now: the soil next to it.
func (q *StoreParams) wall(soil unit.Celsius) unit.Celsius {
	rise := q.Exchange.X[besideAt]
	for k, w := range q.Near {
		rise += q.Exchange.X[quickAt+k] * w
	}
	return soil.Add(unit.Kelvin(min(max(rise, -30), 30)))
}

// heat is what the store exchanges, see Params.Heat.
func (s *Store) heat(q *StoreParams, level float64, in physics.Air, soil unit.Celsius, pPa float64, sustained bool) physics.Heat {
	if !(level > 0) || !(s.FlowM3s > 0) {
		return physics.Heat{Out: in}
	}
	level = min(level, 1)
	flow, share := s.FlowM3s*level, math.Exp(q.Soil.X[flowAt])
	eff, film := q.share(level), q.film(s, level, 1)
	to := func(wall unit.Celsius, flowM3s float64) physics.Heat {
		return physics.ExchangeTo(in, flowM3s, film, in.C.Add(unit.Kelvin(eff)*wall.Sub(in.C)), pPa)
	}
	if !sustained {
		return to(q.wall(soil), flow*share)
	}
	perW := q.Exchange.X[quickAt] + q.Exchange.X[middleAt] + q.Exchange.X[slowAt]
	still := float64(soil) + q.Exchange.X[besideAt]
	// The wall at which heat and warming agree lies between soil and the incoming air, or its dew point.
	at := func(wall float64) float64 {
		return still + perW*to(unit.Celsius(wall), flow).TotalW() - wall
	}
	low, high := min(still, float64(in.C))-10, max(still, float64(in.C))+10
	for range 40 {
		middle := (low + high) / 2
		if at(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return to(unit.Celsius((low+high)/2), flow*share)
}

// settleS is how long after a start the duct probes do not count, s: probes in a stream take a
// minute or two; common practice, no source.
const settleS = 180

// Passed is what went through a store's pipes in a step.
type passed struct {
	known   bool
	statedW float64 // heat into the soil, reckoned with the stated flow
	doubtW  float64 // one standard error of it, but for the flow's
	in      Temp
	foretold,
	seen float64 // fall of the air's temperature; 0 where it tells nothing
}

// pass learns the exchange from a step and moves the soil next to the pipe on.
func (s *Store) pass(q *StoreParams, sample *Sample, b *StoreSample, air Moist, pPa float64) (h passed) {
	h.in = or(b.DuctIn, sample.Air)
	ps := s.exchangePriors()
	if b.Level == 0 || !(s.FlowM3s > 0) {
		h.known = b.Level == 0
		q.RunS = 0
		q.warm(0, sample.StepS)
		return h
	}
	q.RunS += sample.StepS
	q.RanS += sample.StepS
	q.Exchange.wander(ps, sample.StepS)
	eff := q.share(b.Level)
	if h.in.Known && b.Between.Known && b.DuctOut.Known && q.RunS > settleS {
		s.exchange(q, b, &h, ps, sample.StepS)
	}
	h.stream(q, s, b, air, eff, pPa)
	if h.known {
		q.warm(h.statedW, sample.StepS)
	}
	return h
}

// exchange compares the fall of the air's temperature with what was foretold.
func (s *Store) exchange(q *StoreParams, b *StoreSample, h *passed, ps []prior, stepS float64) {
	eff := q.share(b.Level)
	toWall := float64(h.in.C.Sub(q.wall(b.Between.C)))
	toSoil := math.Abs(float64(h.in.C.Sub(b.Between.C)))
	const least = 1.5 // K between air and soil, under which probes tell nothing
	if toSoil < least {
		return
	}
	seen := float64(h.in.C.Sub(b.DuctOut.C))
	ntu := -math.Log1p(-min(eff, 1-1e-12))
	slope := [order]float64{ntu * math.Exp(-ntu) * toWall, -eff * q.Near[0], -eff * q.Near[1], -eff * q.Near[2], -eff}
	h.foretold, h.seen = eff*toWall, seen
	// Two probes of a tenth, and pipes that are not alike. Readings within an hour err alike.
	noise := math.Hypot(0.15, 0.03*toSoil) * math.Sqrt(max(1, hourS/stepS))
	q.Exchange.observe(ps, slope, seen-eff*toWall, noise, stepS/hourS)
}

// What the heat of a stream may be off by, one standard error each; common practice, no source.
const (
	ductsK     = 0.1  // one thermometer over the other, always the same way
	hygrometer = 0.02 // of the vapour; over saturation there is none
	// rougher is how far the film of pipes may be off where it is stated whether they are corrugated,
	// which makes it 2.3-fold (Gnielinski's coefficient with Manning's friction, as physics.Pipe).
	rougher = 1.3
)

// stream finds the heat at the stated flow: from the duct probes, or as foretold.
func (h *passed) stream(q *StoreParams, s *Store, b *StoreSample, air Moist, eff, pPa float64) {
	out := b.DuctOut
	if !h.in.Known || !out.Known && !b.Between.Known {
		return
	}
	if !out.Known {
		out.C = h.in.C.Add(unit.Kelvin(eff) * q.wall(b.Between.C).Sub(h.in.C))
	}
	to := func(w, wider float64, outC unit.Celsius) float64 {
		in := physics.Air{C: h.in.C, W: w}
		return physics.ExchangeTo(in, s.FlowM3s*b.Level, q.film(s, b.Level, wider), outC, pPa).TotalW()
	}
	h.statedW, h.known = to(air.W, 1, out.C), true
	h.doubtW = to(air.W, 1, out.C.Add(-ductsK)) - h.statedW
	if air.W > 0 && out.C < h.in.C {
		damper := max(air.W, min(air.W*(1+hygrometer), physics.SatHumidityRatio(h.in.C, pPa)))
		h.doubtW = math.Hypot(h.doubtW, to(damper, 1, out.C)-h.statedW)
		h.doubtW = math.Hypot(h.doubtW, to(air.W, 1/rougher, out.C)-h.statedW)
	}
}

// warm moves the soil next to the pipe on.
func (q *StoreParams) warm(statedW, stepS float64) {
	for k, timeS := range [near]float64{quickS, middleS, slowS} {
		q.Near[k] -= (statedW - q.Near[k]) * math.Expm1(-stepS/timeS)
	}
}
