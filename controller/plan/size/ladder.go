package size

import (
	"fmt"

	"loambank/config"
	"loambank/controller/physics"
)

// usualDepthM is where pipes lie when the settings state none.
const usualDepthM = 0.45

// Air changes an hour of the stores on the ladder. About 12 with fans running is common practice, no
// source.
var changesPerHour = [...]float64{1.5, 3, 6, 12}

const (
	usualPerHour = 6    // of the stores that are compared
	overBuilt    = 2.0  // times the pipes that the last store needs
	runH         = 2000 // of fans in a winter, for which pipes are laid out: common practice, no source
)

// Step is a design on the ladder, or beside it, or why there is none.
type Step struct {
	Design
	Beside bool // for comparison: not a step of the ladder
	Costs  float64
	Err    error // what keeps air from going through
}

// Ladder returns the designs from a bare single film, the first, to an over-built store, and beside
// them the usual store in stone and with a board round it. Covers are the settings' own, their pipes'
// depth too.
func Ladder(h *config.House, c config.Costs) []Step {
	depthM := usualDepthM
	if p := h.Pipes[0]; p.Count > 0 {
		depthM = p.DepthM
	}
	kWhPrice := h.House.Decide.Tariff.ElectricityPerKWh
	steps := []Step{{Design: Design{Name: "single film, bare", Cover: physics.SingleFilm}}}
	own := Design{Cover: h.Cover}
	if h.Cover != physics.SingleFilm {
		own.Name = h.Cover.String() + ", bare"
		steps = append(steps, Step{Design: own})
	}
	screen := Design{Name: "the same with a screen", Cover: h.Cover, Screen: true}
	steps = append(steps, Step{Design: screen})
	var usual, last Step
	for _, perHour := range changesPerHour {
		step := Step{Design: own}
		step.Name = fmt.Sprintf("store, %g air changes", perHour)
		step.Screen, step.Insulation = h.Screen, h.Insulation
		step.Pipes, step.Duct, step.Err = Lay(h, c, depthM, Flow(h, perHour), runH, kWhPrice)
		steps = append(steps, step)
		if step.Err == nil {
			last = step
			if perHour <= usualPerHour {
				usual = step
			}
		}
	}
	if last.Store() {
		steps = append(steps, over(h, &last.Design))
	}
	if usual.Store() {
		stone := Step{Design: usual.Design, Beside: true}
		stone.Name, stone.Stone = usual.Name+", in stone", true
		board := Step{Design: usual.Design, Beside: true}
		board.Name, board.Insulation = usual.Name+", board round it", config.Insulation{ThickM: 0.05, DepthM: 0.6}
		steps = append(steps, stone, board)
	}
	for i := range steps {
		steps[i].Costs = Cost(&steps[i].Design, h, c)
	}
	return steps
}

// over is a store of twice the pipes, as far as they find room, with a board and a screen.
func over(h *config.House, last *Design) Step {
	step := Step{Design: *last}
	step.Name, step.Screen = "over-built: more pipes, board, screen", true
	step.Insulation = config.Insulation{ThickM: 0.05, DepthM: 1}
	p := &step.Pipes
	p.SpacingM = max(p.SpacingM/overBuilt, usualSpacedD*p.DiameterM)
	p.Count = mostUnder(h, *p)
	step.Duct, step.Err = Blow(h, *p, last.Duct.FlowM3s)
	return step
}
