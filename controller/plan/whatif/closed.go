package whatif

import (
	"loambank/config"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/replay"
)

// follower corrects the readings of one replay by how its house would have come to differ from the
// recorded one.
type follower struct {
	h    *config.House
	past *past
	twin *learn.Twin
	next int // of past.samples
	// What the fans did since the last sample, times s.
	ran   [learn.MaxStores]learn.Ran
	timeS float64
	fuel  float64 // money for the heat that the heater gave more
}

// amend corrects what the probes read. What tells only of the recorded fans is taken away.
func (f *follower) amend(raw []judge.Raw) {
	d := f.twin.Apart()
	for i := range raw {
		q := &f.h.House.Probes[i]
		switch q.Judge.Role {
		case judge.Air, judge.DuctIn:
			raw[i].Value -= d.Air
		case judge.Soil:
			raw[i].Value -= soilApart(q, &d)
		case judge.DuctOut, judge.FanPower, judge.AirflowProof:
			raw[i] = judge.Raw{}
		}
		if !raw[i].OK {
			raw[i] = judge.Raw{}
		}
	}
}

// soilApart is how much warmer a soil probe reads in the recorded house, K.
func soilApart(q *house.Probe, d *learn.Difference) float64 {
	switch {
	case q.Store == house.WholeHouse:
		return 0
	case q.Judge.Place == judge.Between:
		return d.Store
	case q.Judge.Place == judge.Root:
		return d.Shallow
	}
	return 0
}

// take lets the twin live up to a tick.
func (f *follower) take(t *replay.Tick) {
	stores := f.h.House.Decide.Stores
	for i := range stores {
		r := ranOf(&stores[i], &t.Was.Stores[i], f.past.s.Stores[i].FlowM3s)
		f.ran[i].Level += r.Level * t.StepS
		f.ran[i].PowerW += r.PowerW * t.StepS
	}
	f.timeS += t.StepS
	before := f.twin.HeaterKWh()
	due := f.next
	for due < len(f.past.samples) && !f.past.samples[due].at.After(t.Time) {
		due++
	}
	if due == f.next {
		return
	}
	var mean [learn.MaxStores]learn.Ran
	if f.timeS > 0 {
		for i := range stores {
			mean[i] = learn.Ran{Level: f.ran[i].Level / f.timeS, PowerW: f.ran[i].PowerW / f.timeS}
		}
	}
	for ; f.next < due; f.next++ {
		f.twin.Live(f.past.samples[f.next].sample, mean)
	}
	f.ran, f.timeS = [learn.MaxStores]learn.Ran{}, 0
	f.fuel += (f.twin.HeaterKWh() - before) * t.Was.Prices.FuelHeatPerKWh
}
