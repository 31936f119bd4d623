package foresight

import (
	"math"
	"os"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/plan/tune"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// days is an invented model of so many days in winter: sun that opens no vent, a heater by night, one
// fan at two speeds, evenings with dear electricity.
func days(n int) *Model {
	m := &Model{
		pressurePa: 101325, lossWK: 2500, full: 0.6, capacityJK: 60e6, fadesPerH: 0.006, rises: 0.4, into: 0.6, out: 0.6,
		lowK: -2, highK: 6, speeds: []speed{{stage: 1, flowM3s: 0.6, powerW: 90}, {stage: 2, flowM3s: 1.2, powerW: 500}},
	}
	for t := range n * 24 {
		noon := math.Cos(float64(t%24-13) / 12 * math.Pi)
		h := hour{
			month: time.January, air: unit.Celsius(12 + 14*noon), soil: 11, vapour: 0.004, open: noon > 0.9,
			fuel: 0.14 / jPerKWh, electricity: 0.17 / jPerKWh, chargeFloor: 6, cap: 28, floor: 2,
		}
		if noon < -0.3 {
			h.air, h.sparesW = 4, 9000*-noon
		}
		if hour := t % 24; hour >= 16 && hour < 21 {
			h.electricity = 0.29 / jPerKWh
		}
		m.hours = append(m.hours, h)
	}
	m.later()
	return m
}

const richmond = "../../../testdata/weather/USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"

// land is the example farm's house in the weather of Richmond, Virginia (TMY3), and two of its years.
type land struct {
	s            *config.Settings
	h            *config.House
	laid         *trial.Year
	plant        func() *trial.Plant
	never, moved *trial.Result
}

// example is the example farm, with text changed.
func example(oldnew ...string) (*config.Settings, error) {
	text, err := os.ReadFile("../../../testdata/config/example.toml")
	if err != nil {
		return nil, err
	}
	return config.Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
}

func settings(t *testing.T) *config.Settings {
	t.Helper()
	s, err := example()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// farm lives through its two years once for all tests.
var farm = sync.OnceValues(func() (*land, error) { return landOf(richmond, 0) })

// landOf is the example farm in a weather file, or in a year that might have been there. With text changed.
func landOf(file string, seed uint64, oldnew ...string) (*land, error) {
	l := &land{}
	var err error
	if l.s, err = example(oldnew...); err != nil {
		return nil, err
	}
	l.h = &l.s.Houses[0]
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	y, err := weather.Read(file, f)
	if err != nil {
		return nil, err
	}
	if l.laid, err = trial.Lay(y, l.s.Site.Zone); err != nil {
		return nil, err
	}
	l.laid = tune.Reshuffled(l.laid, seed)
	ground, err := trial.Ground(y)
	if err != nil {
		return nil, err
	}
	if _, err := trial.NewPlant(l.h, ground, trial.SettleDay(l.h), trial.StepS); err != nil {
		return nil, err
	}
	l.plant = func() *trial.Plant {
		p, _ := trial.NewPlant(l.h, ground, trial.SettleDay(l.h), trial.StepS) // it was made before
		return p
	}
	l.never, l.moved = l.live(trial.Never{}), l.live(NewMover(&l.h.House))
	return l, nil
}

func lived(t *testing.T) *land {
	t.Helper()
	if testing.Short() {
		t.Skip("years of a house")
	}
	l, err := farm()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func (l *land) live(r trial.Rule) *trial.Result { return l.plant().Run(l.laid, r, true, nil) }

// earned is what a year earned over never running, currency.
func (l *land) earned(r *trial.Result) float64 {
	t, never := r.Total(), l.never.Total()
	return never.Fuel - t.Fuel - t.Electricity
}
