package greenhouse

import "loambank/controller/physics"

// The crop exchanges heat and vapour leaf by leaf: C. Stanghellini 1987, Transpiration of
// greenhouse crops, Wageningen, with the resistances in the form of H. F. de Zwart 1996, Analyzing
// energy-saving options in greenhouse cultivation, Wageningen. Both from memory. They are of
// tomato; other crops are taken to transpire alike for each m² of leaf.
const (
	leafFilmSM  = 275.0 // resistance of the air on a leaf to vapour, s/m
	leafWm2K    = 5.0   // coefficient of one side of a leaf to air, W/(m² K)
	stomataSM   = 82.0  // least resistance of the stomata, s/m
	leafJm2K    = 1000  // heat of a m² of leaf, J/K: a quarter of a litre of water; no source
	mostStomata = 5.8   // how many times drought can close them
)

// stomata is the resistance of the leaves to vapour, s/m: wide open in the sun, nearly closed in
// the dark and in dry air.
func stomata(sunWm2, deficitPa float64) float64 {
	light := (sunWm2 + 4.30) / (sunWm2 + 0.54)
	perPa2 := 4.3e-6
	if sunWm2 < 3 {
		perPa2 = 5.2e-6 // by night
	}
	d := max(0, deficitPa)
	return stomataSM * light * min(mostStomata, 1+perPa2*d*d)
}

// leaves finds what the crop's leaves exchange with air.
func (h *House) leaves(o *Outdoors) {
	if h.leafM2 == 0 {
		return
	}
	t := &h.terms
	t.leaf = curveAt(h.st.Crop, o.PressurePa)
	resistance := leafFilmSM // of dew on a leaf, which needs no stomata
	if t.leaf.w > h.st.Vapour {
		deficitPa := physics.VapourPressurePa(t.leaf.w, o.PressurePa) - physics.VapourPressurePa(h.st.Vapour, o.PressurePa)
		resistance += stomata(o.GlobalWm2*h.p.Cover.Transmission, deficitPa)
	}
	dryKgM3 := h.airKg / h.p.VolumeM3
	t.leafKgS = 2 * h.leafM2 * dryKgM3 / resistance
}

// leafWK is what leaves exchange with air for each K.
func (h *House) leafWK() float64 { return 2 * leafWm2K * h.leafM2 }
