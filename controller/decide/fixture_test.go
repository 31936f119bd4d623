package decide_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// farm is an invented house at 43° N: lettuce, a propane heater, two stores of one fan each.
func farm(t testing.TB, change ...func(*decide.Settings)) decide.Settings {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	site := season.Site{LatitudeDeg: 43.1, LongitudeDeg: -75.2, Zone: zone}
	frost := season.MonthDay{Month: time.October, Day: 5}
	last := season.MonthDay{Month: time.May, Day: 12}
	prices := tariff.Settings{
		Site: site, Currency: "USD", ElectricityPerKWh: 0.17, HasElectricity: true,
		FuelHeatPerKWh: 0.135, HasFuel: true, HasStored: true,
	}
	for m := range prices.Shares {
		prices.Shares[m] = 1
		prices.StoredPerKWh[m] = 0.04
	}
	store := decide.Store{
		Name: "beds", MinRunS: 600, MinRestS: 300, StartsPerHour: 4, Effectiveness: 0.6,
		Fans: []decide.Fan{{Name: "east", PowerW: 600, FlowM3s: 0.6, Levels: []float64{1}}},
	}
	other := store
	other.Name = "path"
	other.Fans = []decide.Fan{{Name: "west", PowerW: 600, FlowM3s: 0.5, Levels: []float64{1}}}
	sp := decide.StorePolicy{Margin: 4, MarginBand: 1.5, Gain: 3, GainBand: 1, SoilCap: 28, SoilFloor: 7}
	s := decide.Settings{
		Season: season.Settings{Site: site}, Tariff: prices, Cold: season.DatesBetween(frost, last),
		Policies: []decide.Policy{{
			Allow:    decide.Allow{Charge: true, Discharge: true, Dry: true},
			Setpoint: 6, SetpointBand: 1, Crop: true, Frost: 1.5, FrostBand: 1, FrostGain: 1,
			ChargeFloor: 7, HumidityLimit: 0.92, HumidityBand: 0.04, DryGain: 1, DryFloor: 8, DryPerDayS: 7200,
			Stores: []decide.StorePolicy{sp, sp},
		}},
		Stores:   []decide.Store{store, other},
		Heater:   decide.Heater{Present: true, Setpoint: 3, Band: 1, RestS: 1800, Reported: true},
		Fallback: decide.DutyNight, GraceS: 600, PressurePa: 99600, HouseLossWK: 900,
		StaggerS: 10, WorthBand: 1.2, MinRatio: 3,
	}
	for _, c := range change {
		c(&s)
	}
	return s
}

// one leaves the farm only its first store.
func one(s *decide.Settings) { s.Stores = s.Stores[:1] }

// unheated takes the heater away, and with it the prices that only a heater gives a meaning.
func unheated(s *decide.Settings) {
	s.Heater = decide.Heater{}
	s.Tariff.HasFuel, s.Tariff.HasStored = false, false
	s.Policies[0].ChargeFloor = 9
}

// seen is a tick at which every store's soil is at soil and the house's air at air.
func seen(air, soil unit.Celsius) decide.Inputs {
	in := decide.Inputs{StepS: 10, Believed: true}
	in.CropAir = good(air)
	in.CropLow, in.IntakeAir = in.CropAir, in.CropAir
	for i := range in.Stores {
		in.Stores[i].Soil = judge.Carried{C: soil, Quality: judge.Good, Known: true}
	}
	return in
}

func good(c unit.Celsius) decide.Temperature { return decide.Temperature{C: c, Quality: judge.Good} }

// noon and night are in January, when a stored kWh is worth most.
func noon(t testing.TB) time.Time  { return local(t, "2026-01-20T12:00:00") }
func night(t testing.TB) time.Time { return local(t, "2026-01-20T23:00:00") }

func local(t testing.TB, text string) time.Time {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	at, err := time.ParseInLocation("2006-01-02T15:04:05", text, zone)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// story steps one house through time.
type story struct {
	t   testing.TB
	s   decide.Settings
	st  decide.State
	now time.Time
	d   decide.Decision
}

func begin(t testing.TB, s decide.Settings, now time.Time) *story {
	y := &story{t: t, s: s, now: now}
	rested(&y.st)
	return y
}

// rested is a state in which minimum rest is long over.
func rested(st *decide.State) {
	for i := range st.Stores {
		st.Stores[i].RestS = 1e5
	}
}

// pass ticks every 10 s for d with the same readings.
func (y *story) pass(d time.Duration, in decide.Inputs) *decide.StoreDecision {
	for range max(1, int(d/(10*time.Second))) {
		in.StepS = 10
		y.now = y.now.Add(10 * time.Second)
		y.d, y.st = decide.Step(y.s, y.st, in, y.now)
	}
	return &y.d.Stores[0]
}

// want fails unless the first store is in that state for that reason.
func (y *story) want(what string, state decide.Activity, code decide.Code) {
	y.t.Helper()
	d := &y.d.Stores[0]
	if d.State != state || d.Reason.Code != code {
		y.t.Errorf("%s: %v for %v (%+v), want %v for %v", what, d.State, d.Reason.Code, d.Reason, state, code)
	}
	running := state != decide.Rest && state != decide.Hold && state != decide.Hand && state != decide.Fallback
	if running != d.Running() && state != decide.Fallback && state != decide.Hand {
		y.t.Errorf("%s: running is %v in state %v", what, d.Running(), state)
	}
}

// spans are windows, each written as dates and hours; an empty text is always.
func spans(t testing.TB, text ...string) []season.Span {
	t.Helper()
	var all []season.Span
	for i := 0; i < len(text); i += 2 {
		var span season.Span
		var err error
		if text[i] != "" {
			if span.Dates, err = season.ParseDates(text[i]); err != nil {
				t.Fatal(err)
			}
		}
		if text[i+1] != "" {
			if span.Hours, err = season.ParseHours(text[i+1]); err != nil {
				t.Fatal(err)
			}
		}
		all = append(all, span)
	}
	return all
}
