package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"loambank/config"
	"loambank/controller/bill"
	"loambank/controller/history"
	"loambank/controller/report"
)

// billed holds bills against the account.
type billed struct {
	w    io.Writer
	s    *config.Settings
	r    *history.Reader
	json bool
}

// billJSON is what `report --json` writes of a bill, one object a line.
type billJSON struct {
	Schema    int       `json:"schema"`
	Kind      string    `json:"kind"` // "meter" or "fuel"
	House     string    `json:"house,omitempty"`
	From      time.Time `json:"from"`
	To        time.Time `json:"to"`
	MeterKWh  *float64  `json:"meter_kwh,omitempty"`
	FansKWh   *float64  `json:"fans_kwh,omitempty"`
	FuelKWh   *float64  `json:"fuel_heat_kwh,omitempty"`
	HeaterKWh *float64  `json:"heater_heat_kwh,omitempty"` // absent where no heater-on probe or output tells
	Known     float64   `json:"known_ratio"`               // of the time, by history
	Doubt     string    `json:"doubt,omitempty"`           // why both cannot be right
}

// typeIn keeps a bill or a fill that was typed in, and compares it.
func (c *reportCommand) typeIn(w *world, s *config.Settings) error {
	book, err := bill.Load(s.StateDir)
	if err != nil {
		return err
	}
	now := time.Now().In(s.Site.Zone)
	var m bill.Meter
	var f bill.Fill
	if c.Bill != "" {
		if m, err = bill.ParseMeter(c.Bill, now); err != nil {
			return usage{err}
		}
		m.House = c.House
		book.AddMeter(m)
	} else {
		house, err := c.tankOf(s)
		if err != nil {
			return err
		}
		if f, err = bill.ParseFill(c.Fill, s.Fuel.Kind, now); err != nil {
			return usage{err}
		}
		f.House = house
		book.AddFill(f)
	}
	r, err := history.OpenReader(s.StateDir)
	if err != nil {
		return err
	}
	defer r.Close()
	if err := book.Save(s.StateDir); err != nil {
		return err
	}
	out := billed{w.stdout, s, r, c.JSON}
	var doubt bill.Doubt
	if c.Bill != "" {
		doubt, err = out.meter(m)
	} else {
		doubt, err = out.fill(book, f)
	}
	if err == nil && doubt != bill.NoDoubt {
		return answerNo{errors.New("")}
	}
	return err
}

// bills tells again what was typed in of a period.
func (c *reportCommand) bills(w *world, s *config.Settings, r *history.Reader, p period) error {
	book, err := bill.Load(s.StateDir)
	if err != nil {
		return err
	}
	out := billed{w.stdout, s, r, c.JSON}
	return out.all(book, c.House, p)
}

// tankOf is the house whose tank was filled.
func (c *reportCommand) tankOf(s *config.Settings) (string, error) {
	var heated []string
	for i := range s.Houses {
		if h := &s.Houses[i]; h.House.Decide.Heater.Present && (c.House == "" || c.House == h.House.Name) {
			heated = append(heated, h.House.Name)
		}
	}
	switch {
	case s.Fuel == config.Fuel{}:
		return "", usage{errors.New(`the settings name no fuel; write prices.fuel, such as fuel = { kind = "propane", price = "2.90 $/gal" }`)}
	case len(heated) == 1:
		return heated[0], nil
	case len(heated) == 0:
		return "", usage{errors.New("no such house has a heater in the settings")}
	}
	return "", usage{errors.New("whose tank was filled? write --house NAME")}
}

// all compares the bills that end in a period.
func (b *billed) all(book *bill.Book, house string, p period) error {
	first := true
	head := func() {
		if first && !b.json {
			fmt.Fprintln(b.w, "Bills")
		}
		first = false
	}
	within := func(end time.Time) bool { return end.After(p.from) && !end.After(p.to) }
	for _, m := range book.Meters {
		if _, end := m.Span(b.s.Site.Zone); !within(end) || house != "" && m.House != house {
			continue
		}
		head()
		if _, err := b.meter(m); err != nil {
			return err
		}
	}
	for _, f := range book.Fills {
		if !within(f.At(b.s.Site.Zone)) || house != "" && f.House != house {
			continue
		}
		head()
		if _, err := b.fill(book, f); err != nil {
			return err
		}
	}
	return nil
}

// gather adds up the account of a house, or of all.
func (b *billed) gather(house string, from, to time.Time) (fansKWh, known float64, sums []*report.House, err error) {
	known = 1
	for i := range b.s.Houses {
		h := &b.s.Houses[i]
		if house != "" && h.House.Name != house {
			continue
		}
		sum, err := report.Gather(b.r, h, nil, from, to)
		if err != nil {
			return 0, 0, nil, err
		}
		for k := range sum.Stores {
			fansKWh += sum.Stores[k].EnergyKWh
		}
		known = min(known, sum.KnownS/to.Sub(from).Seconds())
		sums = append(sums, sum)
	}
	return fansKWh, known, sums, nil
}

// meter compares a meter's bill.
func (b *billed) meter(m bill.Meter) (bill.Doubt, error) {
	from, to := m.Span(b.s.Site.Zone)
	fansKWh, known, _, err := b.gather(m.House, from, to)
	if err != nil {
		return bill.NoDoubt, err
	}
	d := bill.Draw{MeterKWh: m.KWh, FansKWh: fansKWh}
	if b.json {
		return d.Doubt(), json.NewEncoder(b.w).Encode(&billJSON{
			Schema: schema, Kind: "meter", House: m.House, From: from, To: to, MeterKWh: &d.MeterKWh, FansKWh: &d.FansKWh,
			Known: known, Doubt: d.Doubt().String(),
		})
	}
	whose := "the farm"
	if m.House != "" {
		whose = "house " + m.House
	}
	fmt.Fprintf(b.w, "  meter of %s, %s to %s: %.0f kWh\n", whose, m.First, m.Last, m.KWh)
	fmt.Fprintf(b.w, "    the fans drew %.1f kWh by the account, %.0f %% of the meter\n", fansKWh, 100*d.Share())
	b.rest(known, d.Doubt())
	return d.Doubt(), nil
}

// fill compares a fill with what the heater burned since the one before.
func (b *billed) fill(book *bill.Book, f bill.Fill) (bill.Doubt, error) {
	was, found := book.Before(f)
	if !found {
		if !b.json {
			fmt.Fprintf(b.w, "  fuel of house %s, %s: %g %s\n    the first fill: what is burned counts from here\n", f.House, f.Day, f.Amount, f.Per)
		}
		return bill.NoDoubt, nil
	}
	from, to := was.At(b.s.Site.Zone), f.At(b.s.Site.Zone)
	_, known, sums, err := b.gather(f.House, from, to)
	if err != nil {
		return bill.NoDoubt, err
	}
	onS, outputW := -1.0, 0.0
	if h := b.s.FindHouse(f.House); h != nil && len(sums) == 1 {
		if outputW = h.HeaterOutputW; sums[0].HeaterIs {
			onS = sums[0].HeaterS
		}
	}
	burn, err := bill.Burned(f, b.s.Fuel.Kind, b.s.Fuel.Efficiency, onS, outputW, known)
	if err != nil {
		return bill.NoDoubt, err
	}
	if b.json {
		x := billJSON{Schema: schema, Kind: "fuel", House: f.House, From: from, To: to, FuelKWh: &burn.FuelKWh, Known: known, Doubt: burn.Doubt().String()}
		if burn.Seen {
			x.HeaterKWh = &burn.HeaterKWh
		}
		return burn.Doubt(), json.NewEncoder(b.w).Encode(&x)
	}
	fmt.Fprintf(b.w, "  fuel of house %s, %s to %s: %g %s of %s\n", f.House, was.Day, f.Day, f.Amount, f.Per, b.s.Fuel.Kind)
	fmt.Fprintf(b.w, "    gives %.0f kWh of heat at %s\n", burn.FuelKWh, b.s.Display.Share(b.s.Fuel.Efficiency))
	if burn.Seen {
		fmt.Fprintf(b.w, "    the heater was seen on for %s, at its output %.0f kWh\n", hours(onS), burn.HeaterKWh)
	} else {
		fmt.Fprintln(b.w, "    nothing to compare: it takes a heater-on probe and the heater's output")
	}
	b.rest(known, burn.Doubt())
	return burn.Doubt(), nil
}

// rest says how far the account reaches, and what cannot be.
func (b *billed) rest(known float64, d bill.Doubt) {
	if known < bill.WholeShare {
		fmt.Fprintf(b.w, "    the account knows %.0f %% of this time\n", 100*known)
	}
	if d != bill.NoDoubt {
		fmt.Fprintf(b.w, "    %s\n", wrap(d.String(), width(b.w)-4, 4))
	}
}
