package main

import (
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/plan/whatif"
	"loambank/controller/replay"
)

// compared is a comparison of the example farm, all of it invented for the test.
func compared(t *testing.T) (*config.Settings, *whatif.Comparison) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "config", "example.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse(path, text, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := &s.Houses[0].House.Decide
	first := time.Date(2026, time.January, 5, 0, 0, 0, 0, s.Site.Zone)
	side := func(low unit.Celsius, runH float64) replay.House {
		a := ledger.New("lower", d)
		a.StateS[decide.Charge], a.StateS[decide.Rest] = runH*3600, (2000-runH)*3600
		a.ElectricityMoney = 0.1 * runH
		b := &a.Stores[0]
		b.StateS = a.StateS
		b.In.SensibleKWh, b.Out.SensibleKWh = 8*runH, 3*runH
		b.Fans[0].Starts, b.Fans[0].EnergyKWh = int64(runH), 0.6*runH
		b.Fans[0].RunS[decide.Charge] = runH * 3600
		return replay.House{Account: a, Low: replay.Low{C: low, Time: first.AddDate(0, 0, 20), Known: true}, FrostS: 7200}
	}
	c := &whatif.Comparison{First: first, Last: first.AddDate(0, 0, 90), Rows: 12961}
	c.Houses = []whatif.House{{
		Name: "lower", Open: [2]replay.House{side(1.4, 300), side(1.4, 180)}, Closed: [2]replay.House{side(1.4, 300), side(0.9, 200)},
		HeatInKWh: [2]float64{2100, 1500}, HeatOutKWh: [2]float64{900, 750}, Metered: true, FollowedH: 2050, LostH: 12,
		More: whatif.Differences{
			RunH: whatif.Figure{Value: -100, Spread: 41}, FanKWh: whatif.Figure{Value: -60, Spread: 25}, InKWh: whatif.Figure{Value: -600, Spread: 250},
			OutKWh: whatif.Figure{Value: -150, Spread: 80}, HeaterKWh: whatif.Figure{Value: 90, Spread: 40}, LowK: whatif.Figure{Value: -0.5, Spread: 0.3},
			FrostH: whatif.Figure{Value: 3, Spread: 2}, Money: whatif.Figure{Value: 1.26, Spread: 4.4},
		},
		Learned: learn.HouseValues{LossWK: learn.Estimate{Value: 1500, SE: 60, Hours: 900}},
		Fit:     fitted(),
	}}
	return s, c
}

// fitted is air foretold to 1.1 K and soil to 0.2 K.
func fitted() whatif.Fit {
	return whatif.Fit{Air: learn.Miss{N: 420, OffK2: 420 * 1.21, StayedK2: 420 * 16}, Soil: []learn.Miss{{N: 29, OffK2: 29 * 0.04, StayedK2: 29 * 0.25}}}
}

func TestAComparisonIsToldAsItWas(t *testing.T) {
	s, c := compared(t)
	toldAs(t, "against.txt", func(w io.Writer) error { return writeComparison(w, s, c) })
	toldAs(t, "against.json", func(w io.Writer) error { return writeComparisonJSON(w, s, c) })
}
