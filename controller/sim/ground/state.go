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
	Modes    []float64  `json:"modes"`       // of each stretch from the inlet, its modes
	FilmKg   []float64  `json:"film_kg"`     // water standing in one pipe, of each stretch
	HeatJ    float64    `json:"heat_j"`      // of one pipe's zone, above 0 °C
	WallWm   []float64  `json:"wall_w_m"`    // heat at the pipe in the last step, of each stretch
	SurfaceW []float64  `json:"surface_w_m"` // and at the surface, besides the usual coefficient's
	GroundC  [4]float64 `json:"ground_c"`    // base, mean, swing, swing a quarter year ago
	MeanC    [2]float64 `json:"mean_wall_c"` // of all walls and the surface
}

// State returns a copy of the store's state.
func (r *Reduced) State() ReducedState {
	return ReducedState{
		Modes: slices.Clone(r.mode), FilmKg: slices.Clone(r.film), HeatJ: r.heatJ,
		WallWm: slices.Clone(r.last.wallW), SurfaceW: slices.Clone(r.last.topW),
		GroundC: r.last.ground, MeanC: [2]float64{r.last.wallC, r.last.topC},
	}
}

// Restore puts the store into a state of one that was reduced from the same Params for the same step
// and spots.
func (r *Reduced) Restore(st ReducedState) error {
	many := len(r.longM)
	if len(st.Modes) != len(r.mode) || len(st.FilmKg) != many || len(st.WallWm) != many || len(st.SurfaceW) != many {
		return fmt.Errorf("state of %d modes and %d stretches; this store has %d and %d",
			len(st.Modes), len(st.FilmKg), len(r.mode), many)
	}
	copy(r.mode, st.Modes)
	copy(r.film, st.FilmKg)
	copy(r.last.wallW, st.WallWm)
	copy(r.last.topW, st.SurfaceW)
	r.heatJ, r.last.ground = st.HeatJ, st.GroundC
	r.last.wallC, r.last.topC = st.MeanC[0], st.MeanC[1]
	return nil
}
