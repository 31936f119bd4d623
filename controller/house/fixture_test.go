package house_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// probes of the farm, in the order of its settings.
var probes = []struct {
	name   string
	role   judge.Role
	place  judge.Place
	depthM float64
	store  int
	fan    int
}{
	{"crop a", judge.Air, judge.Crop, 0, house.WholeHouse, house.AllFans},
	{"crop b", judge.Air, judge.Crop, 0, house.WholeHouse, house.AllFans},
	{"crop c", judge.Air, judge.Crop, 0, house.WholeHouse, house.AllFans},
	{"intake", judge.Air, judge.Intake, 0, house.WholeHouse, house.AllFans},
	{"humidity", judge.Humidity, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"outside", judge.Outside, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"beds between", judge.Soil, judge.Between, 0.45, 0, house.AllFans},
	{"beds root a", judge.Soil, judge.Root, 0.12, 0, house.AllFans},
	{"path between", judge.Soil, judge.Between, 0.45, 1, house.AllFans},
	{"beds root b", judge.Soil, judge.Root, 0.12, 0, house.AllFans},
	{"undisturbed", judge.Soil, judge.Undisturbed, 0.45, 0, house.AllFans},
	{"smoke a", judge.Smoke, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"smoke b", judge.Smoke, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"vent", judge.VentOpen, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"heater", judge.HeaterOn, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"generator", judge.OnGenerator, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"switch", judge.HandSwitch, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"beds switch", judge.HandSwitch, judge.NoPlace, 0, 0, house.AllFans},
	{"water", judge.PipeWater, judge.NoPlace, 0, house.WholeHouse, house.AllFans},
	{"path water", judge.PipeWater, judge.NoPlace, 0, 1, house.AllFans},
	{"beds east moves", judge.AirflowProof, judge.NoPlace, 0, 0, 0},
	{"beds west moves", judge.AirflowProof, judge.NoPlace, 0, 0, 1},
	{"path moves", judge.AirflowProof, judge.NoPlace, 0, 1, house.AllFans},
}

// bedsJK warms the beds by a kelvin: 60 m³ of moist soil, 2.5 MJ/(m³ K).
const bedsJK = 1.5e8

// farm is an invented house at 43° N with two stores and every probe that Step asks for.
func farm(t testing.TB, change ...func(*house.Settings)) *house.Settings {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	site := season.Site{LatitudeDeg: 43.1, LongitudeDeg: -75.2, Zone: zone}
	cold := season.DatesBetween(season.MonthDay{Month: time.October, Day: 5}, season.MonthDay{Month: time.May, Day: 12})
	prices := tariff.Settings{
		Site: site, Currency: "USD", ElectricityPerKWh: 0.17, HasElectricity: true,
		FuelHeatPerKWh: 0.135, HasFuel: true, HasStored: true,
	}
	for m := range prices.Shares {
		prices.Shares[m], prices.StoredPerKWh[m] = 1, 0.04
	}
	fan := func(name string) decide.Fan {
		return decide.Fan{Name: name, PowerW: 600, FlowM3s: 0.6, Levels: []float64{1}, ProofS: 30}
	}
	store := func(name string, fans ...decide.Fan) decide.Store {
		return decide.Store{Name: name, MinRunS: 600, MinRestS: 300, StartsPerHour: 4, Effectiveness: 0.6, Fans: fans}
	}
	sp := decide.StorePolicy{Margin: 4, MarginBand: 1.5, Gain: 3, GainBand: 1, SoilCap: 28, SoilFloor: 7}
	s := &house.Settings{
		Name:       "lower",
		CapacityJK: [decide.MaxStores]float64{bedsJK},
		Decide: decide.Settings{
			Season: season.Settings{Site: site}, Tariff: prices, Cold: cold,
			Policies: []decide.Policy{{
				Allow:    decide.Allow{Charge: true, Discharge: true, Dry: true},
				Setpoint: 6, SetpointBand: 1, Crop: true, Frost: 1.5, FrostBand: 1, FrostGain: 1, ChargeFloor: 7,
				HumidityLimit: 0.92, HumidityBand: 0.04, DryGain: 1, DryFloor: 8, DryPerDayS: 7200,
				Stores: []decide.StorePolicy{sp, sp},
			}},
			Stores:   []decide.Store{store("beds", fan("east"), fan("west")), store("path", fan("middle"))},
			Heater:   decide.Heater{Present: true, Setpoint: 3, Band: 1, RestS: 1800, Reported: true},
			Fallback: decide.DutyNight, GraceS: 600, PressurePa: 99600, HouseLossWK: 900,
			StaggerS: 10, WorthBand: 1.2, MinRatio: 3,
		},
	}
	for _, p := range probes {
		j := judge.Defaults(p.role, p.place, p.depthM)
		s.Probes = append(s.Probes, house.Probe{Name: p.name, Store: p.store, Fan: p.fan, Judge: j, AgreeK: 2 * j.ErrorK})
	}
	for _, c := range change {
		c(s)
	}
	return s
}

// readings is what the probes say by name; a probe that is not in it does not answer.
type readings map[string]float64

// calm is a cool day at rest, every probe answering.
func calm() readings {
	return readings{
		"crop a": 11, "crop b": 11.2, "crop c": 11.4, "intake": 12, "humidity": 0.7, "outside": 4,
		"beds between": 13, "beds root a": 12, "beds root b": 11, "path between": 14, "undisturbed": 8,
		"smoke a": 0, "smoke b": 0, "vent": 0, "heater": 0, "generator": 0, "switch": 0, "beds switch": 0,
		"water": 0, "path water": 0, "beds east moves": 0, "beds west moves": 0, "path moves": 0,
	}
}

// but changes a reading; without takes some away.
func (r readings) but(name string, v float64) readings { r[name] = v; return r }

func (r readings) without(names ...string) readings {
	for _, n := range names {
		delete(r, n)
	}
	return r
}

// raw puts readings in the order of the settings' probes.
func (r readings) raw(s *house.Settings) []judge.Raw {
	all := make([]judge.Raw, len(s.Probes))
	for i := range s.Probes {
		v, ok := r[s.Probes[i].Name]
		all[i] = judge.Raw{Value: v, OK: ok}
	}
	return all
}

// noon is in January, when a stored kWh is worth most.
func noon(t testing.TB) time.Time {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return time.Date(2026, time.January, 20, 12, 0, 0, 0, zone)
}

// verdict of a probe by its name.
func verdict(t *testing.T, s *house.Settings, r house.Result, name string) judge.Verdict {
	t.Helper()
	for i := range s.Probes {
		if s.Probes[i].Name == name {
			return r.Verdicts[i]
		}
	}
	t.Fatalf("no probe %q", name)
	return judge.Verdict{}
}
