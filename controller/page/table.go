package page

import (
	"fmt"
	"time"

	"loambank/config/unit"
	"loambank/controller/judge"
)

// table is the picture in figures.
type table struct {
	Columns []string
	Rows    []tableRow
}

// tableRow is one stretch of time.
type tableRow struct {
	When  string
	Link  string // the query that shows it closer; empty is that it is close already
	Cells []string
}

// tabulate makes the table of a record: of each probe the mean with its least and greatest value,
// of each store the time its fans ran.
func tabulate(r *record, q *question, d unit.Display) *table {
	h := &q.house.House
	t := &table{}
	var of []int
	for i := range h.Probes {
		p := &h.Probes[i]
		name := p.Name
		switch p.Judge.Role {
		case judge.Air, judge.Outside:
			name += ", " + d.Degree()
		case judge.Soil:
			name = "soil " + soilName(p, h, d) + ", " + d.Degree()
		case judge.Humidity:
			name += ", %"
		default:
			continue
		}
		of = append(of, i)
		t.Columns = append(t.Columns, name)
	}
	for i := range h.Decide.Stores {
		t.Columns = append(t.Columns, "fans of "+h.Decide.Stores[i].Name)
	}
	n := int((q.to.Sub(q.from) + q.span.slot - 1) / q.span.slot)
	for first := 0; first < n; first += q.span.row {
		end := min(first+q.span.row, n)
		row := q.rowOf(r.at(first), r.at(end))
		for _, i := range of {
			var c cell
			for slot := first; slot < end; slot++ {
				c.merge(&r.probes[i][slot])
			}
			row.Cells = append(row.Cells, c.text(shown(h.Probes[i].Judge.Role, d)))
		}
		for i := range h.Decide.Stores {
			row.Cells = append(row.Cells, r.stores[i].ran(first, end, d))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// rowOf names a stretch of time, and links to where it is shown closer.
func (q *question) rowOf(from, to time.Time) tableRow {
	last := to.Add(-time.Second)
	switch q.span.word {
	case "day":
		return tableRow{When: from.Format("Mon 15:04")}
	case "week":
		return tableRow{When: from.Format("Mon 2 Jan 15:04"), Link: q.link("day", midnight(from))}
	}
	return tableRow{When: from.Format("2 Jan 2006"), Link: q.link("week", midnight(last))}
}

// text is "38.1 (35.0 to 41.2)"; a dash where nothing was read.
func (c *cell) text(value func(float64) float64) string {
	if c.weightS == 0 {
		return "–"
	}
	const decimals = 1
	return fmt.Sprintf("%s (%s to %s)", unit.Number(value(c.sum/c.weightS), decimals),
		unit.Number(value(c.min), decimals), unit.Number(value(c.max), decimals))
}

// ran is how long the fans ran over some slots; a dash where that is not known.
func (l lane) ran(first, end int, d unit.Display) string {
	sum, any := 0.0, false
	for slot := first; slot < end; slot++ {
		onS, known := l.onS(slot)
		sum, any = sum+onS, any || known
	}
	if !any {
		return "–"
	}
	return d.Duration(sum)
}
