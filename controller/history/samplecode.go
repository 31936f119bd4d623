package history

import (
	"encoding/binary"
	"math"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
)

const sampleForm = 1

// sampleWriter writes the periods of one row one behind the other, each against the one before.
type sampleWriter struct {
	b    []byte
	last []int64 // means of the period before, in quanta
	n    int
}

// add appends a period of a row that begins at at.
func (w *sampleWriter) add(at int64, p *period) {
	if w.b == nil {
		w.b, w.last = []byte{sampleForm}, make([]int64, len(p.probes))
	}
	w.n++
	b := binary.AppendUvarint(w.b, uint64((p.at-at)/p.stepS))
	b = binary.AppendUvarint(b, uint64(p.ticks))
	for i := range p.probes {
		b = p.probes[i].append(b, p.ticks, &w.last[i])
	}
	for i := range p.stores {
		m := p.stores[i].most()
		b = append(b, byte(m.state), byte(m.reason))
		b = binary.AppendUvarint(b, uint64(p.stores[i].on))
		b = appendStages(b, m.stages)
	}
	w.b = appendTotals(b, p.totals)
}

// append writes quality, then where it is usable how many ticks were not, and mean, min and max.
func (s *span) append(b []byte, ticks int, last *int64) []byte {
	b = binary.AppendUvarint(b, uint64(s.best)|uint64(ticks-s.n)<<2)
	if s.n == 0 {
		return b
	}
	mean := quantise(s.sum/float64(s.n), quantum)
	low, high := min(quantise(s.min, quantum), mean), max(quantise(s.max, quantum), mean)
	b = appendVarint(b, mean-*last)
	*last = mean
	b = binary.AppendUvarint(b, uint64(mean-low))
	return binary.AppendUvarint(b, uint64(high-mean))
}

func appendStages(b []byte, stages [decide.MaxFans]uint8) []byte {
	n := decide.MaxFans
	for n > 0 && stages[n-1] == 0 {
		n--
	}
	return append(append(b, byte(n)), stages[:n]...)
}

func (p *parser) stages() (stages [decide.MaxFans]uint8) {
	n := int(p.byte())
	if n > decide.MaxFans {
		p.failed = true
		return stages
	}
	for i := range n {
		stages[i] = p.byte()
	}
	return stages
}

const thousandth = 1e-3

// appendTotals writes the number of stores + 1, or 0 for no totals, and the counters.
func appendTotals(b []byte, t *Totals) []byte {
	if t == nil {
		return append(b, 0)
	}
	b = append(b, byte(len(t.Stores)+1))
	b = appendVarint(b, quantise(t.ElectricityMoney, thousandth))
	b = appendVarint(b, quantise(t.FuelMoney, thousandth))
	for i := range t.Stores {
		s := &t.Stores[i]
		b = appendVarint(b, quantise(s.RunS, 1))
		b = appendVarint(b, s.Starts)
		for _, v := range [...]float64{
			s.EnergyKWh, s.In.SensibleKWh, s.In.LatentKWh, s.Out.SensibleKWh, s.Out.LatentKWh, s.CondensateLitres,
		} {
			b = appendVarint(b, quantise(v, thousandth))
		}
	}
	return b
}

func (p *parser) totals() *Totals {
	n := int(p.byte())
	if n == 0 || n > decide.MaxStores+1 {
		p.failed = p.failed || n > 0
		return nil
	}
	value := func() float64 { return float64(p.varint()) / (1 / thousandth) }
	t := &Totals{ElectricityMoney: value(), FuelMoney: value(), Stores: make([]StoreTotals, n-1)}
	for i := range t.Stores {
		s := &t.Stores[i]
		s.RunS, s.Starts = float64(p.varint()), p.varint()
		s.EnergyKWh = value()
		s.In.SensibleKWh, s.In.LatentKWh = value(), value()
		s.Out.SensibleKWh, s.Out.LatentKWh = value(), value()
		s.CondensateLitres = value()
	}
	return t
}

// decodeSamples returns the samples of a row that begins at at.
func decodeSamples(payload []byte, at, stepS int64, b *book) ([]Sample, error) {
	p := parser{b: payload}
	if p.byte() != sampleForm {
		return nil, errDamaged
	}
	var all []Sample
	last := make([]int64, len(b.Probes))
	for len(p.b) > 0 && !p.failed {
		all = append(all, p.sample(at, stepS, b, last))
	}
	return all, p.end()
}

func (p *parser) sample(at, stepS int64, b *book, last []int64) Sample {
	s := Sample{
		At: time.Unix(at+int64(p.uvarint()&math.MaxUint16)*stepS, 0).UTC(), StepS: int(stepS), Layout: &b.Layout,
		Ticks:  int(p.uvarint() & math.MaxInt32),
		Probes: make([]ProbeSample, len(b.Probes)), Stores: make([]StoreSample, len(b.Stores)),
	}
	for i := range s.Probes {
		s.Probes[i] = p.probe(s.Ticks, &last[i])
	}
	for i := range s.Stores {
		x := &s.Stores[i]
		x.State, x.Reason = b.state(uint64(p.byte())), b.reason(uint64(p.byte()))
		x.OnS = share(int(p.uvarint()&math.MaxInt32), s.Ticks) * float64(stepS)
		x.Stages = p.stages()
	}
	if s.Totals = p.totals(); s.Totals != nil {
		for i := range min(len(s.Totals.Stores), len(b.Stores)) {
			s.Totals.Stores[i].Name = b.Stores[i].Name
		}
	}
	return s
}

func (p *parser) probe(ticks int, last *int64) ProbeSample {
	head := p.uvarint()
	s := ProbeSample{Quality: judge.Quality(head & 3)}
	s.Share = share(ticks-int(head>>2&math.MaxInt32), ticks)
	if !s.Quality.Usable() {
		return s
	}
	*last += p.varint()
	mean := *last
	value := func(q int64) float64 { return float64(q) / (1 / quantum) }
	s.Mean, s.Min = value(mean), value(mean-int64(p.uvarint()))
	s.Max = value(mean + int64(p.uvarint()))
	return s
}

func share(part, of int) float64 {
	if of == 0 {
		return 0
	}
	return float64(part) / float64(of)
}
