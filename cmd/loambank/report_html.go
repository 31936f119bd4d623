package main

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"time"

	"github.com/google/renameio/v2"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/ledger"
	"loambank/controller/page"
	"loambank/controller/report"
)

//go:embed report.html
var reportPage string

// printed is a report on paper: the longest period that is asked for beside the shorter ones, with its
// picture.
type printed struct {
	Title, Written, Zone string
	Houses               []printedHouse
	Method               []string

	told []*ledger.Saving
}

type printedHouse struct {
	Name                    string
	Periods                 []printedPeriod
	Rows                    []report.SavedRow
	Gaps, Changes           []string
	Picture                 template.HTML // our own SVG, in which text is escaped
	Caption                 string
	Hands, Faults           []string // the last few of the longest period
	HandsCount, FaultsCount int
}

type printedPeriod struct{ Name, Dates string }

// print writes the report as one HTML file that fetches nothing.
func (c *reportCommand) print(w *world, s *config.Settings, r *history.Reader, kept *ledger.Checkpoint, periods []period) error {
	last := periods[len(periods)-1]
	out := &printed{
		Title:   "Fans and heat, " + last.from.Format("2 January 2006") + " to " + last.to.Format("2 January 2006"),
		Written: time.Now().In(s.Site.Zone).Format("2 January 2006, 15:04"), Zone: s.Zone,
	}
	for i := range s.Houses {
		h := &s.Houses[i]
		if c.House != "" && c.House != h.House.Name {
			continue
		}
		account := kept.Account(h.House.Name)
		x, err := c.printedOf(out, s, h, r, account, periods)
		if err != nil {
			return err
		}
		drawn, err := page.Sheet(w.ctx, r, s, h, last.from, last.to)
		if err != nil {
			return err
		}
		if drawn != nil {
			var svg bytes.Buffer
			if err := drawn.WriteSVG(&svg); err != nil {
				return err
			}
			x.Picture, x.Caption = template.HTML(svg.String()), last.name+": temperatures, damp and what the fans did."
		}
		out.Houses = append(out.Houses, *x)
	}
	out.Method = report.SavedMethod(out.told)
	var text bytes.Buffer
	if err := template.Must(template.New("report").Parse(reportPage)).Execute(&text, out); err != nil {
		return err
	}
	return renameio.WriteFile(c.HTML, text.Bytes(), 0o644)
}

// printedOf is one house.
func (c *reportCommand) printedOf(out *printed, s *config.Settings, h *config.House, r *history.Reader, now *ledger.House, periods []period) (*printedHouse, error) {
	x := &printedHouse{Name: h.House.Name}
	var sums []*report.House
	var saved []*ledger.Saving
	for _, p := range periods {
		sum, of, err := c.gather(r, h, now, p)
		if err != nil {
			return nil, err
		}
		sums, saved = append(sums, sum), append(saved, of)
		x.Periods = append(x.Periods, printedPeriod{p.name, p.from.Format("2 Jan") + " to " + p.to.Format("2 Jan 15:04")})
	}
	x.rows(s, h, sums)
	x.Rows = append(x.Rows, report.SavedRows(saved, s.Display)...)
	x.Gaps = report.SavedGaps(saved, s.Site.Zone)
	out.told = append(out.told, saved...)
	longest := sums[len(sums)-1]
	x.Changes = toLookAt(s, h, longest)
	x.HandsCount, x.FaultsCount = len(longest.Hands), len(longest.Faults)
	x.Hands, x.Faults = lately(s, longest.Hands), lately(s, longest.Faults)
	return x, nil
}

// rows are the figures of all periods side by side.
func (x *printedHouse) rows(s *config.Settings, h *config.House, sums []*report.House) {
	add := func(label string, of func(*report.House) string) {
		row := report.SavedRow{Label: label}
		for _, r := range sums {
			row.Cells = append(row.Cells, of(r))
		}
		x.Rows = append(x.Rows, row)
	}
	add("Known of the time", func(r *report.House) string {
		return fmt.Sprintf("%.0f %%", 100*r.KnownS/max(1, r.To.Sub(r.From).Seconds()))
	})
	add("Lowest crop air", func(r *report.House) string {
		if !r.Low.Known {
			return report.NotTold
		}
		return s.Display.Temperature(r.Low.C) + ", " + r.Low.At.In(s.Site.Zone).Format("2 Jan 15:04")
	})
	add("Crop at the frost limit", func(r *report.House) string { return hours(r.FrostS) })
	for i := range h.House.Decide.Stores {
		name := h.House.Decide.Stores[i].Name
		of := func(show func(*report.Store) string) func(*report.House) string {
			return func(r *report.House) string {
				for k := range r.Stores {
					if r.Stores[k].Name == name {
						return show(&r.Stores[k])
					}
				}
				return report.NotTold
			}
		}
		add("Fans of "+name, of(func(t *report.Store) string { return hours(t.RunS) + fmt.Sprintf(", %d starts", t.Starts) }))
		add("Electricity of "+name, of(func(t *report.Store) string { return fmt.Sprintf("%.1f kWh", t.EnergyKWh) }))
		add("Heat down, "+name, of(func(t *report.Store) string {
			return fmt.Sprintf("%.0f kWh, %.0f of it by condensing", t.In.KWh(), t.In.LatentKWh)
		}))
		add("Heat up, "+name, of(func(t *report.Store) string { return fmt.Sprintf("%.0f kWh", t.Out.KWh()) }))
	}
	if s.Currency != "" {
		add("Electricity paid", func(r *report.House) string { return report.Money(r.Electricity, s.Currency) })
	}
}

// toLookAt names what in a period asks for a change, with its figure.
func toLookAt(s *config.Settings, h *config.House, r *report.House) (all []string) {
	if r.FrostS >= 3600 {
		all = append(all, fmt.Sprintf("The crop was at its frost limit for %s. Look at covers and heater, and at whether the store was warm on those nights.", hours(r.FrostS)))
	}
	if r.BlindS >= 3600 {
		all = append(all, fmt.Sprintf("The air could not be read for %s. Look at the air probes; a second one carries on when one fails.", hours(r.BlindS)))
	}
	for i := range r.Stores {
		t := &r.Stores[i]
		if hand := t.StateS[decide.Hand]; hand >= 4*3600 {
			all = append(all, fmt.Sprintf("The fans of %s were kept off by hand for %s.", t.Name, hours(hand)))
		}
		if held := t.StateS[decide.Hold]; held >= 3600 {
			all = append(all, fmt.Sprintf("An interlock held the fans of %s off for %s. Look for water in the pipes, and at the smoke contact.", t.Name, hours(held)))
		}
		if t.Starts >= 20 && t.RunS/float64(t.Starts) < 900 {
			all = append(all, fmt.Sprintf("The fans of %s ran only %s a start. A longer min_run or wider bands spare them.", t.Name, s.Display.Duration(t.RunS/float64(t.Starts))))
		}
		if in, out := t.In.KWh(), t.Out.KWh(); in > 100 && out < in/10 && h.House.Decide.Heater.Present {
			all = append(all, fmt.Sprintf("Of %.0f kWh that went into %s only %.0f came up again through the fans. `loambank tune` may find settings that bring more up.", in, t.Name, out))
		}
	}
	return all
}

// lately are the last few notes, newest last.
func lately(s *config.Settings, notes []history.Note) (all []string) {
	const most = 12
	for _, n := range notes[max(0, len(notes)-most):] {
		who := ""
		if n.User != "" {
			who = n.User + ": "
		}
		all = append(all, n.At.In(s.Site.Zone).Format("2 Jan 15:04")+"  "+who+n.Text)
	}
	return all
}
