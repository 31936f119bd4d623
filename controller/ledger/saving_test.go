package ledger_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/learn"
	"loambank/controller/ledger"
)

// told is a saving of so many kWh.
func told(begin string, kWh float64) ledger.Saving {
	return ledger.Saving{Begin: begin, Heated: true, Energy: learn.Saved{HeatKWh: kWh, Claimed: true, CountedH: 1}}
}

func TestATimeIsToldAnewUntilItHasEnded(t *testing.T) {
	var s ledger.Savings
	s.Tell(ledger.Month, told("2026-10-01", 3))
	s.Tell(ledger.Month, told("2026-10-01", 4))
	s.Tell(ledger.Month, told("2026-11-01", 1))
	s.Tell(ledger.Season, told("2026-09-10", 5))
	want := ledger.Savings{Months: []ledger.Saving{told("2026-10-01", 4), told("2026-11-01", 1)}, Seasons: []ledger.Saving{told("2026-09-10", 5)}}
	if diff := cmp.Diff(want, s); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	for _, tt := range []struct {
		span  ledger.Span
		begin string
		kWh   float64
		there bool
	}{
		{ledger.Month, "2026-10-01", 4, true},
		{ledger.Month, "2026-11-01", 1, true},
		{ledger.Season, "2026-09-10", 5, true},
		{ledger.Month, "2026-09-01", 0, false},
		{ledger.Day, "2026-10-01", 0, false},
		{ledger.Season, "2026-10-01", 0, false},
	} {
		got := s.Find(tt.span, tt.begin)
		if (got != nil) != tt.there || got != nil && got.Energy.HeatKWh != tt.kWh {
			t.Errorf("of span %d from %s it is told %+v", tt.span, tt.begin, got)
		}
	}
}

// TestTheOldestTimesAreForgotten tells many, and one that a clock that ran ahead has left behind.
func TestTheOldestTimesAreForgotten(t *testing.T) {
	for _, tt := range []struct {
		span ledger.Span
		most int
		all  func(s *ledger.Savings) []ledger.Saving
	}{
		{ledger.Day, 2, func(s *ledger.Savings) []ledger.Saving { return s.Days }},
		{ledger.Month, 24, func(s *ledger.Savings) []ledger.Saving { return s.Months }},
		{ledger.Season, 10, func(s *ledger.Savings) []ledger.Saving { return s.Seasons }},
	} {
		var s ledger.Savings
		s.Tell(tt.span, told("2099-01-01", 9))
		begin := time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)
		for i := range 40 {
			now := begin.AddDate(0, i, 0).Format(time.DateOnly)
			s.Tell(tt.span, told(now, float64(i)))
			if got := s.Find(tt.span, now); got == nil || got.Energy.HeatKWh != float64(i) {
				t.Fatalf("span %d: what was told of %s just now is %+v", tt.span, now, got)
			}
		}
		all := tt.all(&s)
		if len(all) != tt.most || all[len(all)-1].Begin != "2099-01-01" || all[0].Begin != begin.AddDate(0, 41-tt.most, 0).Format(time.DateOnly) {
			t.Errorf("span %d: %d are kept, from %s to %s", tt.span, len(all), all[0].Begin, all[len(all)-1].Begin)
		}
	}
}

func TestFiguresAreToldToAThousandthAndOnlyNumbers(t *testing.T) {
	var s ledger.Savings
	x := told("2026-10-01", 1.23456)
	x.Energy.SpreadKWh, x.ElectricityMoney, x.Energy.Nights = 0.00049, 2.0005, -1.9996
	s.Tell(ledger.Month, x)
	got := s.Months[0]
	if e := got.Energy; e.HeatKWh != 1.235 || e.SpreadKWh != 0 || got.ElectricityMoney != 2.001 || e.Nights != -2 {
		t.Errorf("%+v", got)
	}
	for name, spoil := range map[string]func(*ledger.Saving, float64){
		"heat": func(x *ledger.Saving, v float64) { x.Energy.HeatKWh = v }, "electricity": func(x *ledger.Saving, v float64) { x.Energy.ElectricityKWh = v },
		"net": func(x *ledger.Saving, v float64) { x.Energy.NetKWh = v }, "spread": func(x *ledger.Saving, v float64) { x.Energy.SpreadKWh = v },
		"nights": func(x *ledger.Saving, v float64) { x.Energy.Nights = v }, "their spread": func(x *ledger.Saving, v float64) { x.Energy.NightsSpread = v },
		"degree-hours": func(x *ledger.Saving, v float64) { x.Energy.DegreeHours = v }, "theirs": func(x *ledger.Saving, v float64) { x.Energy.DegreeSpread = v },
		"counted": func(x *ledger.Saving, v float64) { x.Energy.CountedH = v }, "lost": func(x *ledger.Saving, v float64) { x.Energy.LostH = v },
		"money": func(x *ledger.Saving, v float64) { x.ElectricityMoney = v },
	} {
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			x := told("2026-10-01", 7)
			spoil(&x, v)
			if s.Tell(ledger.Month, x); s.Months[0] != got {
				t.Errorf("%s of %v is told", name, v)
			}
		}
	}
}

func TestMoneyIsHeatAtTheFuelsPriceLessElectricity(t *testing.T) {
	x := told("2026-11-01", 400)
	x.Energy.SpreadKWh, x.Currency, x.FuelPerKWh, x.ElectricityMoney = 50, "USD", 0.125, 12.5
	if net, spread, known := x.Money(); net != 37.5 || spread != 6.25 || !known {
		t.Errorf("%v ± %v, %v", net, spread, known)
	}
	x.ElectricityMoney = 60
	if net, _, _ := x.Money(); net != -10 {
		t.Errorf("fans that cost more than they saved tell %v", net)
	}
	for name, change := range map[string]func(*ledger.Saving){
		"an unheated house": func(x *ledger.Saving) { x.Heated = false }, "no claim": func(x *ledger.Saving) { x.Energy.Claimed = false },
		"no price": func(x *ledger.Saving) { x.Currency = "" }, "nothing counted": func(x *ledger.Saving) { x.Energy.CountedH = 0 },
	} {
		y := x
		change(&y)
		if net, spread, known := y.Money(); known || net != 0 || spread != 0 {
			t.Errorf("%s: money is told, %v ± %v", name, net, spread)
		}
		if claimed := y.Claimed(); claimed != (name == "no price") {
			t.Errorf("%s: claimed is %v", name, claimed)
		}
	}
}

// TestWhatWasToldOutlivesTheProgram keeps it through the file, a house that is gone and other settings,
// each with a copy of its own.
func TestWhatWasToldOutlivesTheProgram(t *testing.T) {
	dir := t.TempDir()
	f, _, _ := open(t, dir)
	c := stand(1)
	a := &c.Houses[0].Account
	a.Saved.Tell(ledger.Month, told("2026-10-01", 4.5))
	a.Saved.Tell(ledger.Season, told("2026-09-10", 5.5))
	want := a.Clone().Saved
	save(t, f, c)
	a.Saved.Tell(ledger.Month, told("2026-10-01", 77))
	save(t, f, ledger.Checkpoint{Unix: c.Unix + 1})
	_, back, _ := open(t, dir)
	lower := back.Account("lower")
	if lower == nil || back.Account("nobody's") != nil {
		t.Fatal("the house is not found by its name")
	}
	if diff := cmp.Diff(want, lower.Saved); diff != "" {
		t.Errorf("after a restart (-want +got):\n%s", diff)
	}
	adopted := ledger.Adopt(lower, "lower", layout(store("other", "fan")))
	if diff := cmp.Diff(want, adopted.Saved); diff != "" {
		t.Errorf("under other settings (-want +got):\n%s", diff)
	}
	adopted.Saved.Tell(ledger.Season, told("2026-09-10", 99))
	if diff := cmp.Diff(want, lower.Saved); diff != "" {
		t.Errorf("it is not the account's own (-want +got):\n%s", diff)
	}
}

// TestALedgerOfBeforeTellsNoSaving reads a file that was written before anything was told.
func TestALedgerOfBeforeTellsNoSaving(t *testing.T) {
	c, notes, err := ledger.Load("testdata/schema1")
	if err != nil || len(notes.Refused) > 0 || len(c.Houses) != 1 {
		t.Fatalf("%+v, %+v, %v", c, notes, err)
	}
	if diff := cmp.Diff(ledger.Savings{}, c.Houses[0].Account.Saved); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestASavingIsReadAsItStood reads a file with savings, figure for figure as it stands there.
func TestASavingIsReadAsItStood(t *testing.T) {
	c, notes, err := ledger.Load("testdata/schema1-saved")
	if err != nil || len(notes.Refused) > 0 || len(c.Houses) != 1 {
		t.Fatalf("%+v, %+v, %v", c, notes, err)
	}
	energy := learn.Saved{
		HeatKWh: 410.5, ElectricityKWh: 62.25, NetKWh: 348.25, SpreadKWh: 88, Claimed: true, Nights: 3, NightsSpread: 1,
		DegreeHours: 12.5, DegreeSpread: 2.5, CountedH: 719, LostH: 1,
	}
	month := ledger.Saving{
		Begin: "2026-10-01", From: 1790827200, To: 1793505590, Energy: energy, Heated: true, Crop: true,
		Currency: "USD", FuelPerKWh: 0.135, ElectricityMoney: 10.6,
	}
	want := ledger.Savings{
		Days:    []ledger.Saving{{Begin: "2026-11-25"}},
		Months:  []ledger.Saving{month, {Begin: "2026-11-01", From: 1793505600, To: 1795601700}},
		Seasons: []ledger.Saving{{Begin: "2026-09-10", From: 1790827200, To: 1795601700, Energy: energy}},
	}
	if diff := cmp.Diff(want, c.Houses[0].Account.Saved); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestTimesStandInTheirOrder tells days, months and seasons as they come, also under a clock that is set.
func TestTimesStandInTheirOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s ledger.Savings
		for range rapid.IntRange(1, 60).Draw(t, "tellings") {
			span := ledger.Span(rapid.IntRange(0, ledger.Spans-1).Draw(t, "span"))
			day := time.Date(2026, 1, 1+rapid.IntRange(0, 2000).Draw(t, "day"), 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
			kWh := float64(rapid.IntRange(-9, 99).Draw(t, "kWh"))
			s.Tell(span, told(day, kWh))
			if got := s.Find(span, day); got == nil || got.Energy.HeatKWh != kWh {
				t.Fatalf("%s was told with %v and is %+v", day, kWh, got)
			}
			for _, all := range [][]ledger.Saving{s.Days, s.Months, s.Seasons} {
				for i := 1; i < len(all); i++ {
					if all[i-1].Begin >= all[i].Begin {
						t.Fatalf("%s stands before %s", all[i-1].Begin, all[i].Begin)
					}
				}
			}
		}
	})
}
