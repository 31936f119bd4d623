package physics

// AirChanges returns how often an hour a closed house's air is lost through gaps: the low figure in
// calm, the high one in wind; rain and frost seal the gaps. NRAES-33, Greenhouse Engineering,
// from memory: new houses, double film 0.5 to 1, glass and all else 0.75 to 1.5; old glass in good
// repair 1 to 2.
func (c Covering) AirChanges(old bool) (calm, windy float64) {
	switch {
	case old:
		return 1, 2
	case c == DoubleFilm || c == DoubleFilmCurt:
		return 0.5, 1
	}
	return 0.75, 1.5
}

// InfiltrationWK returns the sensible heat that air changes carry off for each kelvin between inside
// and outside, W/K. The air that leaves is the house's.
func InfiltrationWK(volumeM3, changesPerHour float64, inside Air, pPa float64) float64 {
	flowM3s := max(volumeM3*changesPerHour, 0) / 3600
	return flowM3s / SpecificVolume(inside.C, inside.W, pPa) * (cpAir + cpVapour*inside.W)
}

// VentWaterKgS returns the vapour that air changes carry off, kg/s, negative where they bring it. The
// air that leaves is the house's, and as much dry air comes.
func VentWaterKgS(volumeM3, changesPerHour float64, inside, outside Air, pPa float64) float64 {
	flowM3s := max(volumeM3*changesPerHour, 0) / 3600
	return flowM3s / SpecificVolume(inside.C, inside.W, pPa) * (inside.W - outside.W)
}
