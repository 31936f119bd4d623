// Package tariff is the only place that turns a time into a price: of electricity by price periods,
// of heater heat by fuel, and of a stored kWh by month.
//
// Not in here: what is worth doing at a price (decide), counting money (ledger), and deciding when a
// clock is believed.
//
// What always holds: a price not known is a field that says so, never a zero or NaN; all money is in
// the one currency of the settings, all energy in kWh; every answer depends on its arguments only.
package tariff

import "loambank/controller/season"

// Settings is what energy costs at a site and what a stored kWh is worth there. The zero value knows
// no price.
type Settings struct {
	Site     season.Site
	Currency string // as people write it, such as "USD"

	ElectricityPerKWh float64 // base price, currency per kWh, outside all periods
	HasElectricity    bool    // the base price is known; without it periods are not asked either
	Periods           []Period

	FuelHeatPerKWh float64 // price of a useful kWh of heater heat, currency; see UsefulHeatPrice
	HasFuel        bool

	// Shares is the worth of a stored kWh in a month, January first, as a share of what it is worth
	// at the first frost, 0 to 1; see DefaultShares.
	Shares [12]float64
	// StoredPerKWh is the worth of a stored kWh in a month, January first, currency per kWh.
	StoredPerKWh [12]float64
	HasStored    bool
}

// StoredWorthShare is what a stored kWh is worth at the first frost where nothing else is stated, as
// a share of the fuel's heat price: most of it will be lost or not be needed.
const StoredWorthShare = 0.30

// Period is when electricity has another price. The first that covers wins.
type Period struct {
	Name              string
	Span              season.Span
	ElectricityPerKWh float64 // currency per kWh
}
