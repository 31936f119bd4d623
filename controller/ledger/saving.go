package ledger

import (
	"math"
	"slices"
	"strings"

	"loambank/controller/learn"
)

// Span is a kind of time that saved energy is told of.
type Span uint8

// The closed list of spans.
const (
	Day    Span = iota
	Month       // of the calendar
	Season      // from one topping-up date to the next
	Spans  = 3
)

// most is how many times of each span are kept: the day before, two years of months, ten seasons.
var most = [Spans]int{Day: 2, Month: 24, Season: 10}

// Savings is the account of saved energy. A time that has ended stays as it was last told. The zero
// value has told nothing.
type Savings struct {
	Days    []Saving `json:",omitempty"` // by their beginnings, as the other two
	Months  []Saving `json:",omitempty"`
	Seasons []Saving `json:",omitempty"`
}

// Saving is what running the fans of a house brought in a time, against the same house never running
// them, as it was last told: figures to a thousandth.
type Saving struct {
	Begin    string // first day of the time by the site's calendar, such as "2026-11-01"; empty is none
	From, To int64  // Unix s, between which it was counted
	Energy   learn.Saved
	Heated   bool // by a heater of its own; else nights and degree-hours are what counts
	Crop     bool // there is a limit to count them by
	// Currency is empty where the fuel's price or that of electricity is not stated.
	Currency         string  `json:",omitempty"`
	FuelPerKWh       float64 `json:",omitzero"` // of useful heat, when last told
	ElectricityMoney float64 `json:",omitzero"` // what the fans cost from From to To
}

// Counted reports whether any hour of the time could be counted.
func (s *Saving) Counted() bool { return s.Energy.CountedH > 0 }

// Claimed reports whether a net saving may be shown: the house has a heater whose fuel was saved, and
// the flow of its fans was measured or learned.
func (s *Saving) Claimed() bool { return s.Heated && s.Energy.Claimed && s.Counted() }

// Money is what was saved in the saving's currency, the fans' electricity taken off, and ±. It is
// known only where a net saving may be claimed and both prices are stated, and told to a thousandth.
func (s *Saving) Money() (net, spread float64, known bool) {
	if !s.Claimed() || s.Currency == "" {
		return 0, 0, false
	}
	return thousandth(s.Energy.HeatKWh*s.FuelPerKWh - s.ElectricityMoney), thousandth(s.Energy.SpreadKWh * s.FuelPerKWh), true
}

// Find returns what was told of the time of a span that began on that day, or nil.
func (s *Savings) Find(span Span, begin string) *Saving {
	return find(*s.of(span), func(x *Saving) bool { return x.Begin == begin })
}

// Tell enters what is known of a time now, in the place of what was told of it before. What is no
// number is not told. Where there are too many times, the oldest is forgotten.
func (s *Savings) Tell(span Span, x Saving) {
	if !x.round() {
		return
	}
	all := s.of(span)
	at, found := slices.BinarySearchFunc(*all, x, func(a, b Saving) int { return strings.Compare(a.Begin, b.Begin) })
	if found {
		(*all)[at] = x
		return
	}
	*all = slices.Insert(*all, at, x)
	if len(*all) > most[span] {
		oldest := 0
		if at == 0 { // a clock that was ahead left times that are to come
			oldest = 1
		}
		*all = slices.Delete(*all, oldest, oldest+1)
	}
}

func (s *Savings) of(span Span) *[]Saving {
	switch span {
	case Day:
		return &s.Days
	case Month:
		return &s.Months
	}
	return &s.Seasons
}

// round rounds every figure to a thousandth; false where one is no number.
func (s *Saving) round() (good bool) {
	e := &s.Energy
	good = true
	for _, v := range [...]*float64{
		&e.HeatKWh, &e.ElectricityKWh, &e.NetKWh, &e.SpreadKWh, &e.Nights, &e.NightsSpread, &e.DegreeHours, &e.DegreeSpread,
		&e.CountedH, &e.LostH, &s.ElectricityMoney,
	} {
		*v = thousandth(*v)
		good = good && !math.IsNaN(*v) && !math.IsInf(*v, 0)
	}
	return good
}

func thousandth(v float64) float64 { return math.Round(v*1000) / 1000 }

// clone returns a copy that shares nothing with s.
func (s *Savings) clone() Savings {
	return Savings{Days: slices.Clone(s.Days), Months: slices.Clone(s.Months), Seasons: slices.Clone(s.Seasons)}
}
