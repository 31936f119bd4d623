package main

import (
	"fmt"
	"io"
	"strings"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/ledger"
	"loambank/controller/replay"
	"loambank/controller/sentence"
	"loambank/drivers/recording"
)

// textPrinter writes for people: a line a change, then the summary.
type textPrinter struct {
	w       io.Writer
	s       *config.Settings
	columns int // where lines break; 0 is nowhere
	err     error
}

func (p *textPrinter) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format, args...)
	}
}

func (p *textPrinter) change(c replay.Change) {
	h := &p.s.Houses[c.House].House
	d := c.Decision()
	why := sentence.Speaker{Display: p.s.Display, Currency: unit.Symbol(p.s.Currency)}.Why(&h.Decide, d.Reason)
	fans := "off"
	if d.Running() {
		fans = "on"
	}
	line := fmt.Sprintf("%s  %s  %-9s  fans %-3s  ", c.Time.In(p.s.Site.Zone).Format("2006-01-02 15:04"),
		houseStore(p.s, c.House, c.Store), d.State, fans)
	if p.columns > 0 {
		const indent = 18
		p.printf("%s\n%s%s\n", strings.TrimRight(line, " "), strings.Repeat(" ", indent),
			wrap(why, p.columns-indent, 0+indent))
		return
	}
	p.printf("%s%s\n", line, why)
}

func (p *textPrinter) summary(sum *replay.Summary, stats recording.Stats) error {
	if sum.Rows == 0 {
		p.printf("No row of the recording lies in the time asked for.\n")
		return p.err
	}
	zone := p.s.Site.Zone
	days := sum.Last.Sub(sum.First).Hours() / 24
	p.printf("\n%s to %s, %.1f days\n%d rows, missing cells %d, ticks in gaps %d\n",
		sum.First.In(zone).Format("2006-01-02 15:04"), sum.Last.In(zone).Format("2006-01-02 15:04"),
		days, sum.Rows, stats.Missing, sum.SilentTicks)
	for i := range sum.Houses {
		p.house(i, &sum.Houses[i])
	}
	p.printf("\nHeat is an estimate by the assumed exchange; a recording does not feel the fans.\n")
	return p.err
}

func (p *textPrinter) house(i int, sum *replay.House) {
	h := &p.s.Houses[i].House
	show := p.s.Display
	p.printf("\nHouse %s\n", h.Name)
	if sum.Low.Known {
		p.printf("  lowest crop air    %s on %s\n", show.Temperature(sum.Low.C),
			sum.Low.Time.In(p.s.Site.Zone).Format("2006-01-02 15:04"))
	}
	p.printf("  at the frost limit %s; without an air reading %s\n", hours(sum.FrostS), hours(sum.BlindS))
	for k := range sum.Account.Stores {
		p.store(h.Decide.Stores[k].Name, &sum.Account.Stores[k])
	}
	if currency := p.s.Currency; currency != "" {
		p.printf("  electricity        %.2f %s\n", sum.Account.ElectricityMoney, currency)
		if h.Decide.Heater.Present {
			p.printf("  fuel not burnt     %.2f %s, estimate, gross\n", sum.Account.FuelMoney, currency)
		}
	}
}

func (p *textPrinter) store(name string, a *ledger.Store) {
	var states []string
	for k, s := range a.StateS {
		if s > 0 {
			states = append(states, fmt.Sprintf("%s %s", decide.Activity(k), hours(s)))
		}
	}
	p.printf("  Store %s\n", name)
	p.printf("    %-16s %s\n", "time in state", wrap(strings.Join(states, ", "), 60, 21))
	for j := range a.Fans {
		f := &a.Fans[j]
		p.printf("    fan %-12s %s on, %d starts, %.1f kWh\n", f.Name, hours(f.RunTotalS()), f.Starts, f.EnergyKWh)
	}
	p.printf("    heat in          %.0f kWh, of it %.0f kWh latent, estimate\n", a.In.KWh(), a.In.LatentKWh)
	p.printf("    heat out         %.0f kWh, estimate\n", a.Out.KWh())
}

func hours(s float64) string { return fmt.Sprintf("%.1f h", s/3600) }
