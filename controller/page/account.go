package page

import (
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/history"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/report"
	"loambank/controller/season"
)

// usualTurn is the turn of the year where no settings tell it: their own defaults.
var usualTurn = config.Turn{
	ToppingUp:  season.MonthDay{Month: time.September, Day: 10},
	FirstFrost: season.MonthDay{Month: time.October, Day: 5},
	LastFrost:  season.MonthDay{Month: time.May, Day: 12},
}

// counted is an account at one moment, summed over the stores that the house has now. Its zero
// value is an account that never counted.
type counted struct {
	history.StoreTotals
	electricityMoney, fuelMoney float64
}

func countedOf(t *history.Totals, set *config.House) (c counted) {
	c.electricityMoney, c.fuelMoney = t.ElectricityMoney, t.FuelMoney
	for i := range t.Stores {
		if s := &t.Stores[i]; hasStore(set, s.Name) {
			c.Add(s, 1)
		}
	}
	return c
}

func hasStore(set *config.House, name string) bool {
	for i := range set.House.Decide.Stores {
		if set.House.Decide.Stores[i].Name == name {
			return true
		}
	}
	return false
}

// least is how far a counter may seem to fall through rounding.
const least = -0.01

// since is what was counted from then on; false where a counter fell, as in a ledger begun anew.
func (c counted) since(then counted) (counted, bool) {
	d := counted{c.StoreTotals, c.electricityMoney - then.electricityMoney, c.fuelMoney - then.fuelMoney}
	d.Add(&then.StoreTotals, -1)
	good := d.RunS > 100*least && d.Starts >= 0
	for _, v := range [...]float64{d.EnergyKWh, d.In.KWh(), d.Out.KWh(), d.CondensateLitres, d.electricityMoney, d.fuelMoney} {
		good = good && v > least
	}
	return d, good
}

// account renders a count.
func (c counted) account(from *time.Time, s *controller.Snapshot) *Account {
	a := &Account{
		From: from, FanHours: rounded(max(0, c.RunS)/3600, 100), Starts: c.Starts, ElectricityKWh: rounded(max(0, c.EnergyKWh), 1000),
		HeatInKWh: rounded(max(0, c.In.KWh()), 1000), HeatOutKWh: rounded(max(0, c.Out.KWh()), 1000), CondensateLitres: rounded(max(0, c.CondensateLitres), 1000),
		Currency: s.Currency, ElectricityMoney: rounded(max(0, c.electricityMoney), 1000),
		ElectricityEstimated: !metered(s), HeatEstimated: !measured(s.Account),
	}
	if s.Settings.House.Decide.Heater.Present {
		fuel := rounded(max(0, c.fuelMoney), 1000)
		a.FuelAvoidedMoney = &fuel
	}
	return a
}

// tell adds what was saved in the account's time.
func (a *Account) tell(told *ledger.Saving, zone *time.Location) {
	a.told, a.Saved = told, report.SavedOf(told, zone)
}

// metered reports whether a probe of every store tells what its fans draw.
func metered(s *controller.Snapshot) bool {
	for i := range s.Settings.House.Decide.Stores {
		found := false
		for j := range s.Settings.House.Probes {
			p := &s.Settings.House.Probes[j]
			found = found || p.Judge.Role == judge.FanPower && (p.Store == i || p.Store < 0)
		}
		if !found {
			return false
		}
	}
	return true
}

// measured reports whether all but a hundredth of the heat was measured.
func measured(a *ledger.House) bool {
	var total, seen float64
	for i := range a.Stores {
		s := &a.Stores[i]
		total += s.In.KWh() + s.Out.KWh()
		seen += s.MeasuredIn.KWh() + s.MeasuredOut.KWh()
	}
	return total > 0 && seen >= 0.99*total
}

// accounts fills in what today, the season and all the time came to.
func (s *site) accounts(h *House, snap *controller.Snapshot, turn config.Turn) {
	if snap.Account == nil {
		return
	}
	now := countedOf(history.TotalsOf(snap.Account), snap.Settings)
	h.Total = now.account(nil, snap)
	for i, from := range starts(snap, turn) {
		t := s.past.totals(h.Name, from)
		if t == nil {
			continue
		}
		c, good := now.since(countedOf(t, snap.Settings))
		if !good {
			continue
		}
		to, told := &h.Today, &snap.Saved[ledger.Day]
		if i == 1 {
			to, told = &h.Season, &snap.Saved[ledger.Season]
		}
		*to = c.account(&from, snap)
		if told.Begin == from.Format(time.DateOnly) {
			(*to).tell(told, from.Location())
		}
	}
	if all := snap.Account.Saved.Seasons; len(all) == 1 { // it is all that ever was
		h.Total.tell(&all[0], zoneOf(snap))
	}
}

// starts are when a house's day and season began.
func starts(s *controller.Snapshot, turn config.Turn) [2]time.Time {
	now := s.Time.In(zoneOf(s))
	return [2]time.Time{midnight(now), turn.SeasonBegan(now)}
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}
