package main

import (
	"fmt"
	"strings"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/learn"
	"loambank/controller/plan/whatif"
)

// fitText says how well what was learned foretells what it did not learn from.
func fitText(s *config.Settings, h *config.House, f *whatif.Fit) string {
	figure := func(m learn.Miss, of string) string {
		return fmt.Sprintf("to %s (%s had it stayed the same; %d %s)",
			s.Display.Difference(unit.Kelvin(m.RMSK())), s.Display.Difference(unit.Kelvin(m.StayedK())), m.N, of)
	}
	var told []string
	if f.Air.N > 0 {
		told = append(told, "the air from dusk on "+figure(f.Air, "dark hours without heater"))
	}
	for i, m := range f.Soil {
		if m.N > 0 {
			told = append(told, "the soil of "+h.House.Decide.Stores[i].Name+" a day ahead "+figure(m, "days"))
		}
	}
	if len(told) == 0 {
		return "How well the house is known cannot be said: in the last third of the recording neither air and outside of dark " +
			"hours without heater, nor soil and what warms it, are read."
	}
	return "What the first two thirds of the recording taught foretells its last third: " + strings.Join(told, ", ") + "."
}

// fitJSON is how well what the first two thirds taught foretells the last: root mean squares, and the same
// had all stayed as it was at the beginning.
type fitJSON struct {
	Air  *missJSON      `json:"air_of_nights,omitempty"`
	Soil []soilMissJSON `json:"soil_a_day_ahead,omitempty"`
}

type missJSON struct {
	RMSK    float64 `json:"rms_kelvin"`
	StayedK float64 `json:"rms_had_it_stayed_kelvin"`
	N       int     `json:"foretold"` // hours of the air, days of the soil
}

type soilMissJSON struct {
	Store string `json:"store"`
	missJSON
}

func fitOf(h *config.House, f *whatif.Fit) (out fitJSON) {
	of := func(m learn.Miss) missJSON { return missJSON{rounded(m.RMSK()), rounded(m.StayedK()), m.N} }
	if f.Air.N > 0 {
		out.Air = new(of(f.Air))
	}
	for i, m := range f.Soil {
		if m.N > 0 {
			out.Soil = append(out.Soil, soilMissJSON{h.House.Decide.Stores[i].Name, of(m)})
		}
	}
	return out
}
