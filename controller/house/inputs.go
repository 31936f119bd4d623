package house

import (
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// group is the probes of one role, place and store, which vote.
type group struct {
	role   judge.Role
	place  judge.Place
	store  int
	agree  float64
	probes []int
	votes  []judge.Verdict
}

// groups sorts the probes of a house into groups, in the order in which they are first listed.
func groups(s *Settings) []group {
	var all []group
	for i, p := range s.Probes {
		at := -1
		for k, g := range all {
			if g.role == p.Judge.Role && g.place == p.Judge.Place && g.store == p.Store {
				at = k
			}
		}
		if at < 0 {
			at = len(all)
			all = append(all, group{role: p.Judge.Role, place: p.Judge.Place, store: p.Store})
		}
		all[at].probes = append(all[at].probes, i)
		all[at].agree = max(all[at].agree, p.AgreeK)
	}
	for k := range all {
		all[k].votes = make([]judge.Verdict, len(all[k].probes))
	}
	return all
}

// inputs lets each group vote and fills in what Step knows; in comes empty.
func (h *House) inputs(seen *Seen, in *decide.Inputs) {
	in.StepS, in.Believed, in.Grant, in.ClearFault = seen.StepS, seen.Believed, seen.Grant, seen.ClearFault
	var soil [decide.MaxStores]soilVerdicts
	var fans [decide.MaxStores]witness
	for i := range h.s.Decide.Stores {
		in.Stores[i].Order = seen.Orders[i]
		for j, down := range seen.Down[i] {
			in.Stores[i].Fans[j].Down = down
		}
	}
	for k := range h.groups {
		g := &h.groups[k]
		for n, i := range g.probes {
			g.votes[n] = h.verdicts[i]
		}
		if g.store == WholeHouse {
			h.ofHouse(in, g)
		} else {
			h.ofStore(&in.Stores[g.store], &soil[g.store], &fans[g.store], g)
		}
	}
	for i := range h.s.Decide.Stores {
		fans[i].tell(&h.s.Decide.Stores[i], &h.state.Last.Stores[i], &in.Stores[i])
	}
	settleAir(in)
	h.carry(in, &soil, seen.StepS)
}

func (h *House) ofHouse(in *decide.Inputs, g *group) {
	switch g.role {
	case judge.Air:
		vote := h.vote(g)
		if g.place != judge.Crop {
			in.IntakeAir = temperature(vote)
			return
		}
		low, _ := judge.Lowest(g.votes)
		in.CropAir, in.CropLow = temperature(vote), temperature(low)
	case judge.Humidity:
		v := h.vote(g)
		in.Humidity = decide.Fraction{V: v.Value, Quality: v.Quality}
	case judge.Outside:
		in.Outside = temperature(h.vote(g))
	case judge.HeaterOn:
		in.HeaterOn = contact(g.votes)
	case judge.VentOpen:
		in.VentOpen = contact(g.votes)
	case judge.Smoke:
		in.Smoke = contact(g.votes)
	case judge.OnGenerator:
		in.OnGenerator = contact(g.votes)
	case judge.HandSwitch:
		on := contact(g.votes)
		for i := range h.s.Decide.Stores {
			in.Stores[i].HandSwitch = max(in.Stores[i].HandSwitch, on)
		}
	case judge.PipeWater:
		on := contact(g.votes)
		for i := range h.s.Decide.Stores {
			in.Stores[i].PipeWater = max(in.Stores[i].PipeWater, on)
		}
	}
}

func (h *House) ofStore(in *decide.StoreInputs, soil *soilVerdicts, fans *witness, g *group) {
	switch g.role {
	case judge.Soil:
		switch g.place {
		case judge.Between:
			soil.between = h.vote(g)
		case judge.Root:
			soil.coldest, _ = judge.Lowest(g.votes)
			soil.hottest, _ = judge.Highest(g.votes)
		}
	case judge.PipeWater:
		in.PipeWater = max(in.PipeWater, contact(g.votes))
	case judge.HandSwitch:
		in.HandSwitch = max(in.HandSwitch, contact(g.votes))
	case judge.DuctIn:
		in.DuctIn = temperature(h.vote(g))
	case judge.DuctOut:
		in.DuctOut = temperature(h.vote(g))
	case judge.AirflowProof, judge.FanPower:
		for _, i := range g.probes {
			fans.hear(&h.s.Probes[i], h.verdicts[i])
		}
	}
}

// vote settles a group and marks in the verdicts the probe that the others contradict.
func (h *House) vote(g *group) judge.Verdict {
	v, odd := judge.Vote(g.votes, g.agree)
	if odd >= 0 {
		at := &h.verdicts[g.probes[odd]]
		at.Quality, at.Cause = min(at.Quality, judge.Doubtful), judge.Odd
	}
	return v
}

func temperature(v judge.Verdict) decide.Temperature {
	return decide.Temperature{C: unit.Celsius(v.Value), Quality: v.Quality}
}

// contact is what several contacts say together: on where one is, else lost where one does not
// answer.
func contact(votes []judge.Verdict) decide.Contact {
	state := decide.Off
	for _, v := range votes {
		switch {
		case !v.Quality.Usable():
			state = max(state, decide.Lost)
		case v.Value >= 0.5:
			return decide.On
		}
	}
	return state
}

// settleAir lets the crop's and the intake's air stand in for each other where one is lost. Air
// at the fan is not air among the leaves, so for the crop it is doubtful.
func settleAir(in *decide.Inputs) {
	if !in.IntakeAir.Quality.Usable() {
		in.IntakeAir = in.CropAir
	}
	if !in.CropAir.Quality.Usable() && in.IntakeAir.Quality.Usable() {
		in.CropAir = in.IntakeAir
		in.CropAir.Quality = judge.Doubtful
		in.CropLow = in.CropAir
	}
}

// soilVerdicts is what the probes of a store's soil say.
type soilVerdicts struct{ between, hottest, coldest judge.Verdict }

// carry passes the soil on, or carries it where its probes are lost: between the pipes moved by
// what the fans were expected to put into it since the last tick, at the roots kept on its worse
// side, so that neither cap nor floor is lifted by a probe that is pulled out.
func (h *House) carry(in *decide.Inputs, soil *[decide.MaxStores]soilVerdicts, stepS float64) {
	for i := range h.s.Decide.Stores {
		to, root, heatJ := &in.Stores[i], &h.state.Root[i], h.state.Last.Stores[i].HeatW*stepS
		to.Soil, h.state.Soil[i] = judge.CarrySoil(h.state.Soil[i], soil[i].between, heatJ, h.s.CapacityJK[i], stepS)
		to.RootMax, root.Hottest = held(root.Hottest, soil[i].hottest, 1, stepS)
		to.RootMin, root.Coldest = held(root.Coldest, soil[i].coldest, -1, stepS)
	}
}

// held is a root temperature, or the last one shifted by its uncertainty to one side.
func held(st judge.Carry, v judge.Verdict, side unit.Kelvin, stepS float64) (decide.Temperature, judge.Carry) {
	c, st := judge.CarrySoil(st, v, 0, 0, stepS)
	return decide.Temperature{C: c.C.Add(side * c.Uncertain), Quality: c.Quality}, st
}
