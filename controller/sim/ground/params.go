package ground

import (
	"errors"
	"fmt"
	"math"

	"loambank/controller/physics"
)

// Params is what a store is made of. All of it must be stated, but for what says otherwise.
type Params struct {
	Layers []Layer // from the surface down; the last goes on to DepthM
	// DepthM is where the undisturbed ground takes over, m below the surface: well below the
	// pipes, 3 to 6 usually. The annual wave still reaches there; Ground knows it.
	DepthM float64
	Pipes  Pipes
	// SurfaceWm2K is the usual coefficient between the air in the house and the soil's surface,
	// over 0, W/(m² K). Another may hold in any step; only that it is the same over the whole
	// width between two pipes is taken from here.
	SurfaceWm2K float64
	Edge        Edge
	// Closed lets no air into the pipes, whatever is sent: a floor beside stores.
	Closed bool
	// Ground is the undisturbed ground around and below. With the soil's own diffusivity a store that
	// nothing acts on keeps to it.
	Ground physics.GroundWave
	// Fineness divides the cells: 0 or 1 is usual, 2 halves them, 4 at most.
	Fineness int
}

// Layer is a layer of soil.
type Layer struct {
	ThickM       float64
	CapacityJm3K float64 // heat capacity by volume, J/(m³ K)
	ConductWmK   float64 // thermal conductivity, W/(m K)
}

// Pipes are equal pipes side by side, all fed from one end.
type Pipes struct {
	Count     int
	LengthM   float64
	DiameterM float64
	SpacingM  float64 // between the axes of neighbours; the outer pipes have half of it outside
	DepthM    float64 // of the axes
	// ManningN of corrugated pipes, s/m^(1/3), and RoughnessM, m, are as in physics.Pipe; 0 is smooth.
	ManningN   float64
	RoughnessM float64
	Segments   int // cross-sections along a pipe, 1 to 100; 6 to 10 resolve the warm end
	// DrainedShare of the water that condenses leaves at once through the perforations, 0 to 1.
	DrainedShare float64
	// HoldsKgM is the water that can stand in a metre of pipe and evaporate again, kg/m. What is
	// more drains. 0: all drains.
	HoldsKgM float64
}

// Edge is the store's outside, all round down to DepthM. The zero value lets no heat pass.
type Edge struct {
	// ReachM is the soil that heat crosses between the edge and undisturbed ground of the same
	// depth, m: the shorter of about the annual damping depth, 2.5, and the way to the cold
	// surface, a quarter circle of the mean depth (Latta and Boileau 1969, from memory). 0: no
	// heat passes.
	ReachM float64
	// InsulationM2KW is the resistance of a board all round from the surface down to
	// InsulationDepthM, m² K/W. 0: none.
	InsulationM2KW   float64
	InsulationDepthM float64
}

// pipe is one of them.
func (p *Pipes) pipe() physics.Pipe {
	return physics.Pipe{DiameterM: p.DiameterM, LengthM: p.LengthM, ManningN: p.ManningN, RoughnessM: p.RoughnessM}
}

// resistance is that of a m² of edge at depth, with innerM of soil before it, m² K/W.
func (e Edge) resistance(conductWmK, depthM, innerM float64) float64 {
	r := (e.ReachM + innerM) / conductWmK
	if depthM < e.InsulationDepthM {
		r += e.InsulationM2KW
	}
	return r
}

func (p *Params) shape() shape {
	return shape{
		radius: p.Pipes.DiameterM / 2, pipeDepth: p.Pipes.DepthM, halfWidth: p.Pipes.SpacingM / 2,
		depth: p.DepthM, fineness: max(1, p.Fineness),
	}
}

// soil returns the conductivity and capacity between two depths: thin layers in series, each with
// its share.
func (p *Params) soil(topM, bottomM float64) (conductWmK, capacityJm3K float64) {
	middle := (topM + bottomM) / 2
	var resistance, capacity, upper float64
	for i, l := range p.Layers {
		lower := upper + l.ThickM
		if i == len(p.Layers)-1 {
			lower = math.Inf(1)
		}
		switch in := min(lower, bottomM) - max(upper, topM); {
		case bottomM == topM && upper <= middle && middle < lower:
			return l.ConductWmK, l.CapacityJm3K
		case in > 0:
			resistance += in / l.ConductWmK
			capacity += in * l.CapacityJm3K
		}
		upper = lower
	}
	return (bottomM - topM) / resistance, capacity / (bottomM - topM)
}

// check names everything that is wrong.
func (p *Params) check() error {
	var all []error
	must := func(ok bool, format string, args ...any) {
		if !ok {
			all = append(all, fmt.Errorf(format, args...))
		}
	}
	over := func(name string, v float64) {
		must(v > 0 && !math.IsInf(v, 0), "%s is %g; it must be over 0", name, v)
	}
	must(len(p.Layers) > 0, "no layer of soil; state at least one")
	for i, l := range p.Layers {
		if i < len(p.Layers)-1 {
			over(fmt.Sprintf("layer %d: thickness", i+1), l.ThickM)
		}
		over(fmt.Sprintf("layer %d: heat capacity", i+1), l.CapacityJm3K)
		over(fmt.Sprintf("layer %d: conductivity", i+1), l.ConductWmK)
	}
	over("surface coefficient", p.SurfaceWm2K)
	over("pipe length", p.Pipes.LengthM)
	over("pipe diameter", p.Pipes.DiameterM)
	must(p.Pipes.Count >= 1, "%d pipes; at least 1", p.Pipes.Count)
	must(p.Pipes.Segments >= 1 && p.Pipes.Segments <= 100, "%d segments; 1 to 100", p.Pipes.Segments)
	must(p.Pipes.DrainedShare >= 0 && p.Pipes.DrainedShare <= 1, "drained share %g; 0 to 1", p.Pipes.DrainedShare)
	must(p.Pipes.HoldsKgM >= 0, "water held %g kg/m; 0 or more", p.Pipes.HoldsKgM)
	must(p.Pipes.ManningN >= 0 && p.Pipes.RoughnessM >= 0, "roughness of the pipes under 0; 0 or more")
	must(p.Ground.Amplitude >= 0 && p.Ground.DiffusivityM2s >= 0, "the ground's amplitude or diffusivity is under 0; 0 or more")
	must(p.Edge.ReachM >= 0 && p.Edge.InsulationM2KW >= 0 && p.Edge.InsulationDepthM >= 0,
		"a length or resistance of the edge is under 0; 0 or more")
	must(p.Fineness >= 0 && p.Fineness <= 4, "fineness %d; 0 to 4", p.Fineness)
	s := p.shape()
	must(s.boxM() >= 1.3*s.radius,
		"pipes of %g m, %g m apart and %g m deep, are too near each other or the surface; spacing and depth of 1.8 diameters do",
		p.Pipes.DiameterM, p.Pipes.SpacingM, p.Pipes.DepthM)
	must(p.DepthM >= 1.5*p.Pipes.DepthM+s.radius, "the store ends %g m deep; let it reach half as deep again as its pipes, %g m",
		p.DepthM, 1.5*p.Pipes.DepthM+s.radius)
	return errors.Join(all...)
}
