package history

import (
	"slices"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/ledger"
)

// Sample is what a house was like in one period. A period may come twice, each time with a part of
// its ticks, where the program was started anew or its clock was set.
type Sample struct {
	At     time.Time // begin of the period, UTC, by the board's clock
	StepS  int       // length of the period, s: 60, 900 or 3600
	Ticks  int       // how many ticks it is made of
	Layout *Layout   // whose Probes and Stores stand in this order
	Probes []ProbeSample
	Stores []StoreSample
	Totals *Totals // at the end of it, with hours only; nil is not kept
}

// ProbeSample is what one probe read in a period, judged, in its role's unit (see judge.Raw), to
// a thousandth. The zero value is no usable reading.
type ProbeSample struct {
	Mean, Min, Max float64       // over the usable readings; 0 without any
	Quality        judge.Quality // the best of the period; Bad is no usable reading, and no values
	Share          float64       // of the ticks with a usable reading, 0 to 1
}

// StoreSample is what one store did in most ticks of a period.
type StoreSample struct {
	State  decide.Activity
	Reason decide.Code
	Stages [decide.MaxFans]uint8 // the last ones commanded in that state for that reason
	OnS    float64               // time any fan was commanded on, s, to the share of ticks
}

// Totals are the counters of a house's account as they stood, to a thousandth. They only rise
// while the ledger is the same.
type Totals struct {
	ElectricityMoney, FuelMoney float64 // gross, in the site's currency
	Stores                      []StoreTotals
}

// StoreTotals are the counters of one store, its fans together.
type StoreTotals struct {
	Name             string
	RunS             float64 // fan time, s, to 1 s
	Starts           int64
	EnergyKWh        float64
	In, Out          ledger.Heat // into the soil, out of it
	CondensateLitres float64
}

// Add adds the counters of more, each times sign: −1 takes them off. The name stays.
func (s *StoreTotals) Add(more *StoreTotals, sign float64) {
	s.RunS += sign * more.RunS
	s.Starts += int64(sign) * more.Starts
	s.EnergyKWh += sign * more.EnergyKWh
	s.In.SensibleKWh += sign * more.In.SensibleKWh
	s.In.LatentKWh += sign * more.In.LatentKWh
	s.Out.SensibleKWh += sign * more.Out.SensibleKWh
	s.Out.LatentKWh += sign * more.Out.LatentKWh
	s.CondensateLitres += sign * more.CondensateLitres
}

// All adds up the stores.
func (t *Totals) All() (sum StoreTotals) {
	for i := range t.Stores {
		sum.Add(&t.Stores[i], 1)
	}
	return sum
}

// TotalsOf returns the counters of an account, of stores that are gone too; nil of nil.
func TotalsOf(account *ledger.House) *Totals {
	if account == nil {
		return nil
	}
	t := &Totals{ElectricityMoney: account.ElectricityMoney, FuelMoney: account.FuelMoney}
	for i := range account.Stores {
		from := &account.Stores[i]
		to := StoreTotals{Name: from.Name, In: from.In, Out: from.Out, CondensateLitres: from.CondensateLitres}
		for j := range from.Fans {
			to.RunS += from.Fans[j].RunTotalS()
			to.Starts += from.Fans[j].Starts
			to.EnergyKWh += from.Fans[j].EnergyKWh
		}
		t.Stores = append(t.Stores, to)
	}
	return t
}

// of returns the counters of a layout's stores, in its order: a row has no place for others.
func (t *Totals) of(l *Layout) *Totals {
	if t == nil {
		return nil
	}
	kept := &Totals{ElectricityMoney: t.ElectricityMoney, FuelMoney: t.FuelMoney, Stores: make([]StoreTotals, len(l.Stores))}
	for i, s := range l.Stores {
		kept.Stores[i].Name = s.Name
		if k := slices.IndexFunc(t.Stores, func(x StoreTotals) bool { return x.Name == s.Name }); k >= 0 {
			kept.Stores[i] = t.Stores[k]
		}
	}
	return kept
}

// period adds up the ticks of one period of a house.
type period struct {
	at     int64 // its begin, Unix s
	stepS  int64
	ticks  int
	probes []span
	stores []tally
	totals *Totals // at the end of it; nil is not kept
}

// span is what a probe read.
type span struct {
	n             int
	sum, min, max float64
	best          judge.Quality
}

// tally counts what a store did.
type tally struct {
	on   int
	does []doing
}

type doing struct {
	state  decide.Activity
	reason decide.Code
	stages [decide.MaxFans]uint8
	ticks  int
}

// mostDoings bounds a tally; what comes later in a period is in none of them.
const mostDoings = 12

// begin makes p the empty period of its length that holds a time.
func (p *period) begin(unix int64, l *Layout) {
	if p.probes == nil {
		p.probes, p.stores = make([]span, len(l.Probes)), make([]tally, len(l.Stores))
	}
	clear(p.probes)
	for i := range p.stores {
		p.stores[i] = tally{does: p.stores[i].does[:0]}
	}
	p.at, p.ticks, p.totals = floor(unix, p.stepS), 0, nil
}

// floor returns the last multiple of step not after v.
func floor(v, step int64) int64 { return v - ((v%step)+step)%step }

func (p *period) holds(unix int64) bool { return p.ticks > 0 && p.at == floor(unix, p.stepS) }

func (p *period) add(verdicts []judge.Verdict, d *decide.Decision) {
	p.ticks++
	for i := range min(len(verdicts), len(p.probes)) {
		if v := verdicts[i]; v.Quality.Usable() {
			p.probes[i].add(v)
		}
	}
	for i := range p.stores {
		p.stores[i].add(&d.Stores[i])
	}
}

func (s *span) add(v judge.Verdict) {
	if s.n == 0 {
		s.min, s.max = v.Value, v.Value
	}
	s.n++
	s.sum += v.Value
	s.min, s.max = min(s.min, v.Value), max(s.max, v.Value)
	s.best = max(s.best, v.Quality)
}

func (t *tally) add(d *decide.StoreDecision) {
	if d.Running() {
		t.on++
	}
	for i := range t.does {
		if x := &t.does[i]; x.state == d.State && x.reason == d.Reason.Code {
			x.ticks++
			x.stages = d.Stages
			return
		}
	}
	if len(t.does) < mostDoings {
		t.does = append(t.does, doing{d.State, d.Reason.Code, d.Stages, 1})
	}
}

// most is what the store did in most ticks, the first of equals.
func (t *tally) most() (m doing) {
	for _, x := range t.does {
		if x.ticks > m.ticks {
			m = x
		}
	}
	return m
}
