package house

import (
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// MaxProbes is the largest number of probes in one house. Config refuses more.
const MaxProbes = 64

// Settings is everything the tick of one house needs: complete, checked and immutable.
type Settings struct {
	Name   string
	Decide decide.Settings
	Probes []Probe // at most MaxProbes; the order of the readings given to Tick
	// CapacityJK is the heat that warms each store's soil by 1 K, J/K; 0 is not stated. It moves
	// the soil estimate while a store's probes are lost.
	CapacityJK [decide.MaxStores]float64
}

// Probe is one probe of a house, without the device behind it.
type Probe struct {
	Name  string // unique in the house
	Store int    // index into Decide.Stores, or WholeHouse
	Fan   int    // index into the store's fans for fan-power and airflow-proof, or AllFans
	Judge judge.Settings
	// AgreeK is how far probes of one place may differ before the odd one is named, in the
	// probe's unit.
	AgreeK float64
}

// WholeHouse marks a probe that belongs to the house, not to a store; AllFans one that watches no
// single fan.
const (
	WholeHouse = -1
	AllFans    = -1
)
