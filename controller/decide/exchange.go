package decide

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/judge"
	"loambank/controller/physics"
)

// heat is what a store is expected to exchange at one speed.
type heat struct {
	soilW       float64 // into the soil, W; negative brings heat up
	latentW     float64 // part of soilW
	condensateS float64 // kg/s
	powerW      float64 // electricity
}

// exchange returns the heat of store i with its fans at the given stages. Until the store's own exchange is learned, its air leaves with the assumed effectiveness at
// full flow. At a lower flow the number of transfer units grows as the flow falls: NTU = UA/C,
// effectiveness 1 − e^(−NTU) (Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed.,
// eq. 11.35a at C_r = 0). Shaft power goes with the cube of the speed, flow with the first power
// (fan laws, AMCA 201). Of a catalogue flow half is believed.
func (t *tick) exchange(i int, stages [MaxFans]uint8, air, soil unit.Celsius) heat {
	store := &t.s.Stores[i]
	var h heat
	var flow, full float64
	for j := range store.Fans {
		fan := &store.Fans[j]
		believed := fan.FlowM3s
		if fan.Catalogue {
			believed /= 2
		}
		full += believed
		flow += believed * fan.level(stages[j])
		h.powerW += fan.PowerAt(stages[j])
	}
	if flow <= 0 || full <= 0 {
		return h
	}
	in := physics.Air{C: air} // dry where humidity is unknown: the sensible heat alone
	if t.humid {
		in.W = t.damp()
	}
	var x physics.Heat
	if learned := t.st.Stores[i].Learned; learned.Known() {
		x = learned.settled(in, flow/full, soil, t.s.PressurePa)
	} else {
		eff := store.Effectiveness
		if flow < full {
			eff = 1 - math.Pow(1-eff, full/flow)
		}
		x = physics.Exchange(in, flow, eff, soil, t.s.PressurePa)
	}
	h.soilW, h.latentW, h.condensateS = x.TotalW(), x.LatentW, x.CondensateKgS
	return h
}

// damp is the humidity ratio of the air that fans take in, where it is known. Most ticks need none.
func (t *tick) damp() float64 {
	if t.vapour == 0 {
		t.vapour = physics.HumidityRatio(t.intake, t.in.Humidity.V, t.s.PressurePa)
	}
	return t.vapour
}

// settled is the heat at a level of full flow once the soil next to the pipes has warmed or cooled as
// far as that heat makes it: a run must pay in the end, not only in its first hour. Transfer units
// fall with the flow's power 0.2 (Dittus and Boelter; Incropera et al., eq. 8.60 over the stream).
//
// The wall is found by one secant step from the soil, which is exact while heat moves in proportion.
func (l Learned) settled(in physics.Air, level float64, soil unit.Celsius, pressurePa float64) physics.Heat {
	const falls = 0.2
	flow, rises := l.FlowM3s*level, math.Pow(level, -falls)
	eff, film := physics.Effectiveness(l.NTU*rises), physics.Effectiveness(max(l.FilmNTU, l.NTU)*rises)
	at := func(wall unit.Celsius) physics.Heat {
		return physics.ExchangeTo(in, flow, film, in.C.Add(unit.Kelvin(eff)*wall.Sub(in.C)), pressurePa)
	}
	first := at(soil)
	rise := l.NearKW * first.TotalW()
	if rise == 0 {
		return first
	}
	// Beyond half way to the air the secant would leave the range in which heat flows this way.
	half := math.Abs(float64(in.C.Sub(soil))) / 2
	probe := math.Copysign(min(math.Abs(rise), max(half, 0.1)), rise)
	slopeWK := (first.TotalW() - at(soil.Add(unit.Kelvin(probe))).TotalW()) / probe
	if !(slopeWK > 0) {
		return first
	}
	return at(soil.Add(unit.Kelvin(rise / (1 + l.NearKW*slopeWK))))
}

// level is the share of full flow at store speed n: fans with fewer speeds hold their fastest.
func (f *Fan) level(n uint8) float64 {
	if n == 0 {
		return 0
	}
	return f.Levels[min(int(n), len(f.Levels))-1]
}

// FlowAt is the stated flow at store speed n, m³/s.
func (f *Fan) FlowAt(n uint8) float64 { return f.FlowM3s * f.level(n) }

// PowerAt is the electricity at store speed n, W.
func (f *Fan) PowerAt(n uint8) float64 {
	v := f.level(n)
	return f.PowerW * v * v * v
}

// levels is the number of speeds of the store.
func (s *Store) levels() uint8 {
	n := 0
	for j := range s.Fans {
		n = max(n, len(s.Fans[j].Levels))
	}
	return uint8(n)
}

// soilOf returns the store's soil if it may be used for anything but frost protection.
func (t *tick) soilOf(i int) (judge.Carried, bool) {
	s := t.in.Stores[i].Soil
	ok := s.Known && s.Quality.Usable() && finite(float64(s.C)) && finite(float64(s.Uncertain))
	return s, ok
}

// hottest returns the hottest root or store soil, and coldest the coldest root soil or, where
// none is known, the store's.
func (t *tick) hottest(i int, soil judge.Carried) unit.Celsius {
	if r := t.in.Stores[i].RootMax; r.Quality.Usable() && r.C > soil.C {
		return r.C
	}
	return soil.C
}

func (t *tick) coldest(i int, soil judge.Carried) unit.Celsius {
	if r := t.in.Stores[i].RootMin; r.Quality.Usable() {
		return r.C
	}
	return soil.C
}

// goodIntake reports whether the intake air is certain enough to start on.
func (t *tick) goodIntake() bool { return t.intakeOK && t.in.IntakeAir.Quality == judge.Good }

// kelvin is how far heatW into the soil cools the house air once it has settled, less what the
// measured air already shows of it: age is the run time over the time to settle.
func kelvin(heatW, lossWK, age float64) unit.Kelvin {
	return unit.Kelvin(heatW / lossWK * math.Exp(-age))
}
