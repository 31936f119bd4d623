package report

import (
	"iter"
	"slices"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/season"
)

// History is what a report reads; see history.Reader.
type History interface {
	Samples(house string, from, to time.Time) iter.Seq2[history.Sample, error]
	TotalsBefore(house string, before time.Time) (*history.Totals, error)
	Notes(from, to time.Time) iter.Seq2[history.Note, error]
}

// House is what a house did in a period.
type House struct {
	Name     string
	From, To time.Time
	KnownS   float64 // time of which there are samples
	Low      Low     // the lowest usable crop air
	FrostS   float64 // time with crop air at or under the frost limit in force
	BlindS   float64 // time without a usable crop air reading
	Stores   []Store
	HeaterS  float64 // time the house's heater was seen on
	HeaterIs bool    // a heater-on probe was read, so that HeaterS is known
	// Money is gross, in the site's currency.
	Electricity, Fuel float64
	Hands, Faults     []history.Note
}

// Low is the lowest crop air, and in which period of samples it was. Known is false where there is
// none.
type Low struct {
	C     unit.Celsius
	At    time.Time
	Known bool
}

// Store is what the fans of a store did in a period.
type Store struct {
	history.StoreTotals
	StateS [decide.Activities]float64 // by what most ticks of each sample did
}

// Gather adds up a period of a house. now is its account as it stands, for a period that has not
// ended; nil is not known.
func Gather(h History, s *config.House, now *ledger.House, from, to time.Time) (*House, error) {
	r := &House{Name: s.House.Name, From: from, To: to}
	for i := range s.House.Decide.Stores {
		r.Stores = append(r.Stores, Store{StoreTotals: history.StoreTotals{Name: s.House.Decide.Stores[i].Name}})
	}
	for sample, err := range h.Samples(r.Name, from, to) {
		if err != nil {
			return nil, err
		}
		r.sample(s, &sample)
	}
	if err := r.totals(h, now); err != nil {
		return nil, err
	}
	for n, err := range h.Notes(from, to) {
		if err != nil {
			return nil, err
		}
		switch {
		case n.House != r.Name:
		case n.Kind == history.HandNote:
			r.Hands = append(r.Hands, n)
		default:
			r.Faults = append(r.Faults, n)
		}
	}
	return r, nil
}

// sample adds one sample.
func (r *House) sample(s *config.House, x *history.Sample) {
	stepS := float64(x.StepS)
	r.KnownS += stepS
	for i := range x.Stores {
		if k := r.store(x.Layout.Stores[i].Name); k >= 0 {
			r.Stores[k].StateS[x.Stores[i].State] += stepS
		}
	}
	r.heater(&s.House, x)
	low, known := lowest(&s.House, x)
	if !known {
		r.BlindS += stepS
		return
	}
	if !r.Low.Known || low < r.Low.C {
		r.Low = Low{C: low, At: x.At, Known: true}
	}
	d := &s.House.Decide
	window, _ := season.First(d.Season.Site, d.Season.Windows, d.Season.Site.Local(x.At))
	if p := &d.Policies[window+1]; p.Crop && low <= p.Frost {
		r.FrostS += stepS
	}
}

// heater adds the time that the heater was on. Of several contacts the one that says most counts.
func (r *House) heater(s *house.Settings, x *history.Sample) {
	most := 0.0
	for i, name := range x.Layout.Probes {
		k := slices.IndexFunc(s.Probes, func(p house.Probe) bool { return p.Name == name })
		if k < 0 || s.Probes[k].Judge.Role != judge.HeaterOn || !x.Probes[i].Quality.Usable() {
			continue
		}
		r.HeaterIs = true
		most = max(most, x.Probes[i].Mean)
	}
	r.HeaterS += most * float64(x.StepS)
}

// lowest is the lowest crop air of a sample.
func lowest(s *house.Settings, x *history.Sample) (low unit.Celsius, known bool) {
	for i, name := range x.Layout.Probes {
		k := slices.IndexFunc(s.Probes, func(p house.Probe) bool { return p.Name == name })
		if k < 0 || s.Probes[k].Judge.Role != judge.Air || s.Probes[k].Judge.Place != judge.Crop || !x.Probes[i].Quality.Usable() {
			continue
		}
		if c := unit.Celsius(x.Probes[i].Min); !known || c < low {
			low, known = c, true
		}
	}
	return low, known
}

func (r *House) store(name string) int {
	return slices.IndexFunc(r.Stores, func(s Store) bool { return s.Name == name })
}

// totals takes the counters at the end less those at the beginning. Where the counters began in the
// period, they count from zero.
func (r *House) totals(h History, now *ledger.House) error {
	before, err := h.TotalsBefore(r.Name, r.From)
	if err != nil {
		return err
	}
	end := history.TotalsOf(now)
	if now == nil {
		if end, err = h.TotalsBefore(r.Name, r.To); err != nil {
			return err
		}
	}
	r.add(before, -1)
	r.add(end, 1)
	return nil
}

// add adds counters, which may be nil, with a sign. Those of stores that are gone are passed over.
func (r *House) add(t *history.Totals, sign float64) {
	if t == nil {
		return
	}
	r.Electricity += sign * t.ElectricityMoney
	r.Fuel += sign * t.FuelMoney
	for i := range t.Stores {
		if k := r.store(t.Stores[i].Name); k >= 0 {
			r.Stores[k].Add(&t.Stores[i], sign)
		}
	}
}
