package sentence

import "loambank/controller/learn"

// Advice is what looks wrong, as a sentence, and what a person should do about it.
type Advice struct{ Text, Do string }

// Notice says what a warning of what was learned means; store names the store it is of.
func Notice(w learn.Warning, store string) Advice {
	switch w {
	case learn.SideOpen:
		return Advice{"The house loses heat much faster than it used to.", "See whether a side, a door or a vent stands open, or the cover is torn."}
	case learn.ProbeInSun:
		return Advice{"The air probe reads warmer than the air the fans take in, but only by day.", "Shade it, and let air pass it."}
	case learn.ProbeAtPipe:
		return Advice{"The soil probe of " + store + " follows the fans within the hour.", "It lies at a pipe; put it midway between two."}
	case learn.StoreWetter:
		return Advice{"The soil of " + store + " takes up more heat than it used to: it is wetter.", "Look for a leaking drip line, or water from outside."}
	case learn.StoreDrier:
		return Advice{"The soil of " + store + " takes up less heat than it used to: it is drier.", "Water the beds; dry soil stores less and gives it slower."}
	}
	return Advice{}
}

// Mismatch says what most likely parts the two accounts of a store's heat; the zero value where they
// agree.
func Mismatch(c learn.Cause, store string) Advice {
	text := "Air and soil of " + store + " tell of different amounts of heat"
	switch c {
	case learn.Airflow:
		return Advice{text + ": the fans likely move more or less air than they did.", "Look for water, roots, nests, a collapsed pipe, a clogged screen; look at the belt."}
	case learn.Probe:
		return Advice{text + ": a probe in the duct likely reads too high or too low.", "Hold both duct probes side by side, with the fans off."}
	case learn.Leak:
		return Advice{text + ": air or heat likely leaves the pipes on its way.", "Look at the joints and headers, and along the edges of the house."}
	case learn.Water:
		return Advice{text + ": water likely stands in the pipes.", "Drain the pipes."}
	}
	return Advice{}
}
