// Package lesson puts the settings of a house, and what its ticks read, into the words of package
// learn: the same for a running house and for a recording.
//
// What is learned from them is in package learn; nothing is kept here.
package lesson

import (
	"fmt"
	"hash/fnv"
	"math"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
)

// Settings is what the settings state of a house for learning.
func Settings(h *config.House) learn.Settings {
	d := &h.House.Decide
	s := learn.Settings{
		PressurePa: d.PressurePa, FloorM2: h.LengthM * h.WidthM, HouseLossWK: d.HouseLossWK,
		Heater: learn.Heater{Present: d.Heater.Present, Setpoint: d.Heater.Setpoint, Band: d.Heater.Band, OutputW: h.HeaterOutputW},
	}
	if h.Vents.PerH > 0 {
		s.VentsAt = learn.Temp{C: h.Vents.OpensAt, Known: true}
	}
	if p := &d.Policies[0]; p.Crop {
		s.CropLimit = learn.Temp{C: p.Frost, Known: true}
	}
	const diffusivityM2s = 5e-7 // damp loam; soil_properties.csv
	for i := range d.Stores {
		store, pipes := &d.Stores[i], h.Pipes[i]
		x := learn.Store{
			Effectiveness: store.Effectiveness, CapacityJK: h.House.CapacityJK[i], PipeM: float64(pipes.Count) * pipes.LengthM,
			LagS: math.Pow(pipes.SpacingM/(2*math.Pi), 2) / diffusivityM2s,
		}
		key := fnv.New64a()
		for j := range store.Fans {
			f := &store.Fans[j]
			x.FlowM3s += f.FlowM3s
			x.PowerW += f.PowerW
			x.Catalogue = x.Catalogue || f.Catalogue
			fmt.Fprintf(key, "%s %g %g;", f.Name, f.FlowM3s, f.PowerW)
		}
		x.Fans = key.Sum64()
		x.FilmNTU = pipes.FilmNTU(x.FlowM3s, d.PressurePa)
		s.Stores = append(s.Stores, x)
	}
	return s
}

// Sample is what a tick read, and what the fans did since the last one by what was in force, stepS
// seconds, for learning. Only readings of this tick are in it. Dark says that the sun is down.
func Sample(h *house.Settings, result *house.Result, inForce *decide.Decision, dark bool, stepS float64) learn.Sample {
	in, d := &result.Inputs, &h.Decide
	x := learn.Sample{
		StepS: stepS, Air: Temp(in.CropAir), Outside: Temp(in.Outside), Dark: dark,
		Heater: contactOf(in.HeaterOn), Vent: contactOf(in.VentOpen),
	}
	if w := in.Humidity; w.Quality == judge.Good {
		x.Humidity = learn.Number{V: w.V, Known: true}
	}
	undisturbed := undisturbed(h, result.Verdicts)
	for i := range d.Stores {
		s, y := &in.Stores[i], &x.Stores[i]
		y.Between = learn.Temp{C: s.Soil.C, Known: s.Soil.Known && s.Soil.LostS == 0}
		y.Root, y.DuctIn, y.DuctOut = Temp(s.RootMax), Temp(s.DuctIn), Temp(s.DuctOut)
		y.Undisturbed, y.Water = undisturbed, contactOf(s.PipeWater)
		full, moved, drawn := 0.0, 0.0, learn.Number{Known: true}
		for j := range d.Stores[i].Fans {
			f := &d.Stores[i].Fans[j]
			full += f.FlowM3s
			moved += f.FlowAt(inForce.Stores[i].Stages[j])
			drawn.V += s.Fans[j].PowerW
			drawn.Known = drawn.Known && s.Fans[j].PowerKnown
		}
		if full > 0 {
			y.Level = moved / full
		}
		if drawn.Known {
			y.FanW = drawn
		}
	}
	return x
}

// undisturbed is soil that no pipe warms.
func undisturbed(h *house.Settings, verdicts []judge.Verdict) learn.Temp {
	for i := range h.Probes {
		p := &h.Probes[i].Judge
		if p.Role == judge.Soil && p.Place == judge.Undisturbed && verdicts[i].Quality.Usable() {
			return learn.Temp{C: unit.Celsius(verdicts[i].Value), Known: true}
		}
	}
	return learn.Temp{}
}

// Temp is a temperature for learning: known where it is usable.
func Temp(t decide.Temperature) learn.Temp { return learn.Temp{C: t.C, Known: t.Quality.Usable()} }

func contactOf(c decide.Contact) learn.Contact {
	switch c {
	case decide.On:
		return learn.On
	case decide.Off:
		return learn.Off
	}
	return learn.Unknown
}
