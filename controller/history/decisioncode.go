package history

import (
	"encoding/binary"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// Decision is what a house decided from a tick on, kept when anything a person sees changed:
// a state, a reason or why a start waits, a stage.
type Decision struct {
	At     time.Time // UTC
	Layout *Layout
	// Stores stand in the order of Layout.Stores. Numbers are rounded: temperatures and what was
	// compared to a thousandth, HeatW and PowerW to 1 W; LatentW and CondensateKgS are not kept.
	Stores []decide.StoreDecision
}

const decisionForm = 1

// sameToPeople reports whether two decisions look alike.
func sameToPeople(a, b *decide.Decision) bool {
	for i := range a.Stores {
		x, y := &a.Stores[i], &b.Stores[i]
		if x.State != y.State || x.Reason.Code != y.Reason.Code || x.Waiting.Code != y.Waiting.Code || x.Stages != y.Stages {
			return false
		}
	}
	return true
}

// encodeDecision returns the payload of what the first stores of a house decided at a time.
func encodeDecision(ns int64, d *decide.Decision, stores int) []byte {
	b := appendVarint([]byte{decisionForm}, ns)
	for i := range stores {
		s := &d.Stores[i]
		b = append(b, byte(s.State))
		b = appendStages(b, s.Stages)
		b = appendReason(b, &s.Reason)
		b = appendReason(b, &s.Waiting)
		b = appendVarint(b, quantise(s.HeatW, 1))
		b = appendVarint(b, quantise(s.PowerW, 1))
	}
	return b
}

func appendReason(b []byte, r *decide.Reason) []byte {
	b = append(b, byte(r.Code))
	if r.Code == decide.NoReason {
		return b
	}
	has := uint64(0)
	if r.HasAir {
		has |= 1
	}
	if r.HasSoil {
		has |= 2
	}
	if r.Learned {
		has |= 4
	}
	b = binary.AppendUvarint(b, has)
	for _, v := range [...]float64{float64(r.Air), float64(r.Soil), r.Have, r.Need} {
		b = appendVarint(b, quantise(v, quantum))
	}
	return b
}

func (p *parser) reason(b *book) (r decide.Reason) {
	n := p.byte()
	if r.Code = b.reason(uint64(n)); n == 0 {
		return r
	}
	has := p.uvarint()
	r.HasAir, r.HasSoil, r.Learned = has&1 != 0, has&2 != 0, has&4 != 0
	value := func() float64 { return float64(p.varint()) / (1 / quantum) }
	r.Air, r.Soil = unit.Celsius(value()), unit.Celsius(value())
	r.Have, r.Need = value(), value()
	return r
}

func decodeDecision(payload []byte, b *book) (Decision, error) {
	p := parser{b: payload}
	if p.byte() != decisionForm {
		return Decision{}, errDamaged
	}
	d := Decision{At: unixNs(p.varint()), Layout: &b.Layout, Stores: make([]decide.StoreDecision, len(b.Stores))}
	for i := range d.Stores {
		s := &d.Stores[i]
		s.State = b.state(uint64(p.byte()))
		s.Stages = p.stages()
		s.Reason, s.Waiting = p.reason(b), p.reason(b)
		s.HeatW, s.PowerW = float64(p.varint()), float64(p.varint())
	}
	return d, p.end()
}

func unixNs(ns int64) time.Time { return time.Unix(0, ns).UTC() }
