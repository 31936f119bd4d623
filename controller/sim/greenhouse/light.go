package greenhouse

import "math"

// sunshine is where the sun's heat stays, W for each W/m² on the horizontal; of soil, for each m² of it.
type sunshine struct{ cover, contents, crop, soilM2 float64 }

// shading is the share of the floor that leaves shade from light: Beer's law with 0.7, a usual
// extinction of leaves that lie every way (Monsi and Saeki 1953; Stanghellini 1987), from memory.
func (c Crop) shading() float64 { return 1 - math.Exp(-0.7*c.LeafArea) }

// sunlight shares out the sun. A round roof has for every sun a part that faces it, so that one
// transmission serves for all its heights; what comes in through the walls beyond the floor's own
// share goes out through the wall across.
func (h *House) sunlight() sunshine {
	// Leaves reflect a fifth, damp soil a sixth: usual values, no source.
	const onContents, leavesKeep, soilKeeps = 0.05, 0.8, 0.85
	in := h.p.FloorM2 * h.p.Cover.Transmission
	return sunshine{
		cover:    h.p.FloorM2 * h.p.Cover.Absorption,
		contents: in * onContents,
		crop:     in * (1 - onContents) * h.shade * leavesKeep,
		soilM2:   h.p.Cover.Transmission * (1 - onContents) * (1 - h.shade) * soilKeeps,
	}
}
