package controller

import (
	"fmt"
	"math"
	"reflect"
	"slices"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/judge"
	"loambank/controller/physics"
	"loambank/controller/sim"
	"loambank/drivers"
	"loambank/drivers/model"
)

// simulation is the simulated house behind a house's model devices.
type simulation struct {
	params sim.Params
	house  *model.House
}

// played returns h with the clock behind its recordings, or h itself where it has none.
func played(h *config.House, clock Clock) *config.House {
	own := *h
	own.Probes = slices.Clone(h.Probes)
	some := false
	for i := range own.Probes {
		if own.Probes[i].Driver == "recording" {
			own.Probes[i].Now, some = clock.Now, true
		}
	}
	if !some {
		return h
	}
	return &own
}

// simulated returns h with a simulated house behind its model devices, or h itself where it has
// none. The simulation of before goes on where its house is the same.
func simulated(h *config.House, clock Clock, before *simulation) (*config.House, *simulation, error) {
	if !hasModel(h) {
		return h, nil, nil
	}
	own := *h
	own.Probes = slices.Clone(h.Probes)
	own.Fans = slices.Clone(h.Fans)
	now := before
	if params := simParams(h); now == nil || !reflect.DeepEqual(params, now.params) {
		now = &simulation{params, model.New(params, simStart(h), autumn(h, clock).At, clock.Now)}
	}
	m := now.house
	for i := range own.Probes {
		p, s := &h.House.Probes[i], &own.Probes[i]
		if s.Driver != "model" {
			continue
		}
		q, ok := quantity(p.Judge.Role)
		if !ok {
			return nil, nil, fmt.Errorf("%s: probe %s: the model has no %s", s.Where, s.Name, p.Judge.Role)
		}
		s.Simulated = drivers.Simulated{House: m, Quantity: q, Store: max(0, p.Store)}
	}
	for i := range own.Fans {
		own.Fans[i] = slices.Clone(h.Fans[i])
		for j := range own.Fans[i] {
			if s := &own.Fans[i][j]; s.Driver == "model" {
				s.Simulated = drivers.Simulated{House: m, Store: i, FlowM3s: h.House.Decide.Stores[i].Fans[j].FlowM3s}
			}
		}
	}
	return &own, now, nil
}

func hasModel(h *config.House) bool {
	for _, s := range h.Probes {
		if s.Driver == "model" {
			return true
		}
	}
	for _, fans := range h.Fans {
		for _, s := range fans {
			if s.Driver == "model" {
				return true
			}
		}
	}
	return false
}

// quantity is what a probe of a role reads in the model.
func quantity(r judge.Role) (model.Quantity, bool) {
	switch r {
	case judge.Air:
		return model.Air, true
	case judge.Humidity:
		return model.Humidity, true
	case judge.Outside:
		return model.Outside, true
	case judge.HeaterOn:
		return model.HeaterOn, true
	case judge.Soil:
		return model.Soil, true
	}
	return 0, false
}

// What a settings file does not say of a house: common practice, no source.
const (
	groundC      unit.Celsius = 11    // the ground around a store
	airJKm2      float64      = 40e3  // air, crop and top of the soil of a square metre, J/K
	leakDays     float64      = 20    // in which a store left alone loses most of what it has over the ground
	storeJKm2    float64      = 1.1e6 // of a store whose pipes are not stated: half a metre of damp loam
	transmission float64      = 0.6   // greenhouse-S018: double film with frame and dirt
)

func simParams(h *config.House) sim.Params {
	d := &h.House.Decide
	floor := h.LengthM * h.WidthM
	p := sim.Params{
		LossWK: d.HouseLossWK, FloorM2: floor, Transmission: transmission,
		AirJK: airJKm2 * floor, VolumeM3: math.Pi / 8 * h.WidthM * h.WidthM * h.LengthM,
		PressurePa: d.PressurePa,
	}
	if d.Heater.Present {
		p.Heater = sim.Heater{OutputW: h.HeaterOutputW, Setpoint: d.Heater.Setpoint, Band: d.Heater.Band}
		if p.Heater.OutputW == 0 {
			p.Heater.OutputW = 25 * d.HouseLossWK // enough for 25 K over outside
		}
	}
	for i := range d.Stores {
		capacity := h.House.CapacityJK[i]
		if capacity == 0 {
			capacity = storeJKm2 * floor / float64(len(d.Stores))
		}
		p.Stores = append(p.Stores, sim.Store{
			CapacityJK: capacity, LossWK: capacity / (leakDays * 86400),
			Ground: groundC, Effectiveness: d.Stores[i].Effectiveness,
		})
	}
	return p
}

// simStart is the house on an early morning of late autumn, its soil still warm.
func simStart(h *config.House) sim.State {
	const air, soil unit.Celsius = 7, 15
	st := sim.State{Air: air, Vapour: physics.HumidityRatio(air, 0.95, h.House.Decide.PressurePa)}
	for range h.House.Decide.Stores {
		st.Soil = append(st.Soil, soil)
	}
	st.IntoJ = make([]float64, len(st.Soil))
	return st
}

func autumn(h *config.House, clock Clock) *sim.Autumn {
	return &sim.Autumn{
		Site: h.House.Decide.Season.Site, First: clock.Now(), Mean: 6, CoolingKDay: 0.3,
		PressurePa: h.House.Decide.PressurePa,
	}
}
