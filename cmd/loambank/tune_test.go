package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/learn"
	"loambank/controller/plan/size"
	"loambank/controller/plan/tune"
	"loambank/controller/plan/whatif"
	"loambank/controller/season"
	"loambank/controller/weather"
)

// found is a search that found settings better by gain in two years and by last in a third, all
// invented for the test.
func found(t *testing.T, gain, last float64) *advice {
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
	h := &s.Houses[0]
	c := &tuneCommand{Years: 1, Unseen: 3, Seed: 1}
	tuning := &tuning{
		tuneCommand: c, s: s, h: h, bench: &inWeather{tuneCommand: c, climate: climate{s: s, h: h, year: &weather.Year{Station: "Testfield"}}},
		space: tune.NewSpace(s, h), study: &tune.Study{Schema: 1, Seeds: []uint64{1000}},
	}
	lived := func(p tune.Point, costs ...float64) *tune.Trial {
		trial := &tune.Trial{Point: p}
		for i, c := range costs {
			trial.Years = append(trial.Years, tune.Outcome{Cost: c, RiskH: 12 - c/100, FanH: 900 + c, LowC: -1 - float64(i)})
		}
		return trial
	}
	today, better := tuning.space.Today(), tuning.space.Today()
	better[0], better[6] = -2, 3
	tuning.study.Trials = []tune.Trial{*lived(today, 410), *lived(better, 390)}
	a := &advice{
		tuning: tuning, riskCost: 0.5, best: &tuning.study.Trials[1],
		todayUnseen: lived(today, 400, 420, 410), bestUnseen: lived(better, 400-gain, 420-gain, 410-last),
	}
	a.front, a.frontUnseen = []*tune.Trial{a.best}, []*tune.Trial{a.bestUnseen}
	a.gain = tune.GainOver(a.bestUnseen, a.todayUnseen, a.riskCost)
	a.weighs = []weight{{Assumption: size.Assumptions()[0], low: 12, high: 31}}
	for i := range 16 {
		begins := time.Date(2001, time.July, 1+7*i, 0, 0, 0, 0, time.UTC)
		a.weeks = append(a.weeks, tune.Week{
			Begins: season.MonthDay{Month: begins.Month(), Day: begins.Day()}, Spared: 0.0004 * float64(i*i), Hours: 20 + i%3, FanKWh: 12, PerKWh: 10 + float64(i), Needs: 1.26,
		})
	}
	return a
}

func TestAdviceIsToldAsItWas(t *testing.T) {
	for name, gain := range map[string][2]float64{"tune": {20, 24}, "tune-noise": {20, -30}} {
		a := found(t, gain[0], gain[1])
		toldAs(t, name+".txt", a.text)
		toldAs(t, name+".json", a.json)
	}
}

// TestAdviceOnARecordingIsToldAsItWas with how well the house is known, and no weeks.
func TestAdviceOnARecordingIsToldAsItWas(t *testing.T) {
	a := found(t, 20, 24)
	first := time.Date(2026, time.January, 5, 0, 0, 0, 0, a.s.Site.Zone)
	a.weeks, a.weighs, a.bench = nil, nil, &onRecording{s: a.s, h: a.h, Winter: &whatif.Winter{
		First: first, Last: first.AddDate(0, 0, 55), Rows: 7921, Fit: fitted(), Blocks: []uint64{0, 1, 3, 4, 5},
		Learned: learn.HouseValues{LossWK: learn.Estimate{Value: 1500, SE: 60, Hours: 900}},
	}}
	toldAs(t, "tune-data.txt", a.text)
	toldAs(t, "tune-data.json", a.json)
}

// TestWhenToTopUpIsSaid also where there is no such time.
func TestWhenToTopUpIsSaid(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(a *advice)
		want   []string
	}{
		{"it pays from a week on", func(*advice) {}, []string{"pays from 23 September on", "6 % spare heat", "puts 22 kWh down", "spares 1.3 kWh; it must spare 1.3 to pay", "from 26 August on, it spares 0.5"}},
		{"in no week", func(a *advice) { a.weeks = a.weeks[:8] }, []string{"pays in no week"}},
		{
			"without a heater", func(a *advice) { a.h.House.Decide.Heater.Present = false },
			[]string{"pays from 5 August on", "spare the crop 1.8 °F h", "less than a tenth"},
		},
		{
			"without a heater or frost", func(a *advice) {
				a.h.House.Decide.Heater.Present = false
				for i := range a.weeks {
					a.weeks[i].Spared = 0
				}
			},
			[]string{"spares the crop no hour"},
		},
	} {
		a := found(t, 20, 24)
		c.change(a)
		for _, want := range c.want {
			if got := a.when(); !strings.Contains(got, want) {
				t.Errorf("%s: %q is not in %q", c.name, want, got)
			}
		}
	}
}

func TestTheTradeOffIsDrawn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.svg")
	if err := found(t, 20, 24).plot(path); err != nil {
		t.Fatal(err)
	}
	if svg, err := os.ReadFile(path); err != nil || !bytes.Contains(svg, []byte(">today</text>")) {
		t.Errorf("%v\n%s", err, svg)
	}
}
