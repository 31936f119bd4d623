package trial

import (
	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
)

// What a settings file does not say of a house. Where no source stands beside a figure it is common
// practice, no source.
const (
	contentsJm2K = 10e3
	dampSoil     = 0.25 // mulched or dry on top, watered below
	leafArea     = 1.5  // a young winter crop
	ventBand     = unit.Kelvin(6)
	heaterShare  = 0.8 // of the fuel's heat that reaches the house; money counts by the settings' price
	heaterK      = 25  // an output that is not stated holds the house this far over outside, K

	usualSpacingM = 0.6
	usualDepthM   = 0.45
	usualLengthM  = 15.0

	surfaceWm2K    = 6.0 // still air over damp beds, radiation in it
	depthM         = 4.0
	rootM          = 0.12
	segments       = 6
	drained        = 0.9 // of what condenses: perforated pipes lie in soil that takes it
	holdsKgM       = 0.02
	usualDiameterM = 0.10
	// Crushed stone, drained and dry between the grains, as in physics.Materials.
	stoneJm3K  = 1.25e6
	stoneWmK   = 0.35
	stoneM     = 0.15
	foamWmK    = 0.035 // extruded foam board, from memory
	edgeReachM = 2.5
	// groundOver is how much warmer bare ground is than air over the year (see physics.FitGround).
	groundOver unit.Kelvin = 1
)

// soilOf is the soil under a house: the same at all depths, or crushed stone from stoneM over the
// pipes' axes to stoneM under them.
func soilOf(s config.Soil, pipesM float64) []ground.Layer {
	soil := physics.Typical(s.Texture)
	native := ground.Layer{
		ThickM: depthM, CapacityJm3K: soil.HeatCapacityJM3K(s.Water), ConductWmK: soil.ConductivityWmK(s.Water),
	}
	if !s.Stone {
		return []ground.Layer{native}
	}
	over := native
	over.ThickM = max(pipesM-stoneM, 0.05)
	return []ground.Layer{over, {ThickM: pipesM + stoneM - over.ThickM, CapacityJm3K: stoneJm3K, ConductWmK: stoneWmK}, native}
}

// usualSoil is loam as damp as a bed that is farmed.
func usualSoil() config.Soil { return config.Soil{Texture: physics.Loam, Water: 0.25} }

// coverOf is the cover of a house with its screen.
func coverOf(h *config.House) greenhouse.Cover {
	cover := greenhouse.CoverOf(h.Cover)
	if h.Screen {
		cover.Screen = greenhouse.CoverOf(physics.DoubleFilmCurt).Screen
	}
	return cover
}

// edgeOf is the outside of the stores with the board that stands there.
func edgeOf(i config.Insulation) ground.Edge {
	return ground.Edge{ReachM: edgeReachM, InsulationM2KW: i.ThickM / foamWmK, InsulationDepthM: i.DepthM}
}

// groundPipes are the pipes of a store as the soil knows them.
func groundPipes(p config.Pipes) ground.Pipes {
	g := ground.Pipes{
		Count: p.Count, LengthM: p.LengthM, SpacingM: p.SpacingM, DepthM: p.DepthM, DiameterM: p.DiameterM,
		Segments: segments, DrainedShare: drained, HoldsKgM: holdsKgM,
	}
	if !p.Smooth {
		g.ManningN = physics.ManningDrainTubing
	}
	if p.Sealed {
		g.DrainedShare = 0
	}
	return g
}
