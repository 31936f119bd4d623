package page

import (
	"context"
	"time"

	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
)

// record is what a house was in a period, in slots of equal length: no more than a picture can
// show, however finely it was kept.
type record struct {
	from   time.Time
	slot   time.Duration
	probes []line // in the order of the house's probes
	stores []lane // in the order of its stores
	any    bool   // there is anything in it
	read   time.Time
}

// line is what one probe read.
type line []cell

// cell is the readings of a slot, each for as long as it stands for. The zero value is none.
type cell struct {
	weightS, sum float64
	min, max     float64
}

// add takes a mean over a time in, with its least and greatest value.
func (c *cell) add(weightS, mean, low, high float64) {
	if c.weightS == 0 {
		c.min, c.max = low, high
	}
	c.min, c.max = min(c.min, low), max(c.max, high)
	c.sum, c.weightS = c.sum+weightS*mean, c.weightS+weightS
}

func (c *cell) merge(d *cell) {
	if d.weightS > 0 {
		c.add(d.weightS, d.sum/d.weightS, d.min, d.max)
	}
}

// lane is how long a store was in which activity, fans on, of each slot.
type lane []struct {
	onS, knownS [decide.Activities]float64 // by activity: fans on, and in it at all
}

// readRecord reads a period. Probes and stores are those that the house has now, found by name
// whatever stood beside them then. It ends early when ctx does.
func readRecord(ctx context.Context, r *history.Reader, q *question) (*record, error) {
	n := int((q.to.Sub(q.from) + q.span.slot - 1) / q.span.slot)
	rec := &record{from: q.from, slot: q.span.slot}
	for range q.house.House.Probes {
		rec.probes = append(rec.probes, make(line, n))
	}
	for range q.house.House.Decide.Stores {
		rec.stores = append(rec.stores, make(lane, n))
	}
	places := map[*history.Layout]places{}
	for s, err := range r.Samples(q.house.House.Name, q.from, q.to) {
		if err != nil {
			return nil, err
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		at, found := places[s.Layout]
		if !found {
			at = placesOf(s.Layout, &q.house.House)
			places[s.Layout] = at
		}
		rec.add(&s, at, q.tick)
	}
	return rec, nil
}

// places says where what a layout names stands now; -1 is nowhere.
type places struct{ probes, stores []int }

func placesOf(l *history.Layout, h *house.Settings) (p places) {
	for _, name := range l.Probes {
		at := -1
		for i := range h.Probes {
			if h.Probes[i].Name == name {
				at = i
			}
		}
		p.probes = append(p.probes, at)
	}
	for i := range l.Stores {
		at := -1
		for j := range h.Decide.Stores {
			if h.Decide.Stores[j].Name == l.Stores[i].Name {
				at = j
			}
		}
		p.stores = append(p.stores, at)
	}
	return p
}

// add takes a sample in. It stands for its whole step, or for as long as it is to the next tick
// where that is longer, and fills every slot that it reaches over.
func (r *record) add(s *history.Sample, at places, tick time.Duration) {
	length := max(time.Duration(s.StepS)*time.Second, tick)
	first := int(s.At.Sub(r.from) / r.slot)
	last := int((s.At.Add(length).Sub(r.from) - 1) / r.slot)
	for slot := max(0, first); slot <= last; slot++ {
		from, to := r.at(slot), r.at(slot+1)
		if from.Before(s.At) {
			from = s.At
		}
		if end := s.At.Add(length); to.After(end) {
			to = end
		}
		r.addTo(slot, s, at, to.Sub(from).Seconds())
	}
}

// addTo takes the part of a sample that lies in a slot, s.
func (r *record) addTo(slot int, s *history.Sample, at places, partS float64) {
	for i := range s.Probes {
		p := &s.Probes[i]
		if i >= len(at.probes) || at.probes[i] < 0 || !p.Quality.Usable() || p.Share <= 0 {
			continue
		}
		if line := r.probes[at.probes[i]]; slot < len(line) {
			line[slot].add(partS*p.Share, p.Mean, p.Min, p.Max)
			r.any = true
		}
	}
	for i := range s.Stores {
		if i >= len(at.stores) || at.stores[i] < 0 || int(s.Stores[i].State) >= decide.Activities {
			continue
		}
		if lane := r.stores[at.stores[i]]; slot < len(lane) {
			state := s.Stores[i].State
			lane[slot].onS[state] += s.Stores[i].OnS * partS / float64(s.StepS)
			lane[slot].knownS[state] += partS
			r.any = true
		}
	}
}

// at is when a slot begins.
func (r *record) at(slot int) time.Time { return r.from.Add(time.Duration(slot) * r.slot) }

// onS is how long the store's fans ran in a slot, s; false where it is not known.
func (l lane) onS(slot int) (s float64, known bool) {
	for a := range decide.Activities {
		s += l[slot].onS[a]
		known = known || l[slot].knownS[a] > 0
	}
	return s, known
}

// did is the activity of a slot in which the fans ran most; false where they hardly ran.
func (l lane) did(slot int) (best decide.Activity, ran bool) {
	total, known := 0.0, 0.0
	for a := range decide.Activity(decide.Activities) {
		total, known = total+l[slot].onS[a], known+l[slot].knownS[a]
		if l[slot].onS[a] > l[slot].onS[best] {
			best = a
		}
	}
	return best, total > 0.25*known
}
