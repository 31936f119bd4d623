package tune

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loambank/config"
	"loambank/config/unit"
)

// Space is the numbers of a house's settings that may be turned, each in steps that a grower would
// write. Its origin is today's settings.
type Space struct {
	knobs    []knob
	today    *config.House
	turn     config.Turn
	display  unit.Display
	currency string
}

// NewSpace returns what may be turned in a house. Frost limits, caps, hours of windows and whatever
// is not of the policy stay as the grower wrote them.
func NewSpace(s *config.Settings, h *config.House) *Space {
	sp := &Space{today: h, turn: s.Turn, display: s.Display, currency: s.Currency}
	sp.knobs = append(sp.policyKnobs(), sp.storeKnobs()...)
	sp.knobs = append(sp.knobs, sp.windowKnobs()...)
	sp.knobs = append(sp.knobs, sp.worthKnobs()...)
	return sp
}

// Today is the point of the settings as they are.
func (sp *Space) Today() Point { return make(Point, len(sp.knobs)) }

// Shape is the box in which the worth of stored heat keeps its usual shape, and how far the search
// looks at first along each axis. Months is the box around a point in which each month's worth is
// turned alone.
func (sp *Space) Shape() (first Point, box Box) {
	first = make(Point, len(sp.knobs))
	box = Box{Lo: make(Point, len(sp.knobs)), Hi: make(Point, len(sp.knobs))}
	for i := range sp.knobs {
		k := &sp.knobs[i]
		first[i] = k.first
		if !k.month {
			box.Lo[i], box.Hi[i] = -k.reach, k.reach
		}
	}
	return first, box
}

// Months is described at Shape.
func (sp *Space) Months(around Point) (first Point, box Box) {
	first = make(Point, len(sp.knobs))
	box = Box{Lo: slices.Clone(around), Hi: slices.Clone(around)}
	for i := range sp.knobs {
		k := &sp.knobs[i]
		first[i] = k.first
		if k.month {
			box.Lo[i], box.Hi[i] = -k.reach, k.reach
		}
	}
	return first, box
}

// House returns the settings at a point; ok is false where they contradict each other, as config
// would say.
func (sp *Space) House(p Point) (h *config.House, ok bool) {
	d := sp.draft(p)
	return d.h, d.valid()
}

// draft is a copy of the settings while knobs are turned.
type draft struct {
	h    *config.House
	of   *config.House // today's
	turn config.Turn
	// share is the worth of a stored kWh at the first frost, as a share of the fuel's heat price.
	share float64
	month [12]float64 // added to the worth of a stored kWh, currency
	steps int         // by which the present knob is turned
}

func (sp *Space) draft(p Point) *draft {
	d := &draft{h: clone(sp.today), of: sp.today, turn: sp.turn}
	d.share, _ = shapeOf(sp.today)
	for i := range sp.knobs {
		if d.steps = p[i]; d.steps != 0 {
			sp.knobs[i].turn(d)
		}
	}
	d.settle(sp)
	d.price()
	return d
}

// clone copies what knobs turn.
func clone(h *config.House) *config.House {
	c := *h
	d := &c.House.Decide
	d.Policies = slices.Clone(d.Policies)
	for i := range d.Policies {
		d.Policies[i].Stores = slices.Clone(d.Policies[i].Stores)
	}
	d.Stores = slices.Clone(d.Stores)
	d.Season.Windows = slices.Clone(d.Season.Windows)
	return &c
}

// settle keeps together what belongs together: no band is wider than what it belongs to, and no heat
// is taken while it is given, nor what the heater would have to give; where today's settings do
// that, no more than they.
func (d *draft) settle(sp *Space) {
	s := &d.h.House.Decide
	for i := range s.Policies {
		p, was := &s.Policies[i], &d.of.House.Decide.Policies[i]
		least := p.Setpoint.Add(p.SetpointBand)
		if s.Heater.Present {
			least = max(least, s.Heater.Setpoint.Add(s.Heater.Band))
		}
		if p.ChargeFloor < least && p.ChargeFloor < was.ChargeFloor || p.ChargeFloor < least && was.ChargeFloor >= least {
			p.ChargeFloor = sp.celsius(least)
		}
		for j := range p.Stores {
			q := &p.Stores[j]
			q.MarginBand, q.GainBand = min(q.MarginBand, q.Margin), min(q.GainBand, q.Gain)
		}
	}
}

// valid reports whether the settings keep the rules and ranges that package config checks.
func (d *draft) valid() bool {
	s := &d.h.House.Decide
	for i := range s.Policies {
		p, was := &s.Policies[i], &d.of.House.Decide.Policies[i]
		if p.Crop && p.Setpoint < min(p.Frost, was.Setpoint) || p.Setpoint < -15 || p.Setpoint > 30 ||
			p.SetpointBand < 0.2 || p.SetpointBand > 6 || p.ChargeFloor < -15 || p.ChargeFloor > 40 {
			return false
		}
		for _, q := range p.Stores {
			if q.Margin < 0.5 || q.Margin > 20 || q.MarginBand < 0.1 || q.MarginBand > 10 ||
				q.Gain < 0.5 || q.Gain > 20 || q.GainBand < 0.1 || q.GainBand > 10 ||
				q.SoilFloor < -5 || q.SoilFloor > 25 || q.SoilFloor >= q.SoilCap {
				return false
			}
		}
	}
	for _, worth := range s.Tariff.StoredPerKWh {
		if worth < 0 {
			return false
		}
	}
	return d.share >= 0 && d.share <= 1
}

// Snippet is what a point changes, to be written over the same keys of the settings file. A table in
// which anything changes is written with all its keys that the search knows, since the default of one
// may hang on another. Every value is one that the file's own syntax reads.
func (sp *Space) Snippet(p Point) string {
	was, now := sp.lines(sp.Today()), sp.lines(p)
	changed := map[string]bool{}
	for _, l := range now {
		changed[l.table] = changed[l.table] || !slices.Contains(was, l)
	}
	for i := range sp.today.Windows { // else it would take over what the house now states
		changed[sp.window(i)] = changed[sp.window(i)] || changed[sp.house()]
	}
	var out strings.Builder
	table := ""
	for _, l := range now {
		if !changed[l.table] {
			continue
		}
		if l.table != table {
			table = l.table
			fmt.Fprintf(&out, "%s\n", table)
		}
		fmt.Fprintf(&out, "%s = %s\n", l.key, l.value)
	}
	if out.Len() == 0 {
		return "# nothing: today's settings stay\n"
	}
	return out.String()
}

// lines are the settings at a point, by tables: of the farm, of the house, of its stores and windows.
func (sp *Space) lines(p Point) (all []line) {
	d := sp.draft(p)
	for i := range sp.knobs {
		if sp.knobs[i].write != nil {
			all = append(all, sp.knobs[i].write(d)...)
		}
	}
	if sp.monthly(p) {
		all = append(all, sp.stored(d))
	}
	order := []string{"[s", "[p", "[[house]]", "[[house.s", "[[house.w"}
	rank := func(l line) int {
		return slices.IndexFunc(order, func(begin string) bool { return strings.HasPrefix(l.table, begin) })
	}
	slices.SortStableFunc(all, func(a, b line) int { return cmp.Or(rank(a)-rank(b), strings.Compare(a.table, b.table)) })
	return slices.Compact(all)
}

// monthly reports whether a month was turned.
func (sp *Space) monthly(p Point) (turned bool) {
	for i := range sp.knobs {
		turned = turned || sp.knobs[i].month && p[i] != 0
	}
	return turned
}

const pricesTable = "[prices]"

// stored writes the twelve worths.
func (sp *Space) stored(d *draft) line {
	var worths []string
	for _, w := range d.h.House.Decide.Tariff.StoredPerKWh {
		worths = append(worths, quoted(sp.perKWh(w)))
	}
	return line{pricesTable, "stored", "[" + strings.Join(worths, ", ") + "]"}
}

// perKWh is a price as the settings file would say it.
func (sp *Space) perKWh(amount float64) unit.Price {
	return unit.Price{Amount: amount, Currency: unit.Symbol(sp.currency), Per: "kWh"}
}

// IsToday reports whether a point is today's settings.
func (sp *Space) IsToday(p Point) bool { return slices.Equal(p, sp.Today()) }
