package sim

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Params is what a house is made of.
type Params struct {
	LossWK       float64 // through film and leaks, W/K
	FloorM2      float64
	Transmission float64 // share of the sun on the horizontal that stays in the house as heat, 0 to 1
	// AirJK is the heat that warms air, crop and the top of the soil by 1 K, J/K.
	AirJK      float64
	VolumeM3   float64
	PressurePa float64
	Heater     Heater
	Stores     []Store
}

// Heater is the house's heater with its thermostat. The zero value is none.
type Heater struct {
	OutputW  float64
	Setpoint unit.Celsius
	Band     unit.Kelvin // it heats from Setpoint up to Setpoint + Band
}

// Store is a body of soil with its pipes.
type Store struct {
	CapacityJK    float64 // of the soil the pipes reach, J/K
	LossWK        float64 // to the ground around it, W/K
	Ground        unit.Celsius
	Effectiveness float64 // of its pipes, 0 to 1
}

// State is a house at one instant: plain data.
type State struct {
	Air     unit.Celsius
	Vapour  float64 // humidity ratio, kg/kg
	Heating bool
	Soil    []unit.Celsius // of each store
	// What has gone through since the beginning, J: fuel heat, and heat into the soil of each store.
	HeaterJ float64
	IntoJ   []float64
}

// Weather is what the sky does at one instant.
type Weather struct {
	Outside unit.Celsius
	Vapour  float64 // humidity ratio outside, kg/kg
	SunWm2  float64 // on the horizontal
}

// Humidity is the relative humidity in the house, 0 to 1.
func (st *State) Humidity(pressurePa float64) float64 {
	return min(1, st.Vapour/physics.SatHumidityRatio(st.Air, pressurePa))
}

// longestS is the longest step that is taken at once, s.
const longestS = 30

// Advance moves a house on by dtS seconds under the same weather, with flowM3s of air through the
// pipes of each store. The slices of st are reused.
func Advance(p *Params, st State, w Weather, flowM3s []float64, dtS float64) State {
	for left := dtS; left > 0; left -= longestS {
		st = step(p, st, w, flowM3s, min(left, longestS))
	}
	return st
}

// step takes the losses implicitly, so that no step makes the air overshoot.
func step(p *Params, st State, w Weather, flowM3s []float64, dtS float64) State {
	gainW := w.SunWm2 * p.FloorM2 * p.Transmission
	st.thermostat(p)
	if st.Heating {
		gainW += p.Heater.OutputW
		st.HeaterJ += p.Heater.OutputW * dtS
	}
	airKg := p.VolumeM3 / physics.SpecificVolume(st.Air, st.Vapour, p.PressurePa)
	waterKgS := 0.0
	for i := range p.Stores {
		x := physics.Exchange(physics.Air{C: st.Air, W: st.Vapour}, flowM3s[i],
			p.Stores[i].Effectiveness, st.Soil[i], p.PressurePa)
		gainW -= x.SensibleW
		waterKgS -= x.CondensateKgS
		st.IntoJ[i] += x.TotalW() * dtS
		store := &p.Stores[i]
		heatJ := x.TotalW()*dtS + store.LossWK*float64(store.Ground.Sub(st.Soil[i]))*dtS
		st.Soil[i] = st.Soil[i].Add(unit.Kelvin(heatJ / store.CapacityJK))
	}
	evaporationW := p.evaporation(&st, w)
	gainW -= evaporationW
	waterKgS += evaporationW / vaporizationJkg

	k := dtS / p.AirJK
	st.Air = unit.Celsius((float64(st.Air) + k*(gainW+p.LossWK*float64(w.Outside))) / (1 + k*p.LossWK))
	st.Vapour = p.moisten(st.Vapour+waterKgS*dtS/airKg, st.Air, w, dtS)
	return st
}

// thermostat switches the heater.
func (st *State) thermostat(p *Params) {
	switch {
	case p.Heater.OutputW <= 0 || st.Air >= p.Heater.Setpoint.Add(p.Heater.Band):
		st.Heating = false
	case st.Air < p.Heater.Setpoint:
		st.Heating = true
	}
}

const vaporizationJkg = 2.5e6 // heat to evaporate water, J/kg; ASHRAE Fundamentals 2017, ch. 1, eq. 32

// evaporation is the heat that damp soil and crop take from the air to evaporate water, W: a
// share of the sun, and less the damper the air. Common practice, no source.
func (p *Params) evaporation(st *State, w Weather) float64 {
	const share, night = 0.3, 3.0 // of the sun; W/m²
	dry := 1 - st.Humidity(p.PressurePa)
	return p.FloorM2 * (share*w.SunWm2*p.Transmission + night) * dry
}

// moisten lets vapour leave by air change and condense on the film, which is about half way
// between the air inside and outside.
func (p *Params) moisten(vapour float64, air unit.Celsius, w Weather, dtS float64) float64 {
	const changesPerS = 0.75 / 3600 // greenhouse-S014: 0.5 to 1 an hour under double polyethylene
	const filmS = 1200
	vapour += (w.Vapour - vapour) * (1 - math.Exp(-changesPerS*dtS))
	film := physics.SatHumidityRatio((air+w.Outside)/2, p.PressurePa)
	if vapour > film {
		vapour += (film - vapour) * (1 - math.Exp(-dtS/filmS))
	}
	return max(0, min(vapour, physics.SatHumidityRatio(air, p.PressurePa)))
}
