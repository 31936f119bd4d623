package controller

import (
	"context"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// interlockEvery is how often interlocks are read between ticks, by the machine's clock.
const interlockEvery = 500 * time.Millisecond

// interlock reports whether a probe may hold fans, and must be heard within two seconds.
func interlock(p *house.Probe) bool {
	return p.Judge.Role == judge.Smoke || p.Judge.Role == judge.PipeWater
}

func (r *runner) interlocked() bool {
	for i := range r.s.House.Probes {
		if interlock(&r.s.House.Probes[i]) {
			return true
		}
	}
	return false
}

// tripped reads the interlocks between ticks and reports whether one is on that was not.
func (r *runner) tripped(ctx context.Context) bool {
	var asked []*probe
	var were []judge.Raw
	for i := range r.s.House.Probes {
		if interlock(&r.s.House.Probes[i]) {
			asked, were = append(asked, r.probes[i]), append(were, r.raw[i])
		}
	}
	raw := make([]judge.Raw, len(asked))
	read(ctx, asked, raw, quickWait)
	for i := range raw {
		if raw[i].OK && raw[i].Value >= contactOn && !(were[i].OK && were[i].Value >= contactOn) {
			return true
		}
	}
	return false
}

// contactOn is the reading from which on a contact is on.
const contactOn = 0.5

// overFrost is how far the crop's air is over its frost limit: the lower, the sooner a house is
// served. Unknown air comes between: it may be anything.
func overFrost(s *decide.Settings, in *decide.Inputs, d *decide.Decision) unit.Kelvin {
	const unknown, nothingToSave = 2, 1000
	p := &s.Policies[d.Window+1]
	switch {
	case !p.Crop:
		return nothingToSave
	case !in.CropLow.Quality.Usable():
		return unknown
	}
	return in.CropLow.C.Sub(p.Frost)
}
