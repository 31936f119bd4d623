package bill

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/tariff"
)

// Meter is what an electricity meter counted in some days.
type Meter struct {
	House string  `json:"house,omitempty"` // whose meter it is; empty is the farm's
	First string  `json:"first"`           // day, such as 2026-11-01
	Last  string  `json:"last"`            // day that is counted too
	KWh   float64 `json:"kwh"`             // over 0
}

// Fill is fuel that filled a tank up: it makes good what was burned since the fill before.
type Fill struct {
	House  string  `json:"house"`
	Day    string  `json:"day"`
	Amount float64 `json:"amount"` // over 0
	Per    string  `json:"per"`    // its unit, such as "gal"
}

const mostDays = 400 // of a bill; a meter is read once a year at least

// ParseMeter reads a bill such as "2026-11-01..2026-11-30 412 kWh". Its last day must have ended by now.
func ParseMeter(text string, now time.Time) (m Meter, err error) {
	const example = `write it as "2026-11-01..2026-11-30 412 kWh"`
	days, amount, two := strings.Cut(strings.TrimSpace(text), " ")
	first, last, dots := strings.Cut(days, "..")
	if !two || !dots {
		return m, fmt.Errorf("%q is no meter's bill; %s", text, example)
	}
	from, err := day(first)
	if err != nil {
		return m, err
	}
	to, err := day(last)
	if err != nil {
		return m, err
	}
	switch n := to.Sub(from).Hours() / 24; {
	case n < 0:
		return m, fmt.Errorf("%s is before %s; write the first day first", last, first)
	case n >= mostDays:
		return m, fmt.Errorf("%s is more than %d days long; write one bill at a time", days, mostDays)
	}
	m = Meter{First: first, Last: last}
	if _, end := m.Span(now.Location()); end.After(now) {
		return m, fmt.Errorf("%s has not ended yet; write the last day that is over", last)
	}
	m.KWh, err = unit.ParseIn(strings.TrimSpace(amount), "kWh")
	if err != nil {
		return m, err
	}
	if !(m.KWh > 0 && m.KWh <= 1e7) {
		return m, fmt.Errorf("%q is no electricity of a farm; %s", amount, example)
	}
	return m, nil
}

// ParseFill reads a fill such as "2026-11-14 83 gal" of a fuel. Its day is not after now.
func ParseFill(text string, fuel tariff.Fuel, now time.Time) (f Fill, err error) {
	const example = `write it as "2026-11-14 83 gal"`
	words := strings.Fields(text)
	if len(words) < 3 {
		return f, fmt.Errorf("%q is no fill; %s", text, example)
	}
	at, err := day(words[0])
	if err != nil {
		return f, err
	}
	if at.Format(time.DateOnly) > now.Format(time.DateOnly) {
		return f, fmt.Errorf("%s is still to come; write the day of the fill", words[0])
	}
	f = Fill{Day: words[0], Per: strings.Join(words[2:], " ")}
	f.Amount, err = strconv.ParseFloat(words[1], 64)
	if err != nil || !(f.Amount > 0) || math.IsInf(f.Amount, 0) || f.Amount > 1e6 {
		return f, fmt.Errorf("%q is no amount of fuel; %s", words[1], example)
	}
	if _, err := tariff.HeatPerUnit(fuel, f.Per); err != nil {
		return f, err
	}
	return f, nil
}

func day(text string) (time.Time, error) {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return at, fmt.Errorf("%q is no day; write it as 2026-11-14", text)
	}
	return at, nil
}

// Span is the time of the bill at a site: from midnight to midnight.
func (m Meter) Span(zone *time.Location) (from, to time.Time) {
	a, b := mustDay(m.First), mustDay(m.Last)
	return time.Date(a.Year(), a.Month(), a.Day(), 0, 0, 0, 0, zone), time.Date(b.Year(), b.Month(), b.Day()+1, 0, 0, 0, 0, zone)
}

// At is noon of the fill's day at a site: nobody writes the hour down.
func (f Fill) At(zone *time.Location) time.Time {
	a := mustDay(f.Day)
	return time.Date(a.Year(), a.Month(), a.Day(), 12, 0, 0, 0, zone)
}

// mustDay is a day that was checked; the zero time else.
func mustDay(text string) time.Time {
	at, err := day(text)
	if err != nil {
		return time.Time{}
	}
	return at
}

// check says what is wrong with bills of a file.
func (b *Book) check() error {
	if b.Schema != 1 {
		return fmt.Errorf("the bills are of schema %d; this loambank knows 1", b.Schema)
	}
	for _, m := range b.Meters {
		if mustDay(m.First).IsZero() || mustDay(m.Last).Before(mustDay(m.First)) || !(m.KWh > 0) {
			return fmt.Errorf("the bill of %s to %s cannot be", m.First, m.Last)
		}
	}
	for _, f := range b.Fills {
		if mustDay(f.Day).IsZero() || !(f.Amount > 0) {
			return fmt.Errorf("the fill of %s cannot be", f.Day)
		}
	}
	return nil
}
