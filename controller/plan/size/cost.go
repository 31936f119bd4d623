package size

import (
	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
)

const (
	trenchWideM = 0.4  // a spade's or a small digger's
	stoneDeepM  = 0.3  // of crushed stone around a pipe
	boardM      = 0.05 // of foam board that a price is for
	pipeM       = 0.10 // of pipe that a price is for
)

// buildCost returns what the design costs to build on the bare frame, in the currency of the costs.
func buildCost(d *Design, h *config.House, c config.Costs) float64 {
	coverM2, _ := physics.HalfCylinder(h.WidthM, h.LengthM)
	cost := float64(greenhouse.CoverOf(d.Cover).Films) * coverM2 * c.FilmPerM2
	if d.Screen {
		cost += h.LengthM * h.WidthM * c.ScreenPerM2
	}
	return cost + storeCost(d, h, c)
}

// storeCost is what its store costs, with what stands round it.
func storeCost(d *Design, h *config.House, c config.Costs) float64 {
	if !d.Store() {
		return 0
	}
	p := d.Pipes
	lengthM := float64(p.Count) * p.LengthM
	wideM := min(p.SpacingM, trenchWideM)
	cost := c.WiringPerStore + lengthM*c.PipePerM*p.DiameterM/pipeM + d.Duct.PowerW*c.FanPerW
	cost += lengthM * wideM * (p.DepthM + p.DiameterM/2) * c.TrenchPerM3
	if d.Stone {
		cost += lengthM * wideM * stoneDeepM * c.StonePerM3
	}
	aroundM := 2 * (h.LengthM + h.WidthM)
	return cost + aroundM*d.Insulation.DepthM*d.Insulation.ThickM/boardM*c.InsulationPerM2
}
