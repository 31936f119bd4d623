package learn_test

import (
	"os"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/season"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

const (
	burlington = "USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz"
	tacoma     = "USA_WA_Tacoma.Narrows.AP.727938_TMY3.epw.gz"
	richmond   = "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"
	golden     = "USA_CO_Golden-NREL.724666_TMY3.epw.gz"
	satellite  = "tmy_45.000_8.000_2005_2023.epw.gz"
)

// farm is the example farm with duct probes and a heater contact, and text changed.
func farm(t testing.TB, oldnew ...string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile("../../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	const root = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	oldnew = append([]string{
		root, root + `
    { role = "duct-in", driver = "file", path = "a" }, { role = "duct-out", driver = "file", path = "b" },`,
		`{ role = "outside"`, `{ role = "heater-on", driver = "file", path = "e" }, { role = "outside"`,
	}, oldnew...)
	s, err := config.Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// stated is what the settings say, as learn takes it.
func stated(h *config.House) *learn.Settings {
	d := &h.House.Decide
	s := &learn.Settings{
		PressurePa: d.PressurePa, FloorM2: h.LengthM * h.WidthM, HouseLossWK: d.HouseLossWK,
		Heater:  learn.Heater{Present: d.Heater.Present, Setpoint: d.Heater.Setpoint, Band: d.Heater.Band, OutputW: h.HeaterOutputW},
		VentsAt: learn.Temp{C: 26, Known: true},
	}
	for i := range d.Stores {
		store := learn.Store{
			Effectiveness: d.Stores[i].Effectiveness, CapacityJK: h.House.CapacityJK[i],
			PipeM: float64(h.Pipes[i].Count) * h.Pipes[i].LengthM,
		}
		for _, f := range d.Stores[i].Fans {
			store.FlowM3s += f.FlowM3s
			store.PowerW += f.PowerW
			store.Catalogue = store.Catalogue || f.Catalogue
		}
		s.Stores = append(s.Stores, store)
	}
	return s
}

// pupil runs the settings' policy and learns from what the probes show. The zero Months begin when
// the counted year does.
type pupil struct {
	trial.Rule
	h      *config.House
	s      *learn.Settings
	p      learn.Params
	last   trial.Stages
	steps  int
	month  time.Month
	from   learn.Sums
	saved  []learn.Saved
	began  learn.Sums // of the counted year
	each   func(p *pupil, sample *learn.Sample, now time.Time)
	change func(*learn.Sample)
}

func (u *pupil) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	sample := u.sample(raw, now)
	if u.change != nil {
		u.change(&sample)
	}
	u.p = learn.Update(u.s, u.p, sample)
	if u.each != nil {
		u.each(u, &sample, now)
	}
	const year = 365 * 24 * 12
	if u.steps >= year {
		if u.month != 0 && now.Month() != u.month {
			u.saved = append(u.saved, u.p.Saved(u.s, u.from))
			u.from = u.p.Other.Sum
		} else if u.month == 0 {
			u.from, u.began = u.p.Other.Sum, u.p.Other.Sum
		}
		u.month = now.Month()
	}
	u.steps++
	stages, doing := u.Rule.Decide(raw, now)
	u.last = stages
	return stages, doing
}

func (u *pupil) sample(raw []judge.Raw, now time.Time) learn.Sample {
	elevation, _ := season.SunPosition(u.h.House.Decide.Season.Site, now)
	sample := learn.Sample{StepS: trial.StepS, Dark: elevation < -1}
	for i := range u.h.House.Probes {
		q := &u.h.House.Probes[i]
		store := &sample.Stores[max(0, q.Store)]
		temp := learn.Temp{Known: raw[i].OK}
		temp.C += unitC(raw[i].Value)
		switch q.Judge.Role {
		case judge.Air:
			sample.Air = temp
		case judge.Humidity:
			sample.Humidity = learn.Number{V: raw[i].Value, Known: raw[i].OK}
		case judge.Outside:
			sample.Outside = temp
		case judge.HeaterOn:
			sample.Heater = contact(raw[i])
		case judge.DuctIn:
			store.DuctIn = temp
		case judge.DuctOut:
			store.DuctOut = temp
		case judge.Soil:
			switch {
			case q.Judge.Place == judge.Between && q.Store != house.WholeHouse:
				store.Between = temp
			case q.Judge.Place == judge.Root && q.Store != house.WholeHouse:
				store.Root = temp
			}
		}
	}
	for i := range u.h.House.Decide.Stores {
		var flow, full float64
		for j := range u.h.House.Decide.Stores[i].Fans {
			f := &u.h.House.Decide.Stores[i].Fans[j]
			flow += f.FlowAt(u.last[i][j])
			full += f.FlowM3s
		}
		sample.Stores[i].Level = flow / full
	}
	return sample
}

func contact(r judge.Raw) learn.Contact {
	switch {
	case !r.OK:
		return learn.Unknown
	case r.Value > 0:
		return learn.On
	}
	return learn.Off
}

// climate reads a year of weather.
func climate(t testing.TB, name string) *weather.Year {
	t.Helper()
	path := "../../testdata/weather/" + name
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	y, err := weather.Read(path, f)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// live lets the first house of s live through a year of weather under a rule.
func live(t testing.TB, s *config.Settings, y *weather.Year, r trial.Rule) *trial.Result {
	t.Helper()
	ground, err := trial.Ground(y)
	if err != nil {
		t.Fatal(err)
	}
	p, err := trial.NewPlant(&s.Houses[0], ground, trial.SettleDay(&s.Houses[0]))
	if err != nil {
		t.Fatal(err)
	}
	laid, err := trial.Lay(y, s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	return p.Run(laid, r, false, nil)
}

func newPupil(s *config.Settings) *pupil {
	h := &s.Houses[0]
	return &pupil{Rule: trial.NewConfigured(&h.House), h: h, s: stated(h)}
}
