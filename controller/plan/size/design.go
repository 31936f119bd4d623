package size

import (
	"slices"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/physics"
)

// Design is one way to build: a cover, and a store under it or none.
type Design struct {
	Name       string
	Cover      physics.Covering
	Screen     bool
	Pipes      config.Pipes // Count 0: no store
	Stone      bool         // around the pipes, instead of the soil that was dug
	Insulation config.Insulation
	Duct       Duct // of the pipes and their fan; the zero value without a store
}

// Store reports whether the design has one.
func (d *Design) Store() bool { return d.Pipes.Count > 0 }

// House returns the house of the settings as it would stand so: one store with one fan of one speed,
// whose flow is what the pipes let through, under the settings' own policy. h is left as it is, and
// needs a store to copy the policy from.
func (d *Design) House(h *config.House) *config.House {
	own := *h
	own.Cover, own.Screen, own.Insulation, own.Soil.Stone = d.Cover, d.Screen, d.Insulation, d.Stone
	own.Pipes = []config.Pipes{d.Pipes}
	s := &own.House.Decide
	s.HouseLossWK = own.LossWK()
	store := s.Stores[0]
	store.Fans = []decide.Fan{{
		Name: store.Fans[0].Name, PowerW: d.Duct.PowerW, FlowM3s: d.Duct.FlowM3s, Levels: []float64{1},
	}}
	s.Stores = []decide.Store{store}
	// What a fuse or a generator carries today is no reason against a design.
	s.MaxPowerW, s.GeneratorPowerW = 0, 0
	s.Policies = slices.Clone(s.Policies)
	for i := range s.Policies {
		s.Policies[i].Stores = s.Policies[i].Stores[:1:1]
	}
	own.House.Probes = nil
	for _, p := range h.House.Probes {
		proof := p.Judge.Role == judge.FanPower || p.Judge.Role == judge.AirflowProof
		if p.Store > 0 || proof {
			continue
		}
		if p.Store == 0 && p.Judge.Role == judge.Soil && p.Judge.Place == judge.Between && d.Store() {
			p.Judge.DepthM = d.Pipes.DepthM // it lies where the pipes do
		}
		own.House.Probes = append(own.House.Probes, p)
	}
	own.House.CapacityJK = [decide.MaxStores]float64{}
	return &own
}

// airM3 is the air of a house.
func airM3(h *config.House) float64 {
	_, volume := physics.HalfCylinder(h.WidthM, h.LengthM)
	return volume
}

// flowOf returns the air flow that changes the house's air so many times an hour, m³/s.
func flowOf(h *config.House, perHour float64) float64 { return perHour * airM3(h) / 3600 }

// houseAir is the air that pipes are laid out for.
const houseAir unit.Celsius = 20
