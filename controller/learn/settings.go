package learn

import (
	"math"

	"loambank/config/unit"
)

// MaxStores is the most stores of a house that are learned.
const MaxStores = 4

// Settings is what is stated of a house. Where a figure says so, 0 is not stated and a usual one
// stands in, common practice, no source; the errors that it starts with are wide.
type Settings struct {
	PressurePa      float64 // of the air, Pa; 0: 101325
	FloorM2         float64 // of the house; 0: 200
	HouseLossWK     float64 // W for each K over outside; 0: 8 for each m² of floor
	HouseCapacityJK float64 // air and contents, J/K; 0: 15 kJ/K for each m² of floor
	Heater          Heater
	CropLimit       Temp // of an unheated house; unknown: nothing to keep
	VentsAt         Temp // house air at which the sides open; unknown: they never do
	Stores          []Store
}

// Heater is the house's own heater. The zero value is none.
type Heater struct {
	Present  bool
	Setpoint unit.Celsius
	Band     unit.Kelvin
	OutputW  float64 // useful heat while it is on; 0 is not stated
}

// Store is what is stated of a store with its fans together.
type Store struct {
	// Fans tells one set of fans from another, a hash of their settings for one: when it changes, what
	// depends on them is learned anew. Flow, power and Catalogue count besides.
	Fans          uint64
	FlowM3s       float64 // all fans at full speed, moist air at the intake; 0: nothing is learned
	PowerW        float64 // the same, electric
	Catalogue     bool    // FlowM3s is a maker's figure, of which half is believed
	Effectiveness float64 // assumed at full flow until learned, 0 to 1; 0: 0.6
	CapacityJK    float64 // of the soil, J/K; 0: 1.2 MJ/K for each m² of the house's floor, by store
	PipeM         float64 // all pipes together, m; 0: 150
	// FilmNTU is the number of transfer units at full flow between air and the pipes' wall itself, by
	// their size (physics.Pipe.NTU without soil): water condenses on that wall, which is warmer than
	// the soil that thermometers tell of. 0: twice those of Effectiveness, common practice, no source.
	FilmNTU float64
	// LagS is how long heat takes from the pipes to the probe between them, s: spacing²/(4 π² α) for soil
	// of diffusivity α, in which what is uneven from pipe to pipe evens out (the slowest wave of Carslaw
	// and Jaeger 1959, art. 3.3). 0: 18000, pipes 0.6 m apart in damp loam.
	LagS float64
}

const hourS, dayS = 3600.0, 86400.0

func orElse(v, usual float64) float64 {
	if v > 0 && !math.IsInf(v, 0) {
		return v
	}
	return usual
}

func (s *Settings) pressurePa() float64      { return orElse(s.PressurePa, 101325) }
func (s *Settings) floorM2() float64         { return orElse(s.FloorM2, 200) }
func (s *Settings) houseLossWK() float64     { return orElse(s.HouseLossWK, 8*s.floorM2()) }
func (s *Settings) houseCapacityJK() float64 { return orElse(s.HouseCapacityJK, 15e3*s.floorM2()) }

// stores is how many of the stores are learned.
func (s *Settings) stores() int { return min(len(s.Stores), MaxStores) }

func (s *Settings) capacityJK(i int) float64 {
	return orElse(s.Stores[i].CapacityJK, 1.2e6*s.floorM2()/float64(len(s.Stores)))
}

func (s *Store) pipeM() float64 { return orElse(s.PipeM, 150) }
func (s *Store) lagS() float64  { return orElse(s.LagS, 18e3) }

func (s *Store) effectiveness() float64 {
	return min(orElse(s.Effectiveness, 0.6), 0.98)
}

// statedNTU is the number of transfer units of the assumed effectiveness.
func (s *Store) statedNTU() float64 { return -math.Log1p(-s.effectiveness()) }

func (s *Store) filmNTU() float64 { return orElse(s.FilmNTU, 2*s.statedNTU()) }

// believedShare is the share of the stated flow that counts before it is learned.
func (s *Store) believedShare() float64 {
	if s.Catalogue {
		return 0.5
	}
	return 1
}
