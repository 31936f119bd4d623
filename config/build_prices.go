package config

import (
	"fmt"
	"time"

	"loambank/config/unit"
	"loambank/controller/tariff"
)

// prices is what the site pays, and how the worth of running is judged.
type prices struct {
	tariff.Settings
	storedStated bool
	storedShare  float64
	worthBand    float64
	minRatio     float64
}

// buildPrices reads the prices of the site.
func (b *builder) buildPrices(s *Settings, t PricesTable) prices {
	b.group = "prices"
	b.buildCurrency(t.Currency)
	s.Currency = b.currency
	p := prices{Settings: tariff.Settings{Site: s.Site, Currency: t.Currency}}
	if e := b.price("prices", "electricity", t.Electricity); e.stated {
		p.ElectricityPerKWh, p.HasElectricity = e.value, true
		b.line("electricity", b.perKWh(e.value), false)
	}
	s.Fuel = b.buildFuel(&p, t.Fuel)
	p.Shares = tariff.DefaultShares(s.Turn.ToppingUp, s.Turn.FirstFrost, s.Turn.LastFrost)
	p.storedShare = b.share("prices", "stored_share", t.StoredShare, 0, 1).otherwise(tariff.StoredWorthShare)
	if p.HasFuel {
		b.line("stored_share", b.display.Share(p.storedShare)+" of the fuel's heat at the first frost", !t.StoredShare.Set)
	}
	b.buildStored(&p, t.Stored)
	b.buildPeriods(&p, t.Period)
	p.worthBand = set(b, "worth_band", b.number("prices", "worth_band", t.WorthBand, 1, 3), b.defaults.worthBand, times)
	p.minRatio = set(b, "min_ratio", b.number("prices", "min_ratio", t.MinRatio, 0.5, 50), b.defaults.minRatio, ratio)
	return p
}

func times(v float64) string { return plainNumber(v) + " × cost to start" }
func ratio(v float64) string { return plainNumber(v) + " kWh of heat per kWh of electricity" }

func (b *builder) buildCurrency(code string) {
	if code == "" && !b.pos.has("prices.currency") {
		return
	}
	if !unit.Code(code) {
		b.fault("prices.currency", quote(code)+" is not a currency's code", `write its three capital letters, such as "USD" or "EUR"`)
		return
	}
	b.currency = code
	b.line("currency", code, false)
}

// buildFuel finds the price of heat that reaches the house, and what gives it.
func (b *builder) buildFuel(p *prices, t FuelTable) (f Fuel) {
	const table = "prices.fuel"
	if !b.pos.has(table) {
		return f
	}
	if t.Kind == "" {
		b.missing(table, "kind", `what the heater burns, such as kind = "propane"`)
	}
	if !t.Price.Set {
		b.missing(table, "price", `what it costs, such as price = "2.90 $/gal"`)
	}
	efficiency := b.share(table, "efficiency", t.Efficiency, 0.2, 6).otherwise(b.defaults.fuelEfficiency)
	price, ok := b.money(table, "price", t.Price)
	fuel, err := tariff.ParseFuel(t.Kind)
	if t.Kind != "" && err != nil {
		b.wrong(join(table, "kind"), err)
	}
	if !ok || err != nil {
		return f
	}
	heat, err := tariff.UsefulHeatPrice(fuel, price.Amount, price.Per, efficiency)
	if err != nil {
		b.wrong(join(table, "price"), err)
		return f
	}
	p.FuelHeatPerKWh, p.HasFuel = heat, true
	b.line("fuel", fuel.String()+" at "+price.String()+": heat at "+b.perKWh(round(heat)), false)
	b.line("fuel.efficiency", b.display.Share(efficiency), !t.Efficiency.Set)
	return Fuel{Kind: fuel, Efficiency: efficiency}
}

// buildStored reads the monthly worths of a stored kWh.
func (b *builder) buildStored(p *prices, stored []Price) {
	if stored == nil {
		return
	}
	if len(stored) != 12 {
		b.fault("prices.stored", fmt.Sprintf("it has %d worths", len(stored)), "write twelve, January first")
		return
	}
	most := 0.0
	for i, s := range stored {
		p.StoredPerKWh[i] = b.price("prices", fmt.Sprintf("stored[%d]", i), s).value
		most = max(most, p.StoredPerKWh[i])
	}
	for i, worth := range p.StoredPerKWh {
		p.Shares[i] = 0
		if most > 0 {
			p.Shares[i] = worth / most
		}
		b.line("stored, "+time.Month(i + 1).String()[:3], b.perKWh(worth), false)
	}
	p.storedStated = true
}

// buildPeriods reads the times of another electricity price.
func (b *builder) buildPeriods(p *prices, periods []PeriodTable) {
	if len(periods) > maxWindows {
		b.fault("prices.period", fmt.Sprintf("%d periods are too many", len(periods)), fmt.Sprintf("write at most %d", maxWindows))
		return
	}
	if len(periods) > 0 && !p.HasElectricity && !b.pos.has("prices.electricity") {
		b.missing("prices", "electricity", `the price outside all periods, such as electricity = "0.17 $/kWh"`)
	}
	taken := names{}
	for i, t := range periods {
		table := index("prices.period", i)
		if b.named(table, "name", t.Name) {
			b.take(taken, "price period", table, t.Name)
		}
		b.group = "price period " + t.Name
		span := b.span(table, t.Dates, t.Hours, t.Days)
		if !t.Electricity.Set {
			b.missing(table, "electricity", `its price, such as electricity = "0.29 $/kWh"`)
		}
		price := b.price(table, "electricity", t.Electricity)
		b.line("electricity", b.perKWh(price.value), false)
		p.Periods = append(p.Periods, tariff.Period{Name: t.Name, Span: span, ElectricityPerKWh: price.value})
	}
	b.group = "prices"
}

// of returns the prices of one house. An unheated one burns no fuel, so that stored heat has the
// worth of fuel only where the grower states one.
func (p prices) of(heated bool) tariff.Settings {
	s := p.Settings
	switch {
	case p.storedStated:
		s.HasStored = true
	case heated && p.HasFuel:
		s.HasStored = true
		for i, share := range s.Shares {
			s.StoredPerKWh[i] = p.storedShare * s.FuelHeatPerKWh * share
		}
	}
	if !heated {
		s.HasFuel, s.FuelHeatPerKWh = false, 0
	}
	return s
}

// round keeps a computed price to four decimals: more would claim more than is known.
func round(amount float64) float64 { return float64(int64(amount*1e4+0.5)) / 1e4 }
