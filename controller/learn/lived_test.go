package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
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
	"loambank/controller/lesson"
	"loambank/controller/season"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// richmond is one of the climates.
const richmond = "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"

// climates are all the weather there is.
var climates = [...]string{
	"USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz", "USA_WA_Tacoma.Narrows.AP.727938_TMY3.epw.gz", richmond,
	"USA_CO_Golden-NREL.724666_TMY3.epw.gz", "tmy_45.000_8.000_2005_2023.epw.gz", "723170TYA.CSV.gz",
}

// farm is the example farm where the weather was measured, with duct probes and a heater contact, and
// text changed.
func farm(t testing.TB, y *weather.Year, oldnew ...string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile("../../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	const root = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	const site, zone = `latitude = 43.1, longitude = -75.2, elevation = "480 ft"`, `"America/New_York"`
	oldnew = append([]string{
		site, fmt.Sprintf(`latitude = %g, longitude = %g, elevation = "%g m"`, y.LatitudeDeg, y.LongitudeDeg, y.ElevationM),
		zone, fmt.Sprintf(`"Etc/GMT%+.0f"`, -y.ZoneH),
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

// class lives under the settings' policy, and each of its pupils learns from what the probes show.
type class struct {
	trial.Rule
	h      *config.House
	pupils []*pupil
	last   trial.Stages
	steps  int
}

func newClass(s *config.Settings, pupils ...*pupil) *class {
	h := &s.Houses[0]
	return &class{Rule: trial.NewConfigured(&h.House), h: h, pupils: pupils}
}

func (c *class) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	const year = 365 * 24 * 12
	sample := c.sample(raw, now)
	for _, u := range c.pupils {
		u.see(sample, now, c.steps-year)
	}
	c.steps++
	stages, doing := c.Rule.Decide(raw, now)
	c.last = stages
	return stages, doing
}

// pupil learns from what somebody stated of a house and from probes that err.
type pupil struct {
	s          *learn.Settings
	p          learn.Params
	ductK, wet float64 // duct-out is off by it, and the hygrometer, a share
	month      time.Month
	from       learn.Sums
	saved      []learn.Saved // of each month of the counted year
	began      learn.Sums    // of that year
	alarms     []string      // at noon, in both years
	steady     steady
	held       share // how often the outside was what the house was told to hold down to
}

// steady is how long a house has stood in the dark with its fans at full speed and no heater.
type steady struct {
	steps int
	airC  float64 // an hour ago
}

// hold asks once an hour in which nothing changes down to which outside the house would be as warm as
// it is, and compares with the outside that there is.
func (u *pupil) hold(x *learn.Sample) {
	const hour = 12 // steps
	if !x.Dark || x.Heater == learn.On || x.Stores[0].Level < 1 {
		u.steady = steady{}
		return
	}
	if u.steady.steps++; u.steady.steps%hour != 0 {
		return
	}
	airC := float64(x.Air.C)
	still := math.Abs(airC-u.steady.airC) < 0.25
	u.steady.airC = airC
	if u.steady.steps <= 2*hour || !still {
		return
	}
	alone := *u.s
	alone.Heater = learn.Heater{}
	now := learn.Now{Setpoint: x.Air.C}
	now.Stores[0] = learn.StoreNow{Soil: x.Stores[0].Between, Root: x.Stores[0].Root, Useful: x.Air.C}
	told := u.p.Tonight(&alone, &now)
	const useful = 5 // K; a wider error says nothing
	u.held.add(told.HoldSE < useful && math.Abs(float64(told.HoldOutside.Sub(x.Outside.C))) <= 2*float64(told.HoldSE))
}

// newPupil states the truth to seed 0. To others flow, soil, house and pipes are stated as far off as
// growers measure and guess them, and their probes err as such probes do; common practice, no source.
func newPupil(h *config.House, seed uint64) *pupil {
	stated := lesson.Settings(h)
	u := &pupil{s: &stated}
	if seed == 0 {
		return u
	}
	r := rand.New(rand.NewPCG(seed, 3))
	by := func(v *float64, share float64) { *v *= math.Exp(share * r.NormFloat64()) }
	store := &u.s.Stores[0]
	by(&store.FlowM3s, 0.06)
	by(&store.CapacityJK, 0.25)
	by(&store.Effectiveness, 0.15)
	by(&store.FilmNTU, 0.3)
	by(&u.s.HouseLossWK, 0.2)
	u.ductK, u.wet = 0.1*r.NormFloat64(), 0.02*r.NormFloat64()
	return u
}

// see learns from one sample. counted is how many steps of the counted year went before.
func (u *pupil) see(sample learn.Sample, now time.Time, counted int) {
	sample.Stores[0].DuctOut.C += unitC(u.ductK)
	sample.Humidity.V = min(1, sample.Humidity.V*(1+u.wet))
	u.p = learn.Update(u.s, u.p, sample)
	if now.Hour() == 12 && now.Minute() == 0 {
		if b, n := u.p.Balance(0), u.p.Notices(u.s); b.Cause != learn.Agree || len(n) > 0 {
			u.alarms = append(u.alarms, fmt.Sprintf("%v: %+v, %+v", now, b, n))
		}
	}
	if counted < 0 {
		return
	}
	u.hold(&sample)
	if u.month == 0 {
		u.from, u.began = u.p.Other.Sum, u.p.Other.Sum
		u.p.Stores[0].Account = learn.Accounts{} // counts from here, as for a new fan
	} else if now.Month() != u.month {
		u.tell()
	}
	u.month = now.Month()
}

// tell ends a month.
func (u *pupil) tell() {
	u.saved = append(u.saved, u.p.Saved(u.s, u.from))
	u.from = u.p.Other.Sum
}

func (c *class) sample(raw []judge.Raw, now time.Time) learn.Sample {
	elevation, _ := season.SunPosition(c.h.House.Decide.Season.Site, now)
	sample := learn.Sample{StepS: trial.StepS, Dark: elevation < -1}
	for i := range c.h.House.Probes {
		q := &c.h.House.Probes[i]
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
	for i := range c.h.House.Decide.Stores {
		var flow, full float64
		for j := range c.h.House.Decide.Stores[i].Fans {
			f := &c.h.House.Decide.Stores[i].Fans[j]
			flow += f.FlowAt(c.last[i][j])
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
	p, laid := plant(t, s, y)
	return p.Run(laid, r, false, nil)
}

// plant is the first house of s and the year that it is to live through.
func plant(t testing.TB, s *config.Settings, y *weather.Year) (*trial.Plant, *trial.Year) {
	t.Helper()
	ground, err := trial.Ground(y)
	if err != nil {
		t.Fatal(err)
	}
	p, err := trial.NewPlant(&s.Houses[0], ground, trial.SettleDay(&s.Houses[0]), trial.StepS)
	if err != nil {
		t.Fatal(err)
	}
	laid, err := trial.Lay(y, s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	return p, laid
}
