package controller

import (
	"fmt"
	"reflect"
	"slices"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/physics"
	"loambank/controller/trial"
	"loambank/drivers"
	"loambank/drivers/model"
)

// simulation is the simulated house behind a house's model devices.
type simulation struct {
	of    shape
	house *model.House
}

// shape is all of a house's settings that its simulation is made from.
type shape struct {
	LengthM, WidthM, HeaterOutputW, HouseLossWK float64
	AirChanges                                  float64
	Cover                                       physics.Covering
	Screen                                      bool
	Vents                                       config.Vents
	Soil                                        config.Soil
	Insulation                                  config.Insulation
	Pipes                                       []config.Pipes
	Heater                                      decide.Heater
	Stores                                      []decide.Store
	Probes                                      []house.Probe
}

func shapeOf(h *config.House) shape {
	d := &h.House.Decide
	return shape{
		h.LengthM, h.WidthM, h.HeaterOutputW, d.HouseLossWK, h.AirChanges, h.Cover, h.Screen, h.Vents, h.Soil, h.Insulation,
		h.Pipes, d.Heater, d.Stores, h.House.Probes,
	}
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
	now := before
	if of := shapeOf(h); now == nil || !reflect.DeepEqual(of, now.of) {
		behind, err := simulate(h, clock)
		if err != nil {
			return nil, nil, err
		}
		if err := shown(h, behind); err != nil {
			return nil, nil, err
		}
		now = &simulation{of, behind}
	}
	own := *h
	own.Probes = slices.Clone(h.Probes)
	own.Fans = slices.Clone(h.Fans)
	for i := range own.Probes {
		if s := &own.Probes[i]; s.Driver == "model" {
			s.Simulated = drivers.Simulated{House: now.house, Index: i}
		}
	}
	for i := range own.Fans {
		own.Fans[i] = slices.Clone(h.Fans[i])
		for j := range own.Fans[i] {
			if s := &own.Fans[i][j]; s.Driver == "model" {
				s.Simulated = drivers.Simulated{House: now.house, Store: i, Index: j}
			}
		}
	}
	return &own, now, nil
}

// shown refuses probes that the simulated house does not show.
func shown(h *config.House, behind *model.House) error {
	for i, s := range h.Probes {
		if s.Driver != "model" {
			continue
		}
		if _, err := behind.Probe(s.Name, i); err != nil {
			return fmt.Errorf("%s: probe %s: the model has no %s", s.Where, s.Name, h.House.Probes[i].Judge.Role)
		}
	}
	return nil
}

// simulate builds the house on a morning of an invented late autumn, its soil still warm.
func simulate(h *config.House, clock Clock) (*model.House, error) {
	const mean, coldest unit.Celsius = 6, -6
	from := clock.Now()
	autumn := &trial.Autumn{
		Site: h.House.Decide.Season.Site, First: from, Mean: mean, CoolingKDay: 0.3, Coldest: coldest,
		PressurePa: h.House.Decide.PressurePa,
	}
	const october = 290 // the day that the soil is as warm as on
	plant, err := trial.NewPlant(h, autumn.Ground(), october, model.Step.Seconds())
	if err != nil {
		return nil, err
	}
	var fans []int
	for i := range h.House.Decide.Stores {
		fans = append(fans, len(h.House.Decide.Stores[i].Fans))
	}
	return model.New(trial.NewLive(plant, from, autumn.At), fans, clock.Now), nil
}

func hasModel(h *config.House) bool {
	isModel := func(s drivers.Stanza) bool { return s.Driver == "model" }
	return slices.ContainsFunc(h.Probes, isModel) ||
		slices.ContainsFunc(h.Fans, func(fans []drivers.Stanza) bool { return slices.ContainsFunc(fans, isModel) })
}
