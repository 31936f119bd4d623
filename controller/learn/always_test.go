package learn_test

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/learn"
	"loambank/controller/physics"
)

func anyNumber() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Float64Range(-30, 60), rapid.Float64(),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 1e308, -127, 85}),
	)
}

func anyTemp(t *rapid.T) learn.Temp {
	return learn.Temp{C: unit.Celsius(anyNumber().Draw(t, "c")), Known: rapid.Bool().Draw(t, "known")}
}

func anySample(t *rapid.T) learn.Sample {
	s := learn.Sample{
		StepS: rapid.OneOf(rapid.Float64Range(1, 1800), anyNumber()).Draw(t, "step"), Air: anyTemp(t), Outside: anyTemp(t),
		Humidity: learn.Number{V: anyNumber().Draw(t, "humidity"), Known: rapid.Bool().Draw(t, "known")},
		Dark:     rapid.Bool().Draw(t, "dark"),
		Heater:   learn.Contact(rapid.Uint8Range(0, 2).Draw(t, "heater")), Vent: learn.Contact(rapid.Uint8Range(0, 2).Draw(t, "vent")),
	}
	for i := range 2 {
		s.Stores[i] = learn.StoreSample{
			Level:   rapid.OneOf(rapid.Float64Range(0, 1), anyNumber()).Draw(t, "level"),
			FanW:    learn.Number{V: anyNumber().Draw(t, "fan"), Known: rapid.Bool().Draw(t, "known")},
			Between: anyTemp(t), Root: anyTemp(t), Undisturbed: anyTemp(t), DuctIn: anyTemp(t), DuctOut: anyTemp(t),
			Water: learn.Contact(rapid.Uint8Range(0, 2).Draw(t, "water")),
		}
	}
	return s
}

// TestNoSampleHowsoeverAbsurdBreaksWhatIsKnown: JSON refuses whatever is not a number, errors are over
// 0, what is a share is one.
func TestNoSampleHowsoeverAbsurdBreaksWhatIsKnown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := settings()
		s.Stores = append(s.Stores, learn.Store{FlowM3s: 0.3, PowerW: 90, Catalogue: true})
		if rapid.Bool().Draw(t, "heated") {
			s.Heater = learn.Heater{Present: true, Setpoint: 4, Band: 1, OutputW: rapid.SampledFrom([]float64{0, 2e4}).Draw(t, "output")}
		} else {
			s.CropLimit = known(2)
		}
		var p learn.Params
		for range rapid.IntRange(1, 60).Draw(t, "samples") {
			sample := anySample(t)
			for range rapid.IntRange(1, 40).Draw(t, "times") {
				p = learn.Update(s, p, sample)
			}
		}
		sound(t, s, &p)
	})
}

func sound(t *rapid.T, s *learn.Settings, p *learn.Params) {
	now := learn.Now{Setpoint: 5, NightS: 4e4, Low: p.ExpectedLow(learn.Temp{}, known(-8))}
	for i := range 2 {
		now.Stores[i] = learn.StoreNow{Soil: known(14), Useful: 8}
		for _, sustained := range []bool{true, false} {
			h := p.Heat(s, i, 1, physics.Air{C: 25, W: 0.012}, 14, sustained)
			if !finite(h.TotalW()) {
				t.Fatalf("store %d exchanges %+v", i, h)
			}
		}
		v := p.Values(s, i)
		for _, e := range []learn.Estimate{v.FlowM3s, v.NTU, v.Effectiveness, v.CapacityJK, v.LossWK} {
			if !(e.Value > 0) || !(e.SE > 0) || !finite(e.Value, e.SE, e.Hours) {
				t.Fatalf("store %d: %+v", i, v)
			}
		}
		if v.Effectiveness.Value > 1 || v.NearKW.Value < 0 {
			t.Fatalf("store %d: %+v", i, v)
		}
	}
	for _, v := range []any{p, p.Tonight(s, &now), p.Saved(s, learn.Sums{}), p.Balance(0), p.Notices(s)} {
		if _, err := json.Marshal(v); err != nil {
			t.Fatal(err)
		}
	}
}

func finite(all ...float64) bool {
	for _, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// TestNothingSeenIsWhatIsStated, before and after an empty sample.
func TestNothingSeenIsWhatIsStated(t *testing.T) {
	s := settings()
	for _, p := range []learn.Params{{}, learn.Update(s, learn.Params{}, learn.Sample{})} {
		v, h := p.Values(s, 0), p.HouseValues(s)
		for _, c := range []struct {
			name      string
			got       learn.Estimate
			want, far float64
		}{
			{"flow", v.FlowM3s, 1.05, 0.1},
			{"effectiveness", v.Effectiveness, 0.55, 0.5},
			{"capacity", v.CapacityJK, 9e7, 0.5},
			{"house loss", h.LossWK, 1800, 0.5},
			{"air", h.CapacityJK, 5e6, 0.6},
		} {
			if math.Abs(c.got.Value-c.want) > 1e-9*c.want || c.got.SE <= 0 || c.got.SE > c.far*c.want || c.got.Hours != 0 {
				t.Errorf("%s: %+v, want %g", c.name, c.got, c.want)
			}
		}
		// 0.55 of the way from 25 to 15 °C.
		if out := p.Heat(s, 0, 1, physics.Air{C: 25}, 15, false).Out.C; math.Abs(float64(out)-19.5) > 1e-9 {
			t.Errorf("air leaves at %v", out)
		}
		// A slower stream goes further: NTU · 0.5^−0.2, Incropera and DeWitt, eq. 8.60.
		want := 25 - 10*(1-math.Pow(1-0.55, math.Pow(0.5, -0.2)))
		if out := p.Heat(s, 0, 0.5, physics.Air{C: 25}, 15, false).Out.C; math.Abs(float64(out)-want) > 1e-9 {
			t.Errorf("at half speed air leaves at %v, want %.3f", out, want)
		}
		if h := p.Heat(s, 0, 0, physics.Air{C: 25}, 15, false); h.TotalW() != 0 || h.Out.C != 25 {
			t.Errorf("at rest %+v", h)
		}
	}
}

func BenchmarkUpdate(b *testing.B) {
	g, s := newRig(usual(), 1), settings()
	sample := g.step()
	p := g.learnFor(s, learn.Params{}, 3, nil)
	for b.Loop() {
		p = learn.Update(s, p, sample)
	}
}
