package whatif

import (
	"fmt"
	"time"

	"loambank/config"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/replay"
)

// Options says how a recording is read.
type Options struct {
	From, Until time.Time // as in replay.Options
	// Rested says that the fans never ran in the recording, whatever the settings would have decided.
	Rested bool
}

// Comparison is two settings of a farm on one recording.
type Comparison struct {
	First, Last time.Time
	Rows        int64
	Houses      []House
}

// House is the comparison of one house: the settings that were in force first, the others second.
type House struct {
	Name string
	Open [2]replay.House // the recording as it is
	// Lacks is why readings could not be corrected, "" where they could. Then what follows is zero.
	Lacks   string
	Metered bool // what the fans did in the recording was measured
	Closed  [2]replay.House
	// HeatInKWh and HeatOutKWh are into and out of all soil by the exchange that was learned; the
	// accounts of both replays have the assumed one.
	HeatInKWh, HeatOutKWh [2]float64
	More                  Differences // second less first, corrected
	// FollowedH and LostH are hours that the differences rest on, and those without the readings.
	FollowedH, LostH float64
	Learned          learn.HouseValues
	Fit              Fit
}

// Compare replays a recording under was, the settings in force when it was made, and under other.
func Compare(was, other *config.Settings, rows *replay.Kept, o Options) (*Comparison, error) {
	if err := alike(was, other); err != nil {
		return nil, err
	}
	pasts := make([]*past, len(was.Houses))
	begins, ends := rows.Span(o.From, o.Until)
	for i := range pasts {
		pasts[i] = newPast(&was.Houses[i], begins, ends)
	}
	open := replay.Options{From: o.From, Until: o.Until}
	learning := open
	learning.OnTick = func(t *replay.Tick) { pasts[t.House].take(&was.Houses[t.House], t, o.Rested) }
	first, err := replay.Run(was, rows.Again(), learning)
	if err != nil {
		return nil, err
	}
	second, err := replay.Run(other, rows.Again(), open)
	if err != nil {
		return nil, fmt.Errorf("the other settings: %w", err)
	}
	c := &Comparison{First: first.First, Last: first.Last, Rows: first.Rows}
	enough := false
	for i, p := range pasts {
		h := House{
			Name: was.Houses[i].House.Name, Open: [2]replay.House{first.Houses[i], second.Houses[i]}, Metered: p.metered,
			Lacks: p.lacks(&was.Houses[i]), Learned: p.params.HouseValues(&p.s), Fit: p.fit(),
		}
		enough = enough || h.Lacks == ""
		c.Houses = append(c.Houses, h)
	}
	if enough {
		err = c.close([2]*config.Settings{was, other}, pasts, rows, open)
	}
	return c, err
}

// alike reports where two settings are not of the same houses and stores, in the same order.
func alike(was, other *config.Settings) error {
	if len(was.Houses) != len(other.Houses) {
		return fmt.Errorf("the settings have %d and %d houses; compare settings of the same houses", len(was.Houses), len(other.Houses))
	}
	for i := range was.Houses {
		a, b := &was.Houses[i].House, &other.Houses[i].House
		if a.Name != b.Name {
			return fmt.Errorf("house %d is %s in one and %s in the other; keep names and order", i+1, a.Name, b.Name)
		}
		if len(a.Decide.Stores) != len(b.Decide.Stores) {
			return fmt.Errorf("house %s has %d and %d stores; a recording cannot tell of a store that it did not see",
				a.Name, len(a.Decide.Stores), len(b.Decide.Stores))
		}
		for k := range a.Decide.Stores {
			if x, y := a.Decide.Stores[k].Name, b.Decide.Stores[k].Name; x != y {
				return fmt.Errorf("store %d of house %s is %s in one and %s in the other; keep names and order", k+1, a.Name, x, y)
			}
		}
	}
	return nil
}

// close replays both settings once for each value that may be a standard error off.
func (c *Comparison) close(s [2]*config.Settings, pasts []*past, rows *replay.Kept, o replay.Options) error {
	twins := make([][2][]learn.Twin, len(pasts))
	for i, p := range pasts {
		twins[i] = [2][]learn.Twin{p.params.Twins(&p.s), p.params.Twins(&p.s)}
	}
	copies := len(twins[0][0])
	sums := make([][2][]sums, len(pasts))
	for k := range copies {
		for side := range s {
			followers := make([]follower, len(pasts))
			for i, p := range pasts {
				followers[i] = follower{h: &s[side].Houses[i], past: p, twin: &twins[i][side][k]}
			}
			o.Amend = func(house int, raw []judge.Raw) { followers[house].amend(raw) }
			o.OnTick = func(t *replay.Tick) { followers[t.House].take(t) }
			r, err := replay.Run(s[side], rows.Again(), o)
			if err != nil {
				return err
			}
			for i := range pasts {
				sums[i][side] = append(sums[i][side], add(&r.Houses[i], &followers[i]))
				if h := &c.Houses[i]; k == 0 && h.Lacks == "" {
					h.Closed[side] = r.Houses[i]
					h.FollowedH, h.LostH = followers[i].twin.Hours()
					h.HeatInKWh[side], h.HeatOutKWh[side] = followers[i].twin.HeatKWh()
				}
			}
		}
	}
	for i := range pasts {
		if h := &c.Houses[i]; h.Lacks == "" {
			h.More = more(h, sums[i])
		}
	}
	return nil
}
