package report

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/ledger"
)

// SavedRow is a line of the table of what was saved, with a cell for each time.
type SavedRow struct {
	Label string
	Cells []string
}

// NotTold stands in the cell of a time of which a row tells nothing.
const NotTold = "–"

// SavedRows tell in words what was saved in some times of a house, which may be nil: of a heated house
// heat, electricity, both together and money, else nights and degree-hours. What no time tells has no
// row, so that there may be none.
func SavedRows(of []*ledger.Saving, d unit.Display) []SavedRow {
	t := savedTable{of: of}
	sure := t.any((*ledger.Saving).Claimed)
	if sure {
		t.row("Heater spared", (*ledger.Saving).Claimed, func(s *ledger.Saving) string {
			return around(d, s.Energy.HeatKWh, s.Energy.SpreadKWh)
		})
		t.row("Fans took", (*ledger.Saving).Claimed, func(s *ledger.Saving) string { return d.Heat(s.Energy.ElectricityKWh * jPerKWh) })
	}
	t.row("Saved, net", func(s *ledger.Saving) bool { return s.Heated }, func(s *ledger.Saving) string {
		switch {
		case s.Claimed():
			return around(d, s.Energy.NetKWh, s.Energy.SpreadKWh)
		case !s.Energy.Claimed:
			return "not measured: flow is the catalogue's"
		}
		return "nothing counted yet"
	})
	t.row("Saved, money", func(s *ledger.Saving) bool { _, _, known := s.Money(); return known }, func(s *ledger.Saving) string {
		net, spread, _ := s.Money()
		return unit.Number(net, 2) + " ± " + Money(spread, s.Currency)
	})
	keeps := func(s *ledger.Saving) bool { return !s.Heated && s.Crop }
	t.row("Nights kept", keeps, func(s *ledger.Saving) string {
		if !s.Counted() {
			return "nothing counted yet"
		}
		return unit.Number(s.Energy.Nights, 0) + " ± " + unit.Number(s.Energy.NightsSpread, 0)
	})
	t.row("Cold kept off", func(s *ledger.Saving) bool { return keeps(s) && s.Counted() }, func(s *ledger.Saving) string {
		return degreeHours(d, s.Energy.DegreeHours, s.Energy.DegreeSpread)
	})
	return t.rows
}

// savedTable is the table as it grows.
type savedTable struct {
	of   []*ledger.Saving
	rows []SavedRow
}

func (t *savedTable) any(is func(*ledger.Saving) bool) bool {
	for _, s := range t.of {
		if s != nil && is(s) {
			return true
		}
	}
	return false
}

// row adds a row where it tells anything: of those times of which it does.
func (t *savedTable) row(label string, tells func(*ledger.Saving) bool, text func(*ledger.Saving) string) {
	if !t.any(tells) {
		return
	}
	r := SavedRow{Label: label}
	for _, s := range t.of {
		cell := NotTold
		if s != nil && tells(s) {
			cell = text(s)
		}
		r.Cells = append(r.Cells, cell)
	}
	t.rows = append(t.rows, r)
}

const jPerKWh = 3.6e6

// around is an amount of heat, ±.
func around(d unit.Display, kWh, spreadKWh float64) string {
	return strings.TrimSuffix(d.Heat(kWh*jPerKWh), " kWh") + " ± " + d.Heat(spreadKWh*jPerKWh)
}

// degreeHours are those under the crop's limit that were spared, ±.
func degreeHours(d unit.Display, kh, spreadKH float64) string {
	if d == unit.US {
		const perK = 1.8
		return unit.Number(perK*kh, 0) + " ± " + unit.Number(perK*spreadKH, 0) + " °F h"
	}
	return unit.Number(kh, 0) + " ± " + unit.Number(spreadKH, 0) + " K h"
}

// Money is an amount with its currency's sign, or its three letters.
func Money(v float64, currency string) string {
	return unit.Number(v, 2) + " " + cmp.Or(unit.Symbol(currency), currency)
}

// SavedMethod says in paragraphs how what was saved is reckoned; nothing where SavedRows tell nothing.
func SavedMethod(of []*ledger.Saving) (paragraphs []string) {
	t := savedTable{of: of}
	sure := t.any((*ledger.Saving).Claimed)
	keeps := t.any(func(s *ledger.Saving) bool { return !s.Heated && s.Crop })
	if sure {
		paragraphs = append(paragraphs, "Saved is the heat that the heater did not have to give, without what the soil would have given by "+
			"itself, less the fans' electricity; it may be negative. Money is that heat at the fuel's price of the time's end, less what the electricity cost.")
	}
	if keeps {
		paragraphs = append(paragraphs, "Nights kept are those in which the crop's air stayed over its limit and else would not have; cold kept "+
			"off is how far under the limit it would have been, times the hours. No money is told: nobody knows what the crop would have lost.")
	}
	if sure || keeps {
		paragraphs = append(paragraphs, "It is reckoned against the same house never running its fans, by what was learned of the house, the "+
			"store and the flow; no second house was measured. The truth should lie within ± in nine of ten months.")
	}
	if t.any(func(s *ledger.Saving) bool { return s.Heated && !s.Claimed() }) {
		paragraphs = append(paragraphs, "No saving is claimed until the flow of every fan was measured or learned, which takes some thirty hours "+
			"of running with probes in the ducts, and until air, soil and outside were read for an hour.")
	}
	return paragraphs
}

// SavedGaps say in sentences what of those times is not counted, where it is more than a day or a
// twentieth.
func SavedGaps(of []*ledger.Saving, zone *time.Location) (all []string) {
	const day, form = 24 * time.Hour, "2 Jan 2006"
	for _, s := range of {
		if s == nil || !s.Counted() || s.Heated && !s.Claimed() {
			continue
		}
		begin, err := time.ParseInLocation(time.DateOnly, s.Begin, zone)
		if err != nil {
			continue
		}
		if from := time.Unix(s.From, 0).In(zone); from.Sub(begin) > day {
			all = append(all, fmt.Sprintf("The time from %s is counted since %s.", begin.Format(form), from.Format(form)))
		}
		if e := &s.Energy; e.LostH > e.CountedH/20 {
			all = append(all, fmt.Sprintf("Of the time from %s %.0f h are not counted, for want of a reading.", begin.Format(form), e.LostH))
		}
	}
	return all
}
