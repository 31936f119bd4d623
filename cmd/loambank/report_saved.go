package main

import (
	"encoding/csv"
	"encoding/json"
	"strconv"
	"time"
	"unicode/utf8"

	"loambank/config"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// savedJSON is what `report --saved --json` writes of a house and a month or season, one object a line.
type savedJSON struct {
	Schema int    `json:"schema"`
	Kind   string `json:"kind"` // "saved"
	House  string `json:"house"`
	Span   string `json:"span"`  // "month" or "season"
	Begin  string `json:"begin"` // its first day
	*report.Saved
}

// method says how what was saved is reckoned.
func (p *reportPrinter) method() {
	for _, text := range report.SavedMethod(p.told) {
		p.printf("%s\n\n", wrap(text, plainWidth, 0))
	}
}

// saved reports what was saved in each month and season.
func (c *reportCommand) saved(w *world, s *config.Settings) error {
	from, err := moment(c.From, s.Site.Zone, "--from")
	if err != nil {
		return err
	}
	until, err := moment(c.Until, s.Site.Zone, "--until")
	if err != nil {
		return err
	}
	kept, _, err := ledger.Load(s.StateDir)
	if err != nil {
		return err
	}
	out := &savedPrinter{reportPrinter: reportPrinter{w: w.stdout, s: s}, from: from, until: until}
	if c.CSV {
		out.table = csv.NewWriter(w.stdout)
		out.record(savedColumns)
	}
	for i := range s.Houses {
		h := &s.Houses[i]
		account := kept.Account(h.House.Name)
		if account == nil || c.House != "" && c.House != h.House.Name {
			continue
		}
		out.h = h
		for _, span := range [...]struct {
			name string
			all  []ledger.Saving
		}{{"month", account.Saved.Months}, {"season", account.Saved.Seasons}} {
			of := out.within(span.all)
			switch {
			case c.CSV:
				out.rows(span.name, of)
			case c.JSON:
				out.lines(span.name, of)
			default:
				out.words(span.name, of)
			}
		}
	}
	if out.table != nil {
		out.table.Flush()
		return out.table.Error()
	}
	out.method()
	return out.err
}

// savedPrinter writes what was saved.
type savedPrinter struct {
	reportPrinter
	from, until time.Time // the zero value is no bound
	table       *csv.Writer
}

// within are those times that begin in the time asked for.
func (p *savedPrinter) within(all []ledger.Saving) (of []*ledger.Saving) {
	for i := range all {
		begin := all[i].Begin
		if !p.from.IsZero() && begin < p.from.Format(time.DateOnly) || !p.until.IsZero() && begin >= p.until.Format(time.DateOnly) {
			continue
		}
		of = append(of, &all[i])
	}
	return of
}

// words writes a table for people, a line a time. A time of which nothing is claimed says why across it.
func (p *savedPrinter) words(span string, of []*ledger.Saving) {
	rows := report.SavedRows(of, p.s.Display)
	if len(rows) == 0 {
		return
	}
	p.told = append(p.told, of...)
	lines := [][]string{{span + " from"}}
	for _, r := range rows {
		lines[0] = append(lines[0], r.Label)
	}
	for i, s := range of {
		line := []string{s.Begin}
		for _, r := range rows {
			if cell := r.Cells[i]; cell != report.NotTold || s.Claimed() {
				line = append(line, cell)
			}
		}
		lines = append(lines, line)
	}
	p.printf("House %s, by %s\n", p.h.House.Name, span)
	widths := make([]int, len(rows)+1)
	for _, line := range lines {
		for k, text := range line {
			if len(line) == len(widths) {
				widths[k] = max(widths[k], utf8.RuneCountInString(text))
			}
		}
	}
	for _, line := range lines {
		for k, text := range line[:len(line)-1] {
			p.printf("  %-*s", widths[k], text)
		}
		p.printf("  %s\n", line[len(line)-1])
	}
	for _, text := range report.SavedGaps(of, p.s.Site.Zone) {
		p.printf("  %s\n", text)
	}
	p.printf("\n")
}

// lines writes JSON.
func (p *savedPrinter) lines(span string, of []*ledger.Saving) {
	for _, s := range of {
		if p.err == nil {
			p.err = json.NewEncoder(p.w).Encode(&savedJSON{
				Schema: schema, Kind: "saved", House: p.h.House.Name, Span: span, Begin: s.Begin, Saved: report.SavedOf(s, p.s.Site.Zone),
			})
		}
	}
}

// savedColumns are those of `report --saved --csv`. What may not be claimed is an empty cell.
var savedColumns = []string{
	"house", "span", "begin", "from", "to", "heat_kwh", "electricity_kwh", "net_kwh", "spread_kwh", "currency", "money", "money_spread",
	"nights", "nights_spread", "degree_hours_kh", "degree_hours_spread_kh", "counted_hours", "lost_hours",
}

// rows writes CSV.
func (p *savedPrinter) rows(span string, of []*ledger.Saving) {
	for _, s := range of {
		x := report.SavedOf(s, p.s.Site.Zone)
		p.record([]string{
			p.h.House.Name, span, s.Begin, x.From.Format(time.RFC3339), x.To.Format(time.RFC3339),
			cell(x.HeatKWh), cell(x.ElectricityKWh), cell(x.NetKWh), cell(x.SpreadKWh), x.Currency, cell(x.Money), cell(x.MoneySpread),
			cell(x.Nights), cell(x.NightsSpread), cell(x.DegreeHours), cell(x.DegreeHoursSpread), cell(&x.CountedH), cell(&x.LostH),
		})
	}
}

// record writes a row; a fault is told when all is flushed.
func (p *savedPrinter) record(row []string) { _ = p.table.Write(row) }

func cell(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}
