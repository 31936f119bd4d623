package greenhouse

import "loambank/controller/sim/ground"

// Flux is what passed in a step. Heat and water into the house are positive unless the name says
// otherwise. It always holds, to rounding,
//
//	StoredJ = SunJ + HeaterJ + FanJ + SkyJ + OutsideJ + OpenJ + WaterJ − SoilJ
//	StoredKg = TranspiredKg + EvaporatedKg + OpenKg − CondensedKg − PipesKg
type Flux struct {
	SunJ     float64 // kept by floor, crop, contents and films
	HeaterJ  float64
	FuelJ    float64 // burnt for it
	FanJ     float64 // electricity of all fans, which ends as heat of the air
	SkyJ     float64 // thermal radiation to and from outside
	OutsideJ float64 // from outside air through the films
	OpenJ    float64 // through leaks and vents, with vapour
	WaterJ   float64 // sensible heat, from 0 °C, in water: up from roots and soil, less what drips
	SoilJ    float64 // into the beds, through their surface and from the pipes' air
	StoredJ  float64 // how much more air, contents and crop hold

	TranspiredKg float64 // by the crop; negative is dew on it
	EvaporatedKg float64 // by bare soil; negative is dew on it
	OpenKg       float64
	CondensedKg  float64 // on the innermost layer of the cover, from where it drips
	PipesKg      float64 // left in the pipes, less what evaporated there
	StoredKg     float64

	HeaterS  float64 // for which the heater ran
	VentPerH float64 // air changes per hour through the vents
	LeakPerH float64 // and through leaks
	Beds     [MaxBeds]ground.Flux
}
