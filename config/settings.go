package config

import (
	"time"

	"loambank/config/unit"
	"loambank/controller/alarm"
	"loambank/controller/house"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/tariff"
	"loambank/drivers"
)

// Settings is the farm as the program works with it: complete, checked and never changed.
type Settings struct {
	Display  unit.Display // what people are shown; zero is SI
	Zone     string       // IANA name
	Site     season.Site
	TickS    float64 // 1 to 900 s
	Listen   string  // address of page and metrics
	StateDir string
	// HandUsers may give orders over the network; empty is nobody. Not to be changed.
	HandUsers []string

	ElevationM      float64
	ColdNight       unit.Celsius // one night in ten is colder, in the coldest month
	ColdNightIs     bool         // it is stated
	Turn            Turn
	Currency        string  // three letters, "" where no price is stated
	Fuel            Fuel    // what heaters burn
	MaxPowerW       float64 // all fans of the farm together, W; 0 is no limit
	GeneratorPowerW float64 // the same on the generator; 0 is no other limit

	WaterTableM  float64 // the highest that ground water stands, under the surface
	WaterTableIs bool    // WaterTableM is known
	Radon        bool    // the region is known for it
	Costs        Costs

	Alarm   Alarm
	Publish Publish
	Houses  []House

	Source []byte // the file as read, not to be changed
	Hash   string // SHA-256 of Source, in hex

	Warnings  Faults // legal, but foolish
	Effective []Line // every setting as understood, in the order of Print
}

// Fuel is what the heaters burn. The zero value is not stated.
type Fuel struct {
	Kind       tariff.Fuel
	Efficiency float64 // of the heaters, over 0 to 1; to 6 with electricity
}

// Turn is the turn of the year at the site.
type Turn struct{ ToppingUp, FirstFrost, LastFrost season.MonthDay }

// SeasonBegan is midnight of the last topping-up date that is not after at, in at's zone.
func (t Turn) SeasonBegan(at time.Time) time.Time {
	began := func(year int) time.Time {
		d := t.ToppingUp.In(year)
		return time.Date(year, d.Month, d.Day, 0, 0, 0, 0, at.Location())
	}
	if b := began(at.Year()); !b.After(at) {
		return b
	}
	return began(at.Year() - 1)
}

// Alarm is when the grower's bell sounds and the output that sounds it. The zero value has none.
type Alarm struct {
	Present  bool           // Output is stated
	Output   drivers.Stanza // held energised while all is well
	Settings alarm.Settings
}

// House is one house with the devices behind its probes and fans.
type House struct {
	House   house.Settings
	Probes  []drivers.Stanza   // same order as House.Probes
	Fans    [][]drivers.Stanza // of each store, same order as House.Decide.Stores
	Columns []string           // header that stands for each probe in a recording, "" for none; same order

	Windows []string // names, same order as House.Decide.Season.Windows
	Crops   []string // of each policy, same order as House.Decide.Policies; "" where only a frost limit is stated

	LengthM, WidthM float64
	Cover           physics.Covering // without the screen
	Screen          bool             // closes in the dark
	AirChanges      float64          // an hour, closed and in calm
	Vents           Vents
	Soil            Soil
	Insulation      Insulation
	HeaterOutputW   float64 // 0 is not stated
	Pipes           []Pipes // of each store; the zero value is not stated
}

// Vents is when a house's sides open and what they let through.
type Vents struct {
	OpensAt unit.Celsius
	PerH    float64 // air changes an hour when wholly open; 0: there are none
}

// Soil is what lies under a house.
type Soil struct {
	Texture physics.Texture
	Water   float64 // of its volume, 0.02 to 0.5
	Stone   bool    // crushed stone lies around the pipes, not the soil that was dug
}

// Insulation is a foam board all round the stores. The zero value is none.
type Insulation struct{ ThickM, DepthM float64 }

// Pipes is the size of a store.
type Pipes struct {
	Count                     int
	LengthM, SpacingM, DepthM float64
	DiameterM                 float64
	Smooth                    bool // not corrugated
	Sealed                    bool // not perforated: what condenses stays
}

// Air is one of the pipes as air knows it, without losses at its ends.
func (p Pipes) Air() physics.Pipe {
	pipe := physics.Pipe{DiameterM: p.DiameterM, LengthM: p.LengthM}
	if !p.Smooth {
		pipe.ManningN = physics.ManningDrainTubing
	}
	return pipe
}

// FilmNTU is the number of transfer units between the pipes' wall and flowM3s of air shared by them
// all, at 15 °C and pressurePa; 0 for pipes that are not stated.
func (p Pipes) FilmNTU(flowM3s, pressurePa float64) float64 {
	if p.Count < 1 || !(flowM3s > 0) {
		return 0
	}
	return p.Air().NTU(flowM3s/float64(p.Count), physics.Air{C: 15}, pressurePa, 0)
}

// FindHouse returns the house of that name, or nil.
func (s *Settings) FindHouse(name string) *House {
	for i := range s.Houses {
		if s.Houses[i].House.Name == name {
			return &s.Houses[i]
		}
	}
	return nil
}

// FindProbe returns where a probe named in a recording stands: the index of its house and its
// place in that house's probes. store is "" for a probe of the house itself.
func (s *Settings) FindProbe(houseName, store, probe string) (h, p int, ok bool) {
	for h := range s.Houses {
		settings := &s.Houses[h].House
		if settings.Name != houseName {
			continue
		}
		for p, candidate := range settings.Probes {
			if candidate.Name == probe && storeName(settings, candidate.Store) == store {
				return h, p, true
			}
		}
	}
	return 0, 0, false
}

func storeName(h *house.Settings, store int) string {
	if store == house.WholeHouse {
		return ""
	}
	return h.Decide.Stores[store].Name
}
