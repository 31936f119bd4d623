package tariff

import (
	"time"

	"loambank/controller/season"
)

// Prices is what holds at one time, currency per kWh. A price whose Has is false is not known and 0.
type Prices struct {
	ElectricityPerKWh float64
	FuelHeatPerKWh    float64 // useful heat from the heater
	StoredPerKWh      float64 // worth of a kWh in the soil
	StoredShare       float64 // the same as a share of the worth at first frost, 0 to 1
	HasElectricity    bool
	HasFuel           bool
	HasStored         bool
	Period            int8 // index into Settings.Periods, -1 for the base price
}

// At returns the prices at now, and the instant up to which, itself excluded, they certainly hold:
// after now, at the latest the next local midnight.
func At(s Settings, now time.Time) (Prices, time.Time) {
	_, until := season.First(s.Site, nil, now)
	prices := Base(s, s.Site.Local(now).Month())
	if !s.HasElectricity {
		return prices, until
	}
	for i := range s.Periods {
		covers, change := s.Periods[i].Span.Holds(s.Site, now)
		if change.Before(until) {
			until = change
		}
		if covers {
			prices.Period = int8(i)
			prices.ElectricityPerKWh = s.Periods[i].ElectricityPerKWh
			break
		}
	}
	return prices, until
}

// Base returns the prices of a month outside all periods: what holds while the clock is not believed.
// The month is then the caller's guess, such as that of the last decision it wrote down; another one
// than January to December counts as one in which a stored kWh's worth is not known.
func Base(s Settings, month time.Month) Prices {
	prices := Prices{HasElectricity: s.HasElectricity, HasFuel: s.HasFuel, Period: -1}
	if s.HasElectricity {
		prices.ElectricityPerKWh = s.ElectricityPerKWh
	}
	if s.HasFuel {
		prices.FuelHeatPerKWh = s.FuelHeatPerKWh
	}
	if month < time.January || month > time.December {
		return prices
	}
	prices.StoredShare = s.Shares[month-1]
	if prices.HasStored = s.HasStored; s.HasStored {
		prices.StoredPerKWh = s.StoredPerKWh[month-1]
	}
	return prices
}
