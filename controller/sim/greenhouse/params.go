package greenhouse

import (
	"errors"
	"fmt"
	"math"

	"loambank/config/unit"
)

// Params is what a house is made of.
type Params struct {
	FloorM2    float64 // of all beds and paths, over 0
	CoverM2    float64 // of films with the ends, over FloorM2
	VolumeM3   float64 // of air, over 0
	PressurePa float64 // usual at the place; it fixes the air's mass
	// ContentsJm2K is the heat that frames, benches and trays take for each m² of floor while the
	// air warms by 1 K; 5 to 20 kJ/(m² K), common practice, no source. Leaves and soil count apart.
	ContentsJm2K float64
	// LeakPerH is the air changes per hour in still air; 15 mph of wind double them
	// (greenhouse-S013, S014: 0.5 to 1 for new double film, all in).
	LeakPerH float64
	// DampSoil is how wet bare soil is: 0 dust-dry, 1 as open water.
	DampSoil float64
	MixingW  float64 // of circulating fans, always on
	Cover    Cover
	Crop     Crop
	Vents    Vents
	Heater   Heater
}

// Cover is the plastic over the house.
type Cover struct {
	Films int // 1, or 2 with air blown between them
	// Transmission is the sunlight that comes in, of that on the horizontal: film, frame and dirt;
	// greenhouse-S018: 0.6 for double film.
	Transmission float64
	// Absorption is the sunlight that stays in the films as heat, of that on the horizontal.
	Absorption float64
	// Thermal is the share of thermal radiation that passes one film: 0.6 to 0.7 for plain dry
	// polyethylene, 0.1 to 0.3 for infrared film or one that is wet; common practice, no source.
	Thermal float64
	Screen  Screen
}

// Screen is a cloth under the films that closes in the dark. The zero value is none.
type Screen struct {
	UnderWm2 float64 // of sun on the horizontal, under which it is closed; 0: there is none
	Thermal  float64 // the share of thermal radiation that passes
}

// Crop is what grows. The zero value is bare soil.
type Crop struct {
	LeafArea float64 // one side of all leaves, m² on a m² of floor, 0 to 10
}

// Vents are sides or flaps that a thermostat opens little by little. The zero value is none.
type Vents struct {
	OpensAt unit.Celsius
	Band    unit.Kelvin // wholly open this far above OpensAt
	PerH    float64     // air changes per hour when wholly open
}

// Heater is the house's own heater with a thermostat, its smoke going outside. The zero value is
// none.
type Heater struct {
	OutputW    float64
	Efficiency float64 // heat given to the house, of the fuel's; over 0, at most 1
	Setpoint   unit.Celsius
	Band       unit.Kelvin // it heats from Setpoint up to Setpoint + Band
}

func (p *Params) check(beds []Bed) error {
	var faults []error
	between := func(name string, v, least, most float64) {
		if !(v >= least && v <= most) {
			faults = append(faults, fmt.Errorf("%s is %g; it lies between %g and %g", name, v, least, most))
		}
	}
	between("the floor, m²", p.FloorM2, 1, 1e6)
	between("the cover, m²", p.CoverM2, p.FloorM2, 20*p.FloorM2)
	between("the volume, m³", p.VolumeM3, 0.5*p.FloorM2, 20*p.FloorM2)
	between("the pressure, Pa", p.PressurePa, 31000, 120000)
	between("the heat of the contents, J/(m² K)", p.ContentsJm2K, 0, 1e6)
	between("leakage, air changes per hour", p.LeakPerH, 0, 20)
	between("the soil's dampness", p.DampSoil, 0, 1)
	between("the circulating fans, W", p.MixingW, 0, 1e5)
	between("films", float64(p.Cover.Films), 1, 2)
	between("transmission", p.Cover.Transmission, 0, 1)
	between("transmission and absorption together", p.Cover.Transmission+p.Cover.Absorption, p.Cover.Transmission, 1)
	between("a film's thermal transmission", p.Cover.Thermal, 0, 0.9)
	between("the screen's sun, W/m²", p.Cover.Screen.UnderWm2, 0, 1500)
	between("the screen's thermal transmission", p.Cover.Screen.Thermal, 0, 0.9)
	between("leaf area, m²/m²", p.Crop.LeafArea, 0, 10)
	between("the vents' band, K", float64(p.Vents.Band), 0, 30)
	between("the vents, air changes per hour", p.Vents.PerH, 0, 500)
	between("the heater, W", p.Heater.OutputW, 0, 1e7)
	if p.Heater.OutputW > 0 {
		between("the heater's efficiency", p.Heater.Efficiency, 0.05, 1)
		between("the heater's band, K", float64(p.Heater.Band), 0, 10)
	}
	if len(beds) < 1 || len(beds) > MaxBeds {
		faults = append(faults, fmt.Errorf("%d beds; 1 to %d", len(beds), MaxBeds))
	}
	var floorM2 float64
	for _, b := range beds {
		floorM2 += b.FloorM2
	}
	if !(math.Abs(floorM2-p.FloorM2) <= 1e-6*p.FloorM2) {
		faults = append(faults, fmt.Errorf("the beds cover %g m² of a floor of %g; paths are beds whose fan never runs", floorM2, p.FloorM2))
	}
	return errors.Join(faults...)
}
