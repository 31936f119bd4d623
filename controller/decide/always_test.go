package decide_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// odd is what no device should say.
func odd(r *rand.Rand) float64 {
	all := []float64{
		math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), math.MaxFloat64,
		-math.MaxFloat64, math.SmallestNonzeroFloat64, -273.16, 85, -127, 1e18, -1e18,
	}
	if k := r.IntN(2 * len(all)); k < len(all) {
		return all[k]
	}
	return r.NormFloat64() * 20
}

// scramble fills every field below v with anything its type can hold; enums stay in their lists.
func scramble(r *rand.Rand, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			scramble(r, v.Field(i))
		}
	case reflect.Array:
		for i := range v.Len() {
			scramble(r, v.Index(i))
		}
	case reflect.Float64:
		v.SetFloat(odd(r))
	case reflect.Bool:
		v.SetBool(r.IntN(2) == 0)
	case reflect.Uint8:
		v.SetUint(uint64(r.IntN(3)))
	}
}

func TestNothingMakesStepPanic(t *testing.T) {
	s := busy(t)
	begins := noon(t)
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 2))
		var st decide.State
		now := begins
		for range 60 {
			var in decide.Inputs
			scramble(r, reflect.ValueOf(&in).Elem())
			if r.IntN(10) == 0 {
				in.Smoke = decide.On
			}
			switch r.IntN(8) {
			case 0:
				now = time.Unix(r.Int64N(1<<36)-1<<35, 0)
			case 1:
				now = now.AddDate(r.IntN(5)-2, 0, 0)
			default:
				now = now.Add(10 * time.Second)
			}
			var d decide.Decision
			d, st = decide.Step(s, st, in, now)
			for i := range s.Stores {
				if sd := &d.Stores[i]; int(sd.State) >= decide.Activities || int(sd.Reason.Code) >= decide.Codes {
					rt.Fatalf("store %d: %+v", i, sd)
				}
			}
			if _, err := json.Marshal(st); err != nil {
				rt.Fatalf("the state cannot be written: %v", err)
			}
		}
	})
}

func TestNothingKnownIsRest(t *testing.T) {
	d, st := decide.Step(farm(t), decide.State{}, decide.Inputs{}, time.Time{})
	for i := range 2 {
		if got := &d.Stores[i]; got.State != decide.Rest || got.Running() {
			t.Errorf("store %d: %+v", i, got)
		}
	}
	if d.Alarms.Any() || st.Stores[0].Doing != decide.Rest {
		t.Errorf("alarms %+v, state %+v", d.Alarms, st.Stores[0])
	}
}

// The same settings written in °F and in °C, all on multiples of 9 °F, which are whole in both.
func TestFahrenheitAndCelsiusDecideAlike(t *testing.T) {
	read := func(text string) unit.Celsius {
		c, err := unit.ParseTemperature(text)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	diff := func(text string) unit.Kelvin {
		k, err := unit.ParseDifference(text)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	us := farm(t, func(s *decide.Settings) {
		p := &s.Policies[0]
		p.Setpoint, p.SetpointBand, p.Frost, p.FrostBand = read("50 °F"), diff("9 °F"), read("32 °F"), diff("9 °F")
		p.FrostGain, p.ChargeFloor, p.DryGain, p.DryFloor = diff("9 °F"), read("59 °F"), diff("9 °F"), read("59 °F")
		for i := range p.Stores {
			p.Stores[i] = decide.StorePolicy{
				Margin: diff("18 °F"), MarginBand: diff("9 °F"), Gain: diff("18 °F"),
				GainBand: diff("9 °F"), SoilCap: read("86 °F"), SoilFloor: read("41 °F"),
			}
		}
		s.Heater.Setpoint, s.Heater.Band = read("41 °F"), diff("9 °F")
	})
	si := farm(t, func(s *decide.Settings) {
		p := &s.Policies[0]
		p.Setpoint, p.SetpointBand, p.Frost, p.FrostBand = read("10 °C"), diff("5 °C"), read("0 °C"), diff("5 °C")
		p.FrostGain, p.ChargeFloor, p.DryGain, p.DryFloor = diff("5 °C"), read("15 °C"), diff("5 °C"), read("15 °C")
		for i := range p.Stores {
			p.Stores[i] = decide.StorePolicy{
				Margin: diff("10 °C"), MarginBand: diff("5 °C"), Gain: diff("10 °C"),
				GainBand: diff("5 °C"), SoilCap: read("30 °C"), SoilFloor: read("5 °C"),
			}
		}
		s.Heater.Setpoint, s.Heater.Band = read("5 °C"), diff("5 °C")
	})
	begins := night(t)
	rapid.Check(t, func(rt *rapid.T) {
		w := newWeather(rapid.Uint64().Draw(rt, "seed"))
		var a, b decide.State
		now := begins
		for range 100 {
			in := *w.next()
			in.CropAir.C = unit.Celsius(math.Round(float64(in.CropAir.C)/5) * 5) // onto the limits
			in.IntakeAir.C = in.CropAir.C
			now = now.Add(10 * time.Second)
			var da, db decide.Decision
			da, a = decide.Step(us, a, in, now)
			db, b = decide.Step(si, b, in, now)
			if da != db || a != b {
				rt.Fatalf("in °F %+v\nin °C %+v", da.Stores, db.Stores)
			}
		}
	})
}

func TestStepDoesNotAllocate(t *testing.T) {
	s := busy(t)
	for _, c := range []struct {
		name      string
		air, soil unit.Celsius
		at        time.Time
	}{
		{"rest", 14, 12, noon(t)}, {"charge", 25, 12, noon(t)}, {"discharge", 3.6, 12, night(t)}, {"frost", 1, 12, night(t)},
	} {
		in := seen(c.air, c.soil)
		in.Humidity = decide.Fraction{V: 0.8, Quality: 2}
		st := ready()
		_, st = decide.Step(s, st, in, c.at)
		if n := testing.AllocsPerRun(100, func() { _, st = decide.Step(s, st, in, c.at) }); n != 0 {
			t.Errorf("%s: %v allocations a tick", c.name, n)
		}
	}
}
