package report

import (
	"time"

	"loambank/controller/ledger"
)

// Saved is what was saved in a time, as data. Figures that may not be claimed, or do not go with the
// house, are left out.
type Saved struct {
	From time.Time `json:"from"` // between which it was counted
	To   time.Time `json:"to"`
	// Claimed is whether a net saving may be shown: a heated house, its flow measured or learned. Only
	// then there are the next four, kWh; SpreadKWh is ± of heat and net.
	Claimed        bool     `json:"claimed"`
	HeatKWh        *float64 `json:"heat_kwh,omitempty"` // that the heater did not have to give
	ElectricityKWh *float64 `json:"electricity_kwh,omitempty"`
	NetKWh         *float64 `json:"net_kwh,omitempty"`
	SpreadKWh      *float64 `json:"spread_kwh,omitempty"`

	Currency    string   `json:"currency,omitempty"` // with it there is money, electricity taken off, and ±
	Money       *float64 `json:"money,omitempty"`
	MoneySpread *float64 `json:"money_spread,omitempty"`

	// Of an unheated house with a crop; K h under its limit.
	Nights            *float64 `json:"nights,omitempty"`
	NightsSpread      *float64 `json:"nights_spread,omitempty"`
	DegreeHours       *float64 `json:"degree_hours_kh,omitempty"`
	DegreeHoursSpread *float64 `json:"degree_hours_spread_kh,omitempty"`

	CountedH float64 `json:"counted_hours"`
	LostH    float64 `json:"lost_hours"` // that could not be counted
}

// SavedOf is s as data, with times in a zone; nil of nil.
func SavedOf(s *ledger.Saving, zone *time.Location) *Saved {
	if s == nil {
		return nil
	}
	e := &s.Energy
	x := &Saved{
		From: time.Unix(s.From, 0).In(zone), To: time.Unix(s.To, 0).In(zone), Claimed: s.Claimed(),
		CountedH: e.CountedH, LostH: e.LostH,
	}
	if x.Claimed {
		x.HeatKWh, x.ElectricityKWh, x.NetKWh, x.SpreadKWh = &e.HeatKWh, &e.ElectricityKWh, &e.NetKWh, &e.SpreadKWh
	}
	if net, spread, known := s.Money(); known {
		x.Currency, x.Money, x.MoneySpread = s.Currency, &net, &spread
	}
	if !s.Heated && s.Crop && s.Counted() {
		x.Nights, x.NightsSpread, x.DegreeHours, x.DegreeHoursSpread = &e.Nights, &e.NightsSpread, &e.DegreeHours, &e.DegreeSpread
	}
	return x
}
