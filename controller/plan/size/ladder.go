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
	Bare   bool // the settings' own covers, without a store
	Costs  float64
	Err    error // what keeps air from going through
}

// Ladder returns the designs from a bare single film, the first, to an over-built store, and beside
// them a screen instead of a store, and the usual store in stone and with a board round it. Covers are the settings' own, their pipes'
// depth too.
func Ladder(h *config.House, c config.Costs) []Step {
	depthM := usualDepthM
	if p := h.Pipes[0]; p.Count > 0 {
		depthM = p.DepthM
	}
	kWhPrice := h.House.Decide.Tariff.ElectricityPerKWh
	own := Design{Cover: h.Cover, Screen: h.Screen}
	steps := []Step{{Design: Design{Name: "single film, bare", Cover: physics.SingleFilm}}}
	if own.Cover != physics.SingleFilm || own.Screen {
		own.Name = own.Cover.String() + ", bare"
		steps = append(steps, Step{Design: own})
	}
	steps[len(steps)-1].Bare = true
	if !own.Screen {
		steps = append(steps, Step{Design: Design{Name: "the same with a screen", Cover: h.Cover, Screen: true}, Beside: true})
	}
	var usual, last Step
	for _, perHour := range changesPerHour {
		step := Step{Design: own}
		step.Name = fmt.Sprintf("store, %g air changes", perHour)
		step.Insulation = h.Insulation
		step.Pipes, step.Duct, step.Err = lay(h, c, depthM, flowOf(h, perHour), runH, kWhPrice)
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
		steps[i].Costs = buildCost(&steps[i].Design, h, c)
	}
	return steps
}

// over is a store of twice the pipes, as far as they find room, with a board.
func over(h *config.House, last *Design) Step {
	step := Step{Design: *last}
	step.Name = "over-built: more pipes and a board"
	step.Insulation = config.Insulation{ThickM: 0.05, DepthM: 1}
	p := &step.Pipes
	p.SpacingM = max(p.SpacingM/overBuilt, usualSpacedD*p.DiameterM)
	p.Count = mostUnder(h, *p)
	step.Duct, step.Err = blow(h, *p, last.Duct.FlowM3s)
	return step
}
