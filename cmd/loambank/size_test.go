package main

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/plan/size"
	"loambank/controller/weather"
)

// sized is a sizing of a bare house and two stores, all figures invented for the test. better says
// whether the stores earn what they cost.
func sized(t *testing.T, better bool) *sizing {
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
	a := &sizing{sizeCommand: &sizeCommand{}, climate: climate{s: s, h: &s.Houses[0], year: &weather.Year{Station: "Testfield"}}}
	rung := func(name string, pipes int, cost, heater, fuel float64, low float64) size.Rung {
		r := size.Rung{Lived: true, Outcome: size.Outcome{SafeDays: 340 + pipes/10, FrostH: 40 - float64(pipes)/2, HeaterKWh: heater, Fuel: fuel, Low: -1}}
		r.Name, r.Costs, r.Cover = name, cost, physics.DoubleFilm
		if pipes > 0 {
			r.Pipes = config.Pipes{Count: pipes, LengthM: 9, SpacingM: 0.4, DepthM: 0.45, DiameterM: 0.1}
			r.Duct = size.Duct{FlowM3s: 0.8, AirChangesPerHour: 3, SpeedMs: 3, LossPa: 44, PowerW: 110, NTU: 1}
			r.Outcome.FanKWh, r.Outcome.FanH, r.Outcome.InKWh, r.Outcome.OutKWh, r.Outcome.CondensateLDay, r.Outcome.Electricity = 200, 1800, 5000, 4000, 33, 36
		}
		return r
	}
	saved := 300.0
	if !better {
		saved = 100
	}
	a.rungs = []size.Rung{
		rung("single film, bare", 0, 800, 12000, 1600, -3), rung("double film, bare", 0, 1500, 6000, 800, -1),
		rung("store, 3 air changes", 30, 3500, 4000, 800-36-saved, 1), rung("store, 6 air changes", 60, 5500, 3500, 760-36-saved, 1),
		rung("store, 12 air changes", 0, 0, 0, 0, 0),
	}
	stone, board := rung("store, 3 air changes, in stone", 30, 4400, 4000, 800-36-saved+12, 1), rung("store, 3 air changes, board round it", 30, 3900, 3900, 800-36-saved-50, 1)
	stone.Stone, stone.Beside, board.Beside = true, true, true
	a.rungs = append(a.rungs, stone, board)
	a.rungs[1].Bare = true
	a.rungs[2].Obstacles = []size.Obstacle{{What: "heavy clay drains slowly"}}
	a.rungs[4].Lived, a.rungs[4].Err = false, physics.ErrNeverCrosses
	a.choice = size.Choose(a.rungs, s.Costs, true)
	a.own, a.spread = saved, money{saved + 10, 90}
	a.weighs = []weight{{Assumption: size.Assumptions()[0], low: 280, high: 310}}
	a.solar = &solar{netMetered: size.NetMetered{ArrayKW: 0.15, Own: 0.35}, offGrid: size.OffGrid{ArrayKW: 0.6, BatteryKWh: 2.2, Lost: 0.02, Cost: 1678}}
	for m := range a.solar.fans {
		a.solar.fans[m], a.solar.yield[m] = 30-4*math.Abs(float64(m)-6), 100
	}
	return a
}

func TestDesignsAreToldAsTheyWere(t *testing.T) {
	for name, better := range map[string]bool{"size": true, "size-no": false} {
		a := sized(t, better)
		if a.choice.Build != better || a.choice.Store != 2 {
			t.Errorf("%s: the choice is %+v", name, a.choice)
		}
		toldAs(t, name+".txt", a.text)
		toldAs(t, name+".json", a.json)
	}
}

func TestTheLadderAndTheSunAreDrawn(t *testing.T) {
	a := sized(t, true)
	for name, draw := range map[string]struct {
		write func(string) error
		want  []string
	}{
		"ladder": {a.plot, []string{">knee<", "fuel and electricity a year by design", ">3</text>"}},
		"solar":  {a.plotSolar, []string{">fans<", ">panels<", ">Dec<", "0.15 kW"}},
	} {
		path := filepath.Join(t.TempDir(), name+".svg")
		if err := draw.write(path); err != nil {
			t.Fatal(err)
		}
		svg, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range draw.want {
			if !bytes.Contains(svg, []byte(want)) {
				t.Errorf("%s: %q is not in\n%s", name, want, svg)
			}
		}
	}
}

// Four years by hand: mean 10, standard error 1.29, and 30 % of the mean.
func TestHowSureSavingsAre(t *testing.T) {
	got := sure([]float64{7, 9, 11, 13})
	if want := math.Hypot(2*math.Sqrt(20.0/3/4), 3); got.mean != 10 || math.Abs(got.off-want) > 1e-9 {
		t.Errorf("%+v, want 10 ± %v", got, want)
	}
}
