package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// reportPrinter writes what a house did in a period. Its first error is kept.
type reportPrinter struct {
	w   io.Writer
	s   *config.Settings
	h   *config.House
	err error

	told []*ledger.Saving // what was saved, as far as words were written of it
}

func (p *reportPrinter) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format, args...)
	}
}

func (p *reportPrinter) text(name string, r *report.House, saved *ledger.Saving) {
	show := p.s.Display
	p.printf("House %s, %s (%s to %s)\n", r.Name, name, r.From.Format("2006-01-02"), r.To.In(p.s.Site.Zone).Format("2006-01-02 15:04"))
	if r.KnownS == 0 {
		p.printf("  Nothing is known of this time.\n")
	} else if whole := r.To.Sub(r.From).Seconds(); r.KnownS < 0.98*whole {
		p.printf("  Known are %.0f %% of this time.\n", 100*r.KnownS/whole)
	}
	if r.Low.Known {
		p.printf("  lowest crop air    %s on %s\n", show.Temperature(r.Low.C), r.Low.At.In(p.s.Site.Zone).Format("2006-01-02 15:04"))
	}
	p.printf("  at the frost limit %s; without an air reading %s\n", hours(r.FrostS), hours(r.BlindS))
	for i := range r.Stores {
		p.store(&r.Stores[i])
	}
	if currency := p.s.Currency; currency != "" {
		p.printf("  electricity        %.2f %s\n", r.Electricity, currency)
		if p.h.House.Decide.Heater.Present {
			p.printf("  fuel not burnt     %.2f %s, gross\n", r.Fuel, currency)
		}
	}
	p.told = append(p.told, saved)
	for _, row := range report.SavedRows([]*ledger.Saving{saved}, show) {
		p.printf("  %-18s %s\n", strings.ToLower(row.Label[:1])+row.Label[1:], row.Cells[0])
	}
	for _, text := range report.SavedGaps([]*ledger.Saving{saved}, p.s.Site.Zone) {
		p.printf("  %s\n", text)
	}
	p.notes("by hand", r.Hands)
	p.notes("faults", r.Faults)
	p.printf("\n")
}

func (p *reportPrinter) store(s *report.Store) {
	var states []string
	for k, stateS := range s.StateS {
		if stateS > 0 {
			states = append(states, fmt.Sprintf("%s %s", decide.Activity(k), hours(stateS)))
		}
	}
	p.printf("  store %s\n", s.Name)
	p.printf("    %-16s %s\n", "time in state", wrap(strings.Join(states, ", "), 60, 21))
	p.printf("    %-16s %s of fan time, %d starts, %.1f kWh\n", "fans", hours(s.RunS), s.Starts, s.EnergyKWh)
	p.printf("    %-16s %.0f kWh in, of it %.0f by condensing; %.0f kWh out\n", "heat", s.In.KWh(), s.In.LatentKWh, s.Out.KWh())
}

// notes lists the last few of a kind.
func (p *reportPrinter) notes(name string, all []history.Note) {
	const most = 5
	if len(all) == 0 {
		return
	}
	p.printf("  %-18s %d\n", name, len(all))
	for _, n := range all[max(0, len(all)-most):] {
		who := ""
		if n.User != "" {
			who = n.User + ": "
		}
		p.printf("    %s  %s\n", n.At.In(p.s.Site.Zone).Format("2006-01-02 15:04"), wrap(who+n.Text, plainWidth-24, 22))
	}
}

// reportJSON is what `report --json` writes of a house and a period, one object a line.
type reportJSON struct {
	Schema      int               `json:"schema"`
	Kind        string            `json:"kind"` // "report"
	House       string            `json:"house"`
	Period      string            `json:"period"`
	From        time.Time         `json:"from"`
	To          time.Time         `json:"to"`
	KnownS      float64           `json:"known_seconds"`
	LowestC     *float64          `json:"lowest_crop_air_celsius,omitempty"`
	LowestAt    *time.Time        `json:"lowest_crop_air_time,omitempty"`
	FrostS      float64           `json:"at_frost_limit_seconds"`
	BlindS      float64           `json:"without_air_seconds"`
	Currency    string            `json:"currency,omitempty"`
	Electricity float64           `json:"electricity_money"`
	Fuel        *float64          `json:"fuel_avoided_money,omitempty"` // gross; of a house with a heater
	Saved       *report.Saved     `json:"saved,omitempty"`              // absent where nothing was told of just this period
	Hands       int               `json:"orders_by_hand"`
	Faults      int               `json:"faults"`
	Stores      []storeReportJSON `json:"stores"`
}

type storeReportJSON struct {
	Store     string             `json:"store"`
	StateS    map[string]float64 `json:"state_seconds"`
	RunS      float64            `json:"fan_run_seconds"`
	Starts    int64              `json:"fan_starts"`
	EnergyKWh float64            `json:"fan_energy_kwh"`
	In        heatJSON           `json:"heat_in"`
	Out       heatJSON           `json:"heat_out"`
	Litres    float64            `json:"condensate_litres"`
}

type heatJSON struct {
	SensibleKWh float64 `json:"sensible_kwh"`
	LatentKWh   float64 `json:"latent_kwh"`
}

func heatOf(h ledger.Heat) heatJSON { return heatJSON{h.SensibleKWh, h.LatentKWh} }

func (p *reportPrinter) json(name string, r *report.House, saved *ledger.Saving) {
	out := reportJSON{
		Schema: schema, Kind: "report", House: r.Name, Period: name, From: r.From, To: r.To, KnownS: r.KnownS,
		FrostS: r.FrostS, BlindS: r.BlindS, Currency: p.s.Currency, Electricity: r.Electricity,
		Hands: len(r.Hands), Faults: len(r.Faults), Saved: report.SavedOf(saved, p.s.Site.Zone),
	}
	if p.h.House.Decide.Heater.Present {
		out.Fuel = &r.Fuel
	}
	if r.Low.Known {
		c := finite(r.Low.C)
		out.LowestC, out.LowestAt = &c, &r.Low.At
	}
	for i := range r.Stores {
		s := &r.Stores[i]
		x := storeReportJSON{
			Store: s.Name, StateS: map[string]float64{}, RunS: s.RunS, Starts: s.Starts, EnergyKWh: s.EnergyKWh,
			In: heatOf(s.In), Out: heatOf(s.Out), Litres: s.CondensateLitres,
		}
		for k, stateS := range s.StateS {
			if stateS > 0 {
				x.StateS[decide.Activity(k).String()] = stateS
			}
		}
		out.Stores = append(out.Stores, x)
	}
	if p.err == nil {
		p.err = json.NewEncoder(p.w).Encode(&out)
	}
}
