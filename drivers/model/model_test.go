package model_test

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim"
	"loambank/drivers/device"
	"loambank/drivers/model"
)

const pressurePa = 101325

// tunnel is an invented house without film: its air stands still unless a fan or the heater moves
// its warmth. Clock and weather are the test's.
type tunnel struct {
	*model.House
	now   time.Time
	sky   sim.Weather
	asked []time.Time // when the weather was asked for
}

func params() sim.Params {
	return sim.Params{
		FloorM2: 200, Transmission: 0.6, AirJK: 2e6, VolumeM3: 500, PressurePa: pressurePa,
		Stores: []sim.Store{{CapacityJK: 1e8, Effectiveness: 0.6}, {CapacityJK: 1e8, Effectiveness: 0.6}},
	}
}

func pitch(p sim.Params, air unit.Celsius) *tunnel {
	u := &tunnel{now: time.Date(2026, time.January, 20, 12, 0, 0, 0, time.UTC), sky: sim.Weather{Outside: -3}}
	st := sim.State{
		Air: air, Vapour: physics.HumidityRatio(air, 0.4, pressurePa), Soil: []unit.Celsius{12, 15}, IntoJ: make([]float64, 2),
	}
	u.House = model.New(p, st, func(at time.Time) sim.Weather {
		u.asked = append(u.asked, at)
		return u.sky
	}, func() time.Time { return u.now })
	return u
}

// reads is what a probe says.
func (u *tunnel) reads(t *testing.T, q model.Quantity, store int) float64 {
	t.Helper()
	p, err := u.Probe("lower/probe", q, store)
	if err != nil {
		t.Fatal(err)
	}
	v, err := p.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func (u *tunnel) fan(t *testing.T, store int, levels ...float64) *model.Fan {
	t.Helper()
	f, err := u.Fan("lower/beds/east", store, 0.5, levels)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func set(t *testing.T, f *model.Fan, stage uint8) {
	t.Helper()
	if err := f.Set(t.Context(), device.Stage(stage)); err != nil {
		t.Fatal(err)
	}
}

func TestProbesReadTheHouse(t *testing.T) {
	u := pitch(params(), 20)
	for _, c := range []struct {
		name  string
		q     model.Quantity
		store int
		want  float64
		tol   float64
	}{
		{"air", model.Air, 0, 20, 0},
		{"humidity, of which the model takes the share of saturation", model.Humidity, 0, 0.4, 0.4 * 0.016},
		{"outside", model.Outside, 0, -3, 0},
		{"a heater that is not there", model.HeaterOn, 0, 0, 0},
		{"soil of the first store", model.Soil, 0, 12, 0},
		{"soil of the second", model.Soil, 1, 15, 0},
	} {
		if got := u.reads(t, c.q, c.store); math.Abs(got-c.want) > c.tol {
			t.Errorf("%s reads %v, want %v", c.name, got, c.want)
		}
	}
}

func TestTheHeaterIsSeenHeating(t *testing.T) {
	p := params()
	p.Heater = sim.Heater{OutputW: 20e3, Setpoint: 5, Band: 1}
	u := pitch(p, 3)
	u.now = u.now.Add(time.Minute)
	if got := u.reads(t, model.HeaterOn, 0); got != 1 {
		t.Errorf("at 3 °C under its 5 °C it reads %v, want 1", got)
	}
	u.now = u.now.Add(time.Hour)
	if on, air := u.reads(t, model.HeaterOn, 0), u.reads(t, model.Air, 0); on != 0 || air < 5 || air > 6.3 {
		t.Errorf("an hour later it reads %v at %v °C, want it off within its band of 5 to 6 °C", on, air)
	}
	// It lifts 2 MJ/K from 3 to 6 °C, and makes good what evaporates meanwhile.
	if got := u.Look().HeaterJ; got < 6e6 || got > 8e6 {
		t.Errorf("it burnt %v J, want 6 MJ and a little", got)
	}
}

// TestAFanObeys charges the first store: 0.5 m³/s of 20 °C over soil of 12 °C, six tenths of the
// way, leave some 2.9 kW.
func TestAFanObeys(t *testing.T) {
	warmed := func(stage uint8) (first, second float64) {
		u := pitch(params(), 20)
		f := u.fan(t, 0, 0.5, 1)
		set(t, f, stage)
		u.now = u.now.Add(10 * time.Minute)
		return u.reads(t, model.Soil, 0) - 12, u.reads(t, model.Soil, 1) - 15
	}
	off, _ := warmed(0)
	half, _ := warmed(1)
	full, other := warmed(2)
	want := 0.5 * 1.204 * 1006 * 0.6 * 8 * 600 / 1e8
	if off != 0 || other != 0 {
		t.Errorf("with the fan off its soil warms by %v K, and with it on the other's by %v K", off, other)
	}
	if full < 0.85*want || full > want {
		t.Errorf("in ten minutes the soil warms by %v K, want a little under %v: the air cools", full, want)
	}
	if half < 0.5*full || half > 0.6*full {
		t.Errorf("at half speed by %v K, want a little over half of %v: the air cools less", half, full)
	}
}

func TestFansOfAStoreAddUp(t *testing.T) {
	u := pitch(params(), 20)
	a, b := u.fan(t, 0), u.fan(t, 0)
	set(t, a, 1)
	set(t, b, 1)
	set(t, b, 0)
	u.now = u.now.Add(10 * time.Minute)
	one := u.reads(t, model.Soil, 0)
	v := pitch(params(), 20)
	set(t, v.fan(t, 0), 1)
	v.now = v.now.Add(10 * time.Minute)
	if want := v.reads(t, model.Soil, 0); one != want || one <= 12 {
		t.Errorf("one of two fans warms the soil to %v °C, alone it does to %v", one, want)
	}
}

func TestAClosedFanIsOff(t *testing.T) {
	u := pitch(params(), 20)
	f := u.fan(t, 0)
	set(t, f, 1)
	u.now = u.now.Add(time.Minute)
	for range 2 {
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	before := u.reads(t, model.Soil, 0)
	u.now = u.now.Add(time.Hour)
	if after := u.reads(t, model.Soil, 0); after != before || before <= 12 {
		t.Errorf("soil went from %v to %v °C after the fan was closed", before, after)
	}
}

// TestTheFanMovesAirFromNowOn switches a fan on at the end of an hour in which nobody looked.
func TestTheFanMovesAirFromNowOn(t *testing.T) {
	u := pitch(params(), 20)
	f := u.fan(t, 0)
	u.now = u.now.Add(time.Hour)
	set(t, f, 1)
	if soil := u.reads(t, model.Soil, 0); soil != 12 {
		t.Errorf("the hour before counts: soil is %v °C", soil)
	}
}

func TestTheWeatherIsAskedEveryFiveMinutes(t *testing.T) {
	u := pitch(params(), 10)
	u.sky.SunWm2 = 300
	began := u.now
	u.now = u.now.Add(12 * time.Minute)
	seen := u.Look()
	var at []time.Duration
	for _, a := range u.asked {
		at = append(at, a.Sub(began))
	}
	want := []time.Duration{0, 5 * time.Minute, 10 * time.Minute, 12 * time.Minute}
	if len(at) != len(want) {
		t.Fatalf("asked at %v, want %v", at, want)
	}
	for i := range want {
		if at[i] != want[i] {
			t.Errorf("asked at %v, want %v", at, want)
		}
	}
	if seen.Outside != -3 || seen.SunWm2 != 300 || seen.Air <= 10 {
		t.Errorf("it looks like %+v: the sun should warm it", seen)
	}
}

func TestWhatTheModelDoesNotHave(t *testing.T) {
	u := pitch(params(), 10)
	for _, store := range []int{-1, 2} {
		if p, err := u.Probe("lower/soil", model.Soil, store); p != nil || err == nil {
			t.Errorf("soil of store %d: %v, %v", store, p, err)
		}
		if f, err := u.Fan("lower/beds/east", store, 1, nil); f != nil || err == nil {
			t.Errorf("a fan of store %d: %v, %v", store, f, err)
		}
	}
	if _, err := u.Probe("lower/air", model.Air, 7); err != nil {
		t.Errorf("air belongs to no store: %v", err)
	}
	_, err := u.Fan("lower/beds/east", 2, 1, nil)
	if want := "fan lower/beds/east: the model house has no store 3"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	err = u.fan(t, 0, 0.5, 1).Set(t.Context(), 3)
	if want := "fan lower/beds/east has 2 stages, not 3"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	if err := u.fan(t, 0).Set(t.Context(), 2); err == nil {
		t.Error("an on/off fan has a second speed")
	}
}

func TestACallThatIsOverDoesNothing(t *testing.T) {
	u := pitch(params(), 20)
	over, cancel := context.WithCancel(t.Context())
	cancel()
	p, err := u.Probe("lower/air", model.Air, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(over); !errors.Is(err, context.Canceled) {
		t.Errorf("read: %v", err)
	}
	f := u.fan(t, 0)
	if err := f.Set(over, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("set: %v", err)
	}
	u.now = u.now.Add(time.Hour)
	if soil := u.reads(t, model.Soil, 0); soil != 12 {
		t.Errorf("the fan runs all the same: soil is %v °C", soil)
	}
	if p.String() != "lower/air (model)" || f.String() != "lower/beds/east (model)" {
		t.Errorf("they are called %v and %v", p, f)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}
