package controller

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// teller is a house with a heater whose sums a test adds to as it likes.
type teller struct {
	t       *testing.T
	savings savings
	account *ledger.House
	p       learn.Params
	set     learn.Settings
	bill    bill
	site    season.Site
	turn    config.Turn
}

func newTeller(t *testing.T) *teller {
	zone, err := time.LoadLocation("America/New_York")
	must(t, err)
	return &teller{
		t: t, account: &ledger.House{}, site: season.Site{Zone: zone}, turn: config.Turn{ToppingUp: season.MonthDay{Month: time.September, Day: 10}},
		set:  learn.Settings{Heater: learn.Heater{Present: true}, CropLimit: learn.Temp{C: 2, Known: true}, Stores: []learn.Store{{FlowM3s: 1, PowerW: 500}}},
		bill: bill{"USD", tariff.Prices{FuelHeatPerKWh: 0.125, ElectricityPerKWh: 0.25, HasFuel: true, HasElectricity: true}},
	}
}

// lives lets the house save heat by electricity up to a time, in some hours.
func (x *teller) lives(to string, heatKWh, fanKWh, hours float64) {
	x.t.Helper()
	sum := &x.p.Other.Sum
	for k := range sum.SavedJ {
		sum.SavedJ[k] += heatKWh * 3.6e6
	}
	sum.FanJ += fanKWh * 3.6e6
	sum.CountedS += hours * 3600
	x.account.ElectricityMoney += fanKWh * x.bill.prices.ElectricityPerKWh
	x.tells(to)
}

func (x *teller) tells(at string) {
	x.t.Helper()
	now, err := time.ParseInLocation("2006-01-02 15:04", at, x.site.Zone)
	must(x.t, err)
	x.savings.tell(x.account, &x.p, &x.set, x.bill, now, x.savings.calendar(x.site, x.turn, now.UTC()))
}

// wants compares heat, electricity, hours and money of a time with what is told.
func (x *teller) wants(span ledger.Span, begin string, heatKWh, fanKWh, hours, money float64) {
	x.t.Helper()
	s := x.account.Saved.Find(span, begin)
	if s == nil {
		x.t.Errorf("nothing is told of %s", begin)
		return
	}
	e := &s.Energy
	if e.HeatKWh != heatKWh || e.ElectricityKWh != fanKWh || math.Abs(e.NetKWh-heatKWh+fanKWh) > 1e-9 || e.CountedH != hours || s.ElectricityMoney != money {
		x.t.Errorf("of %s are told %+v, %v of money; want %v kWh, %v kWh, %v h, %v", begin, *e, s.ElectricityMoney, heatKWh, fanKWh, hours, money)
	}
}

func TestEachTimeCountsFromItsBeginning(t *testing.T) {
	x := newTeller(t)
	x.lives("2026-08-31 22:00", 0, 0, 0)
	x.lives("2026-08-31 23:00", 4, 2, 1)
	x.wants(ledger.Day, "2026-08-31", 4, 2, 1, 0.5)
	x.wants(ledger.Month, "2026-08-01", 4, 2, 1, 0.5)
	x.wants(ledger.Season, "2025-09-10", 4, 2, 1, 0.5)
	x.tells("2026-09-01 00:00") // by the site's clock
	x.lives("2026-09-01 01:00", 1, 4, 1)
	x.wants(ledger.Day, "2026-09-01", 1, 4, 1, 1)
	x.wants(ledger.Month, "2026-09-01", 1, 4, 1, 1)
	x.wants(ledger.Season, "2025-09-10", 5, 6, 2, 1.5)
	x.lives("2026-09-09 23:59", 10, 0, 5)
	x.wants(ledger.Month, "2026-09-01", 11, 4, 6, 1)
	x.tells("2026-09-10 00:00")
	x.lives("2026-09-10 00:30", 2, 0, 0.5)
	x.wants(ledger.Season, "2026-09-10", 2, 0, 0.5, 0)
	x.wants(ledger.Season, "2025-09-10", 15, 6, 7, 1.5)
	x.wants(ledger.Month, "2026-09-01", 13, 4, 6.5, 1)
	x.wants(ledger.Month, "2026-08-01", 4, 2, 1, 0.5) // as it was told
	if s := x.savings.now(x.account); s[ledger.Day].Begin != "2026-09-10" || s[ledger.Month].Energy.HeatKWh != 13 || s[ledger.Season].Energy.HeatKWh != 2 {
		t.Errorf("of the times that go on %+v is told", s)
	}
	s := x.account.Saved.Find(ledger.Month, "2026-09-01")
	if net, _, known := s.Money(); !known || net != 13*0.125-1 || s.Currency != "USD" {
		t.Errorf("%v of money, %v", net, known)
	}
	if from := time.Unix(s.From, 0).In(x.site.Zone).Format("01-02 15:04"); from != "09-01 00:00" {
		t.Errorf("it counts since %s", from)
	}
}

func TestWithoutPricesNoMoneyIsTold(t *testing.T) {
	for name, prices := range map[string]tariff.Prices{"no fuel": {HasElectricity: true}, "no electricity": {HasFuel: true, FuelHeatPerKWh: 1}} {
		x := newTeller(t)
		x.bill.prices = prices
		x.lives("2026-11-01 00:00", 0, 0, 0)
		x.lives("2026-11-01 01:00", 4, 2, 1)
		if _, _, known := x.account.Saved.Months[0].Money(); known {
			t.Errorf("%s: money is told", name)
		}
	}
}

// TestACatalogueFlowClaimsNothingUntilItIsKnown and then claims from then on; what was claimed stays.
func TestACatalogueFlowClaimsNothingUntilItIsKnown(t *testing.T) {
	x := newTeller(t)
	x.set.Stores[0].Catalogue = true
	x.lives("2026-11-01 00:00", 0, 0, 0)
	x.p.Other.Sum.GuessedJ += 1
	x.lives("2026-11-02 00:00", 40, 20, 24)
	s := x.account.Saved.Find(ledger.Month, "2026-11-01")
	if s.Claimed() || s.Energy != (learn.Saved{}) || s.ElectricityMoney != 0 {
		t.Errorf("it is told %+v", s)
	}
	x.set.Stores[0].Catalogue = false // as if it were learned now
	x.lives("2026-11-02 01:00", 4, 2, 1)
	x.wants(ledger.Month, "2026-11-01", 4, 2, 1, 0.5)
	if s := x.account.Saved.Find(ledger.Month, "2026-11-01"); !s.Claimed() {
		t.Error("nothing is claimed of a flow that is known")
	} else if from := time.Unix(s.From, 0).In(x.site.Zone).Format("01-02 15:04"); from != "11-02 00:00" {
		t.Errorf("it counts since %s", from)
	}
	// An hour of which a part was run by guess counts nothing.
	x.p.Other.Sum.GuessedJ += 1
	x.lives("2026-11-02 02:00", 8, 1, 1)
	x.wants(ledger.Month, "2026-11-01", 4, 2, 1, 0.5)
	x.lives("2026-11-02 03:00", 1, 1, 1)
	x.wants(ledger.Month, "2026-11-01", 5, 3, 2, 0.75)
	x.set.Stores[0].Catalogue = true // another fan
	x.lives("2026-11-02 04:00", 8, 1, 1)
	x.wants(ledger.Month, "2026-11-01", 5, 3, 2, 0.75)
	if s := x.account.Saved.Find(ledger.Season, "2026-09-10"); !s.Claimed() {
		t.Error("what was claimed is not any more")
	}
	// An unheated house claims nothing, and its nights count all the same.
	x.set.Heater.Present = false
	x.lives("2026-11-03 00:00", 0, 0, 0)
	for k := range x.p.Other.Sum.NightsN {
		x.p.Other.Sum.NightsN[k]++
	}
	x.lives("2026-11-03 07:00", 0, 1, 7)
	if s := x.account.Saved.Find(ledger.Day, "2026-11-03"); s.Claimed() || s.Heated || !s.Crop || s.Energy.Nights != 1 {
		t.Errorf("of an unheated house are told %+v", s)
	}
	if s := x.account.Saved.Find(ledger.Month, "2026-11-01"); s.Heated || s.Energy.HeatKWh != 5 || s.Energy.Nights != 1 {
		t.Errorf("of the month in which the heater went is told %+v", s)
	}
}

// TestWhatWasToldIsGoneOnFrom loses what was learned, the ledger, or the right time.
func TestWhatWasToldIsGoneOnFrom(t *testing.T) {
	begun := func(t *testing.T) *teller {
		x := newTeller(t)
		x.lives("2026-10-31 23:00", 0, 0, 0)
		x.lives("2026-11-01 00:00", 7, 0, 1)
		x.lives("2026-11-10 00:00", 40, 20, 200)
		return x
	}
	t.Run("what was learned is lost", func(t *testing.T) {
		x := begun(t)
		x.p, x.savings = learn.Params{}, savings{}
		x.lives("2026-11-10 01:00", 0, 0, 0)
		x.lives("2026-11-11 00:00", 4, 2, 20)
		x.wants(ledger.Month, "2026-11-01", 44, 22, 220, 5.5)
		x.wants(ledger.Season, "2026-09-10", 51, 22, 221, 5.5)
		if from := x.account.Saved.Find(ledger.Month, "2026-11-01").From; time.Unix(from, 0).In(x.site.Zone).Day() != 1 {
			t.Errorf("the month counts since %v", time.Unix(from, 0))
		}
	})
	t.Run("its sums begin anew while the program runs", func(t *testing.T) {
		x := begun(t)
		x.p = learn.Params{}
		x.lives("2026-11-10 01:00", 0, 0, 0)
		x.lives("2026-11-11 00:00", 4, 2, 20)
		x.wants(ledger.Month, "2026-11-01", 44, 22, 220, 5.5)
	})
	t.Run("the ledger is lost", func(t *testing.T) {
		x := begun(t)
		x.account = &ledger.House{}
		x.lives("2026-11-11 00:00", 4, 2, 20)
		x.wants(ledger.Month, "2026-11-01", 44, 22, 220, 0.5) // money since then
	})
	t.Run("the program is killed before the new month is learned of", func(t *testing.T) {
		x := newTeller(t)
		x.lives("2026-10-31 00:00", 0, 0, 0)
		x.lives("2026-10-31 23:30", 4, 2, 20)
		p, marks := x.p, x.savings.marks // as they were last written
		x.lives("2026-11-01 00:30", 2, 0, 1)
		x.wants(ledger.Month, "2026-10-01", 4, 2, 20, 0.5)
		x.lives("2026-11-01 00:40", 1, 0, 0.25)
		x.p, x.savings = p, savings{marks: marks}
		x.tells("2026-11-01 00:50")
		x.lives("2026-11-01 01:50", 3, 0, 1)
		x.wants(ledger.Month, "2026-10-01", 4, 2, 20, 0.5)
		x.wants(ledger.Month, "2026-11-01", 4, 0, 1.25, 0)
	})
	t.Run("the clock runs ahead for a while", func(t *testing.T) {
		x := begun(t)
		x.lives("2099-01-01 00:00", 0, 0, 0)
		x.lives("2099-01-01 01:00", 1, 0, 1)
		x.lives("2026-11-10 01:00", 0, 0, 0)
		x.lives("2026-11-11 00:00", 4, 2, 20)
		x.wants(ledger.Month, "2026-11-01", 44, 22, 220, 5.5)
		x.lives("2026-12-01 00:00", 0, 0, 0)
		x.lives("2026-12-01 01:00", 9, 0, 1)
		x.wants(ledger.Month, "2026-12-01", 9, 0, 1, 0)
	})
}

// TestErrorsOfTwoTimesGoTheSameWay adds what was told before to what is told since.
func TestErrorsOfTwoTimesGoTheSameWay(t *testing.T) {
	a := learn.Saved{HeatKWh: 1, ElectricityKWh: 2, NetKWh: -1, SpreadKWh: 3, Claimed: true, Nights: 4, NightsSpread: 5, DegreeHours: 6, DegreeSpread: 7, CountedH: 8, LostH: 9}
	b := learn.Saved{HeatKWh: 10, ElectricityKWh: 20, NetKWh: -10, SpreadKWh: 30, Nights: 40, NightsSpread: 50, DegreeHours: 60, DegreeSpread: 70, CountedH: 80, LostH: 90}
	want := learn.Saved{HeatKWh: 11, ElectricityKWh: 22, NetKWh: -11, SpreadKWh: 33, Claimed: true, Nights: 44, NightsSpread: 55, DegreeHours: 66, DegreeSpread: 77, CountedH: 88, LostH: 99}
	for _, got := range []learn.Saved{together(a, b), together(b, a)} {
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	}
}

// TestSavedEnergySurvivesRestartAndReload runs a farm with a heater for two days, kills it, and starts
// it from what is on the disk.
func TestSavedEnergySurvivesRestartAndReload(t *testing.T) {
	g := stake(t, "5 min", "lower")
	g.edit(`cover    = "single film"`, `cover    = "single film"
heater   = { setpoint = "4 °C", band = "1 K", output = "18 kW" }`)
	air := `driver = "file", path = "` + g.dir + `/lower/air" }`
	g.edit(air, air+`, { role = "outside", name = "outside", driver = "file", path = "`+g.dir+`/lower/outside" }`)
	g.put("lower/outside", "-5.0")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		const speed = 600
		g.clock = Scaled(speed, from)
		f := g.run(t, nil)
		pass(2 * 24 * time.Hour / speed)
		shown := f.View().Houses[0]
		month := from.Format("2006-01") + "-01"
		told := shown.Counted.Saved.Find(ledger.Month, month)
		if told == nil || !told.Heated || told.Energy.CountedH < 40 || told.Energy.ElectricityKWh <= 0 {
			t.Fatalf("of the month is told %+v", told)
		}
		if shown.Saved[ledger.Month].Energy.CountedH < told.Energy.CountedH {
			t.Errorf("what is shown, %+v, is less than what is on the disk", shown.Saved[ledger.Month])
		}
		killed := filepath.Join(t.TempDir(), "copy")
		must(t, os.CopyFS(killed, os.DirFS(g.state)))
		must(t, f.end())

		g.state = killed
		g.clock = Scaled(speed, from.Add(50*time.Hour))
		f = g.run(t, nil)
		pass(3 * time.Hour / speed)
		must(t, f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)))
		pass(3 * time.Hour / speed)
		after := f.View().Houses[0].Saved
		// An hour at most was not learned of, each time an hour begins anew.
		if grown := after[ledger.Month].Energy.CountedH - told.Energy.CountedH; grown < 3 || grown > 6 {
			t.Errorf("after six hours %v h more are counted: %+v", grown, after[ledger.Month])
		}
		if s := after[ledger.Season]; s.Begin != "2025-09-10" || s.Energy.CountedH < after[ledger.Month].Energy.CountedH {
			t.Errorf("of the season is told %+v", s)
		}
		if before := f.houses()[0].savings.marks[ledger.Month].Before; before.Begin != "" {
			t.Errorf("its mark was lost, and it goes on from what was told: %+v", before)
		}
		if diff := cmp.Diff(told.From, after[ledger.Month].From); diff != "" {
			t.Errorf("it counts since another time: %s", diff)
		}
		must(t, f.end())
	})
}

// TestWhileTheClockIsNoCalendarNothingIsTold and it counts all the same.
func TestWhileTheClockIsNoCalendarNothingIsTold(t *testing.T) {
	x := newTeller(t)
	x.lives("2026-11-10 00:00", 0, 0, 0)
	r := &runner{
		board: &board{clock: Clock{}, keeper: &keeper{began: &ledger.Checkpoint{}}}, account: x.account, learnt: x.p, learns: x.set, savings: x.savings, turn: x.turn,
		s: &config.House{},
	}
	synctest.Test(t, func(t *testing.T) { // a bubble's time begins in the year 2000
		before := x.account.Clone()
		r.learnt.Other.Sum.CountedS += 3600
		r.tellSaved(tariff.Prices{}, time.Now())
		if diff := cmp.Diff(before, r.account); diff != "" {
			t.Errorf("it is told (-before +after):\n%s", diff)
		}
		r.board.clock = Scaled(1, time.Date(2026, time.November, 10, 12, 0, 0, 0, time.UTC))
		r.tellSaved(tariff.Prices{}, r.board.clock.Now())
		if s := r.account.Saved.Find(ledger.Month, "2026-11-01"); s == nil || s.Energy.CountedH != 1 {
			t.Errorf("once it is a calendar, %+v is told", s)
		}
	})
}
