package ground

import (
	"fmt"
	"slices"
)

// State is a store at one instant: plain data that survives JSON.
type State struct {
	SoilC  []float64 `json:"soil_c"`  // of each node, and for each its stretches from the inlet, °C
	FilmKg []float64 `json:"film_kg"` // water standing in one pipe, of each stretch
}

// State returns a copy of the store's state.
func (s *Store) State() State {
	return State{SoilC: slices.Clone(s.soil.tempC), FilmKg: slices.Clone(s.film)}
}

// Restore puts the store into a state of a store with the same Params.
func (s *Store) Restore(st State) error {
	if len(st.SoilC) != len(s.soil.tempC) || len(st.FilmKg) != len(s.film) {
		return fmt.Errorf("state of %d temperatures and %d stretches; this store has %d and %d",
			len(st.SoilC), len(st.FilmKg), len(s.soil.tempC), len(s.film))
	}
	copy(s.soil.tempC, st.SoilC)
	copy(s.film, st.FilmKg)
	return nil
}

// ReducedState is a Reduced store at one instant: plain data that survives JSON.
type ReducedState struct {
	Mean     []float64  `json:"mean"`        // of all stretches, its modes
	Apart    []float64  `json:"apart"`       // of each stretch from the inlet, how far its modes are from it
	FilmKg   []float64  `json:"film_kg"`     // water standing in one pipe, of each stretch
	HeatJ    float64    `json:"heat_j"`      // of one pipe's zone, above 0 °C
	Blown    bool       `json:"blown"`       // the last step blew air through the pipes
	WallWm   []float64  `json:"wall_w_m"`    // heat at the pipe in it, of each stretch
	SurfaceW float64    `json:"surface_w_m"` // and at the surface, besides the usual coefficient's
	GroundC  [4]float64 `json:"ground_c"`    // base, mean, swing, swing a quarter year ago
	MeanC    [2]float64 `json:"mean_wall_c"` // of all walls, while air blows, and the surface
	Slow     [4]float64 `json:"slow"`        // time that what is slow waits for, s; W s/(m K) of the surface's; J/m at pipe and surface
	Began    []float64  `json:"began"`       // Mean as that time began
	TopC     []float64  `json:"top_c"`       // how much warmer each stretch's surface was than the mean then, K
}

// State returns a copy of the store's state. The differences between stretches are brought up to date,
// so that the store and one in its state go on alike to the bit.
func (r *Reduced) State() ReducedState {
	r.fade()
	return ReducedState{
		Mean: slices.Clone(r.whole), Apart: slices.Clone(r.apart), FilmKg: slices.Clone(r.film), HeatJ: r.heatJ,
		Blown: r.last.blown, WallWm: slices.Clone(r.last.wallW), SurfaceW: r.last.topW,
		GroundC: r.last.ground, MeanC: [2]float64{r.last.wallC, r.last.topC},
		Slow:  [4]float64{r.slow.forS, r.slow.moreS, r.slow.wallJm, r.slow.topJm},
		Began: slices.Clone(r.slow.whole), TopC: slices.Clone(r.slow.topC),
	}
}

// Restore puts the store into a state of one that was reduced from the same Params for the same step
// and spots.
func (r *Reduced) Restore(st ReducedState) error {
	many := len(r.longM)
	if len(st.Mean) != len(r.whole) || len(st.Apart) != len(r.apart) || len(st.FilmKg) != many || len(st.WallWm) != many || len(st.TopC) != many || len(st.Began) != len(r.whole) {
		return fmt.Errorf("state of %d modes and %d stretches; this store has %d and %d",
			len(st.Mean), len(st.FilmKg), len(r.whole), many)
	}
	copy(r.whole, st.Mean)
	copy(r.apart, st.Apart)
	copy(r.film, st.FilmKg)
	copy(r.last.wallW, st.WallWm)
	r.heatJ, r.last.ground = st.HeatJ, st.GroundC
	r.last.blown, r.last.topW = st.Blown, st.SurfaceW
	r.last.wallC, r.last.topC = st.MeanC[0], st.MeanC[1]
	copy(r.slow.topC, st.TopC)
	copy(r.slow.whole, st.Began)
	r.seen.pace = nil // what was seen of the ground may be of another part of the year
	r.rest, r.slow.forS, r.slow.moreS = rest{}, st.Slow[0], st.Slow[1]
	r.slow.wallJm, r.slow.topJm = st.Slow[2], st.Slow[3]
	return nil
}
