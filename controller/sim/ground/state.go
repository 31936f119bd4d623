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
