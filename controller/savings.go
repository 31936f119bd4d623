package controller

import (
	"time"

	"loambank/config"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// mark is from when a time of the account of saved energy counts: plain data that survives JSON. It
// is kept beside what was learned, in one file, since its sums mean nothing beside any other; what
// was told by them stands in the ledger.
type mark struct {
	Begin  string        `json:"begin"` // the time's first day; empty is none
	Unix   int64         `json:"unix"`  // since when it counts, s
	Heated bool          `json:"heated"`
	Sums   learn.Sums    `json:"sums"`            // as they stood then, as the next
	Money  float64       `json:"money"`           // that the fans had cost
	Before ledger.Saving `json:"before,omitzero"` // what was told of the time up to then
}

// marks are those of the day, the month and the season.
type marks [ledger.Spans]mark

// savings tells what a house saves.
type savings struct {
	marks marks
	told  learn.Sums // as they stood when it was last told

	from, to time.Time // the day, of which the next are
	begins   [ledger.Spans]string
}

// bill is what the settings state of money. The zero value states nothing.
type bill struct {
	currency string
	prices   tariff.Prices
}

// calendar makes now's day, month and season those that go on. It reports whether one has begun.
func (s *savings) calendar(site season.Site, turn config.Turn, now time.Time) bool {
	if !now.Before(s.from) && now.Before(s.to) {
		return false
	}
	now = site.Local(now)
	year, month, day := now.Date()
	s.from = time.Date(year, month, day, 0, 0, 0, 0, now.Location())
	s.to = time.Date(year, month, day+1, 0, 0, 0, 0, now.Location())
	s.begins = [ledger.Spans]string{
		ledger.Day:    s.from.Format(time.DateOnly),
		ledger.Month:  s.from.AddDate(0, 0, 1-day).Format(time.DateOnly),
		ledger.Season: turn.SeasonBegan(now).Format(time.DateOnly),
	}
	return true
}

// tell tells the account what was learned to be saved up to now, where it may have changed: what is
// learned of it changes once an hour. begun says that the calendar has gone on.
func (s *savings) tell(account *ledger.House, p *learn.Params, set *learn.Settings, b bill, now time.Time, begun bool) {
	sums := p.Other.Sum
	if !begun && sums == s.told {
		return
	}
	s.told = sums
	sure := claims(p, set)
	for i := range s.marks {
		m, span, heated := &s.marks[i], ledger.Span(i), set.Heater.Present
		if m.Begin != s.begins[i] || m.Heated != heated || sums.CountedS < m.Sums.CountedS {
			m.move(account, span, s.begins[i], &sums, now)
			m.Heated = heated
		}
		since := p.Saved(set, m.Sums)
		if heated && !(sure && since.Claimed) {
			m.move(account, span, m.Begin, &sums, now)
			since = learn.Saved{}
		}
		x := m.saving(since, account.ElectricityMoney, b, now)
		x.Crop = set.CropLimit.Known
		account.Saved.Tell(span, x)
	}
}

// claims reports whether the flow of every store may carry a claim.
func claims(p *learn.Params, set *learn.Settings) bool {
	for i := range min(len(set.Stores), learn.MaxStores) {
		if set.Stores[i].Catalogue && !p.Values(set, i).FlowLearned {
			return false
		}
	}
	return true
}

// move lets a time that began on a day count from now on, besides what was told of it before.
func (m *mark) move(account *ledger.House, span ledger.Span, begin string, sums *learn.Sums, now time.Time) {
	*m = mark{Begin: begin, Unix: now.Unix(), Heated: m.Heated, Sums: *sums, Money: account.ElectricityMoney}
	if told := account.Saved.Find(span, begin); told != nil && told.Energy.CountedH > 0 {
		m.Before = *told
	}
}

// saving is what there is to tell of the mark's time, with what was saved since it counts.
func (m *mark) saving(since learn.Saved, money float64, b bill, now time.Time) ledger.Saving {
	x := ledger.Saving{Begin: m.Begin, From: m.Unix, To: now.Unix(), Energy: since, Heated: m.Heated}
	x.ElectricityMoney = money - m.Money
	if x.ElectricityMoney < 0 { // the ledger began anew
		x.ElectricityMoney = money
	}
	if m.Before.Begin != "" {
		x.From = m.Before.From
		x.ElectricityMoney += m.Before.ElectricityMoney
		x.Energy = together(m.Before.Energy, since)
	}
	if b.prices.HasFuel && b.prices.HasElectricity {
		x.Currency, x.FuelPerKWh = b.currency, b.prices.FuelHeatPerKWh
	}
	return x
}

// together is what was saved in two times. Their errors are taken to go the same way: the same flow
// and the same house stand behind both.
func together(a, b learn.Saved) learn.Saved {
	return learn.Saved{
		HeatKWh: a.HeatKWh + b.HeatKWh, ElectricityKWh: a.ElectricityKWh + b.ElectricityKWh,
		NetKWh: a.NetKWh + b.NetKWh, SpreadKWh: a.SpreadKWh + b.SpreadKWh, Claimed: a.Claimed || b.Claimed,
		Nights: a.Nights + b.Nights, NightsSpread: a.NightsSpread + b.NightsSpread,
		DegreeHours: a.DegreeHours + b.DegreeHours, DegreeSpread: a.DegreeSpread + b.DegreeSpread,
		CountedH: a.CountedH + b.CountedH, LostH: a.LostH + b.LostH,
	}
}

// now is what is told of the times that go on; those of no beginning are not told yet.
func (s *savings) now(account *ledger.House) (all [ledger.Spans]ledger.Saving) {
	for i := range all {
		if told := account.Saved.Find(ledger.Span(i), s.begins[i]); told != nil {
			all[i] = *told
		}
	}
	return all
}

// tellSaved tells the account of the house what it has saved. While the clock is no calendar nothing
// is told; it counts all the same.
func (r *runner) tellSaved(prices tariff.Prices, now time.Time) {
	if !r.board.believed() {
		return
	}
	begun := r.savings.calendar(r.s.House.Decide.Season.Site, r.turn, now)
	r.savings.tell(r.account, &r.learnt, &r.learns, bill{r.currency, prices}, now, begun)
}
