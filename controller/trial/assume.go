package trial

import (
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
)

// What a settings file does not say of a house. Where no source stands beside a figure it is common
// practice, no source.
const (
	contentsJm2K = 10e3
	leakPerH     = 0.6  // greenhouse-S013, S014: 0.5 to 1 for new double film, all in
	dampSoil     = 0.25 // mulched or dry on top, watered below
	absorption   = 0.1
	leafArea     = 1.5 // a young winter crop
	ventPerH     = 30  // rolled-up sides
	ventBand     = unit.Kelvin(6)
	heaterShare  = 0.8 // of the fuel's heat that reaches the house; money counts by the settings' price
	heaterK      = 25  // an output that is not stated holds the house this far over outside, K

	usualSpacingM = 0.6
	usualDepthM   = 0.45
	usualLengthM  = 15.0

	surfaceWm2K = 6.0 // still air over damp beds, radiation in it
	depthM      = 4.0
	rootM       = 0.12
	segments    = 6
	drained     = 0.9 // of what condenses: perforated pipes lie in soil that takes it
	holdsKgM    = 0.02
	diameterM   = 0.10
	manningN    = 0.016 // corrugated drain pipe of 100 mm
	edgeReachM  = 2.5
	// groundOver is how much warmer bare ground is than air over the year (see physics.FitGround).
	groundOver unit.Kelvin = 1
)

// soil is what lies in every bed: loam as damp as a bed that is farmed. Volumetric water 0.25.
func soil() []ground.Layer {
	const water = 0.25
	loam := physics.Typical(physics.Loam)
	return []ground.Layer{{
		ThickM: depthM, CapacityJm3K: loam.HeatCapacityJM3K(water), ConductWmK: loam.ConductivityWmK(water),
	}}
}

// covers are the covers that a settings file knows.
var covers = map[string]greenhouse.Cover{
	"single film": {Films: 1, Transmission: 0.72, Absorption: absorption, Thermal: 0.4},
	"double film": {Films: 2, Transmission: 0.6, Absorption: absorption, Thermal: 0.4}, // transmission: greenhouse-S018
	"twin wall":   {Films: 2, Transmission: 0.65, Absorption: absorption, Thermal: 0},
	"glass":       {Films: 1, Transmission: 0.75, Absorption: absorption, Thermal: 0},
}
