package ledger

import (
	"math"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/physics"
)

// flow is the heat that a store's fans move.
type flow struct {
	totalW, latentW float64 // into the soil; negative brings heat up
	condensateKgS   float64
	measured        bool
}

// moved is what the fans of store i moved: by the air in its ducts where both ends are read, else
// what was expected. A fan that is seen to stand moves none.
//
// The ducts give the change of the air; how much of it there was is the stated flow, of a
// catalogue figure half. Heat with such a flow counts as estimated.
func moved(s *decide.Settings, in *decide.Inputs, d *decide.Decision, i int) flow {
	sd := &d.Stores[i]
	commanded, moving, stated := 0.0, 0.0, true
	for j := range s.Stores[i].Fans {
		f := &s.Stores[i].Fans[j]
		m3s := f.FlowAt(sd.Stages[j])
		if f.Catalogue {
			m3s /= 2
		}
		commanded += m3s
		if in.Stores[i].Fans[j].Proof != decide.SeenStill {
			moving += m3s
			stated = stated && !(f.Catalogue && m3s > 0)
		}
	}
	if m, ok := byDucts(s, in, i, moving); ok {
		m.measured = stated
		return m
	}
	e := flow{totalW: sd.HeatW, latentW: sd.LatentW, condensateKgS: sd.CondensateKgS}
	if moving < commanded {
		share := moving / commanded
		e.totalW *= share
		e.latentW *= share
		e.condensateKgS *= share
	}
	return e
}

// byDucts balances the air that goes into the pipes and comes out of them. Water that stands in
// the pipes is not seen to evaporate: the air leaves with the vapour it brought, no more than
// saturated. Where the humidity of the house is not known, the sensible heat alone is counted.
func byDucts(s *decide.Settings, in *decide.Inputs, i int, m3s float64) (flow, bool) {
	from, to := in.Stores[i].DuctIn, in.Stores[i].DuctOut
	if !from.Quality.Usable() || !to.Quality.Usable() {
		return flow{}, false
	}
	w := 0.0
	if rh := in.Humidity; rh.Quality == judge.Good && in.IntakeAir.Quality.Usable() {
		w = min(physics.HumidityRatio(in.IntakeAir.C, rh.V, s.PressurePa), physics.SatHumidityRatio(from.C, s.PressurePa))
	}
	x := physics.StreamHeat(physics.Air{C: from.C, W: w},
		physics.Air{C: to.C, W: min(w, physics.SatHumidityRatio(to.C, s.PressurePa))}, m3s, s.PressurePa)
	total := x.TotalW()
	if math.IsNaN(total) || math.IsInf(total, 0) {
		return flow{}, false
	}
	return flow{totalW: total, latentW: x.LatentW, condensateKgS: x.CondensateKgS}, true
}
