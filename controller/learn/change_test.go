package learn_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/learn"
	"loambank/controller/physics"
)

// TestAChangedFanIsLearnedAnew: what depends on the fans begins again, the soil stays known.
func TestAChangedFanIsLearnedAnew(t *testing.T) {
	hits := within{name: "new flow"}
	for seed := range uint64(20) {
		g, s := varied(seed), settings()
		p := g.learnFor(s, learn.Params{}, 45, nil)
		before := p.Values(s, 0)
		g.flowM3s /= 2
		changed := settings()
		changed.Stores[0].Fans, changed.Stores[0].FlowM3s = 7, s.Stores[0].FlowM3s/2
		p = learn.Update(changed, p, g.step())
		after := p.Values(changed, 0)
		if after.NTU.Hours > 1 || after.FlowM3s.Value != changed.Stores[0].FlowM3s {
			t.Fatalf("the new fan begins with %+v, %+v", after.NTU, after.FlowM3s)
		}
		if after.CapacityJK.Value != before.CapacityJK.Value || after.CapacityJK.Hours != before.CapacityJK.Hours {
			t.Fatalf("the soil was %+v and is %+v", before.CapacityJK, after.CapacityJK)
		}
		p = g.learnFor(changed, p, 30, nil)
		hits.add(p.Values(changed, 0).FlowM3s, g.flowM3s)
	}
	if hits.hit < 18 {
		t.Errorf("the new flow lies within 2 σ in %d of %d, worst %.1f σ", hits.hit, hits.of, hits.worst)
	}
}

func TestAnythingThatNamesAnotherFanCounts(t *testing.T) {
	for name, change := range map[string]func(*learn.Store){
		"its hash":    func(s *learn.Store) { s.Fans++ },
		"its flow":    func(s *learn.Store) { s.FlowM3s++ },
		"its power":   func(s *learn.Store) { s.PowerW++ },
		"its trust":   func(s *learn.Store) { s.Catalogue = true },
		"not the cap": nil,
	} {
		g, s := newRig(usual(), 3), settings()
		p := g.learnFor(s, learn.Params{}, 5, nil)
		if p.Stores[0].RanS == 0 {
			t.Fatal("the fan did not run")
		}
		if change != nil {
			change(&s.Stores[0])
		} else {
			s.Stores[0].CapacityJK *= 2
		}
		p = learn.Update(s, p, learn.Sample{StepS: stepS})
		if anew := p.Stores[0].RanS == 0; anew != (change != nil) {
			t.Errorf("%s changed: learned anew is %v", name, anew)
		}
	}
}

// TestACatalogueFlowIsNotLearnedWithoutRunning: half of it is believed, and no claim rests on it.
func TestACatalogueFlowIsNotLearnedWithoutRunning(t *testing.T) {
	s := settings()
	s.Stores[0].Catalogue = true
	var p learn.Params
	if v := p.Values(s, 0); v.FlowLearned || math.Abs(v.FlowM3s.Value-s.Stores[0].FlowM3s/2) > 1e-12 {
		t.Errorf("%+v", v.FlowM3s)
	}
	g := newRig(usual(), 4)
	g.never = true
	p = g.learnFor(s, p, 30, nil)
	if p.Values(s, 0).FlowLearned {
		t.Error("it never ran and is learned")
	}
	s.Stores[0].Catalogue = false
	if !p.Values(s, 0).FlowLearned {
		t.Error("a measured flow counts as learned")
	}
}

// TestAMeterTellsOfSlowFans: a measured flow at the stated power, and a meter that shows an eighth of
// it: half the flow, by the fan laws (AMCA 201).
func TestAMeterTellsOfSlowFans(t *testing.T) {
	u := usual()
	u.meter, u.speed = true, 0.5
	g, s := newRig(u, 5), settings()
	without := newRig(u, 5)
	without.meter = false
	p := g.learnFor(s, learn.Params{}, 60, nil)
	q := without.learnFor(s, learn.Params{}, 60, nil)
	flow, blind := p.Values(s, 0).FlowM3s.Value, q.Values(s, 0).FlowM3s.Value
	if math.Abs(flow-0.5) >= math.Abs(blind-0.5) || flow >= 0.95 {
		t.Errorf("0.5 m³/s is taken for %.2f with a meter and %.2f without", flow, blind)
	}
}

// TestWhatIsRememberedSurvivesJSON in the middle of a month.
func TestWhatIsRememberedSurvivesJSON(t *testing.T) {
	g, s := newRig(usual(), 6), settings()
	p := g.learnFor(s, learn.Params{}, 12.3, nil)
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var back learn.Params
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	for range 2000 {
		sample := g.step()
		p, back = learn.Update(s, p, sample), learn.Update(s, back, sample)
	}
	if diff := cmp.Diff(p, back); diff != "" {
		t.Errorf("after JSON (-straight +back):\n%s", diff)
	}
}

// TestMissingProbesTeachNothing takes away one probe after the other.
func TestMissingProbesTeachNothing(t *testing.T) {
	none := learn.Temp{}
	for _, c := range []struct {
		name                    string
		change                  func(*learn.Sample)
		exchange, soil, houseIs bool
	}{
		{"all there", func(*learn.Sample) {}, true, true, true},
		{"no duct-out", func(s *learn.Sample) { s.Stores[0].DuctOut = none }, false, true, true},
		{"no between soil", func(s *learn.Sample) { s.Stores[0].Between = none }, false, false, true},
		{"no outside", func(s *learn.Sample) { s.Outside = none }, true, true, false},
		{"no duct-in, but house air", func(s *learn.Sample) { s.Stores[0].DuctIn = none }, true, true, true},
		{"no air", func(s *learn.Sample) { s.Air = none }, true, true, false},
		{"the sun never sets", func(s *learn.Sample) { s.Dark = false }, true, true, false},
		{"the heater always on", func(s *learn.Sample) { s.Heater = learn.On }, true, true, true},
		{"a side always open", func(s *learn.Sample) { s.Vent = learn.On }, true, true, false},
		{"steps of an hour", func(s *learn.Sample) { s.StepS = 3600 }, false, false, false},
		{"nothing", func(s *learn.Sample) { *s = learn.Sample{StepS: stepS} }, false, false, false},
	} {
		g, s := newRig(usual(), 8), settings()
		p := g.learnFor(s, learn.Params{}, 10, c.change)
		v, h := p.Values(s, 0), p.HouseValues(s)
		for _, w := range []struct {
			what string
			got  learn.Estimate
			want bool
		}{{"the exchange", v.NTU, c.exchange}, {"the soil", v.CapacityJK, c.soil}, {"the house", h.LossWK, c.houseIs}} {
			if taught := w.got.Hours > 0; taught != w.want {
				t.Errorf("%s: %s was taught for %.0f h", c.name, w.what, w.got.Hours)
			}
		}
	}
	// A heater that the house has and that is always on leaves no night to learn from.
	g, s := newRig(usual(), 8), settings()
	s.Heater = learn.Heater{Present: true, Setpoint: 3}
	p := g.learnFor(s, learn.Params{}, 10, func(s *learn.Sample) { s.Heater = learn.On })
	if h := p.HouseValues(s).LossWK; h.Hours > 0 {
		t.Errorf("with the heater on the house was taught for %.0f h", h.Hours)
	}
}

// TestTheExchangeFadesWhileTheFanRuns and comes back at rest: a wall warmed as a line source warms it
// (Carslaw and Jaeger 1959, art. 10.4 eq. 5, as physics.LineSourceK), which no exponential is.
func TestTheExchangeFadesWhileTheFanRuns(t *testing.T) {
	const (
		conductWmK, diffM2s, radiusM, pipeM = 1.2, 5e-7, 0.05, 150.0
		ntu, flowM3s, soilC, airC           = 1.1, 1.05, 12.0, 26.0
	)
	s := settings()
	eff := 1 - math.Exp(-ntu)
	kgS := flowM3s * 1.293 * 273.15 / (273.15 + airC)
	wall := func(heatW []float64) (k float64) {
		last := 0.0
		for i, w := range heatW {
			if w != last {
				k += physics.LineSourceK((w-last)/pipeM, conductWmK, diffM2s, radiusM, float64(len(heatW)-i)*stepS)
				last = w
			}
		}
		return k
	}
	var p learn.Params
	temp := func(c float64) learn.Temp { return learn.Temp{C: unitC(c), Known: true} }
	var heats []float64
	var start, end, again float64
	for i := range 24 * 24 * 12 {
		hour := i / 12 % 24
		sample := learn.Sample{StepS: stepS, Air: temp(airC)}
		b := &sample.Stores[0]
		b.Between = temp(soilC)
		if hour >= 8 && hour < 16 {
			fall := eff * (airC - soilC - wall(heats))
			b.Level, b.DuctIn, b.DuctOut = 1, temp(airC), temp(airC-fall)
			if i >= 23*24*12 {
				told := float64(unitC(airC).Sub(p.Heat(s, 0, 1, physics.Air{C: airC}, soilC, false).Out.C))
				if math.Abs(told-fall) > 0.07*fall {
					t.Errorf("at %d:%02d air cools by %.2f K, foretold are %.2f", hour, i%12*5, fall, told)
				}
				switch {
				case hour == 8 && i%12 == 1:
					start = told
				case hour == 15 && i%12 == 11:
					end = told
				}
			}
			heats = append(heats, kgS*1006*fall)
		} else {
			heats = append(heats, 0)
		}
		p = learn.Update(s, p, sample)
		if i == 24*24*12-1 {
			again = float64(unitC(airC).Sub(p.Heat(s, 0, 1, physics.Air{C: airC}, soilC, false).Out.C))
		}
	}
	if end > 0.93*start || again < 1.02*end {
		t.Errorf("air cools by %.2f K at the start, %.2f at the end of eight hours, %.2f after the rest", start, end, again)
	}
	long := p.Heat(s, 0, 1, physics.Air{C: airC}, soilC, true)
	if fall := float64(unitC(airC).Sub(long.Out.C)); fall > end+0.2 {
		t.Errorf("in a long run air cools by %.2f K, more than the %.2f after eight hours", fall, end)
	}
}

// TestAStartTeachesNothingUntilTheProbesHaveSettled: three minutes, common practice, no source.
func TestAStartTeachesNothingUntilTheProbesHaveSettled(t *testing.T) {
	s := settings()
	temp := func(c float64) learn.Temp { return learn.Temp{C: unitC(c), Known: true} }
	run := learn.Sample{StepS: 60, Air: temp(25)}
	run.Stores[0] = learn.StoreSample{Level: 1, Between: temp(15), DuctIn: temp(25), DuctOut: temp(18)}
	var p learn.Params
	for minute := 1; minute <= 5; minute++ {
		p = learn.Update(s, p, run)
		if taught := p.Values(s, 0).NTU.Hours > 0; taught != (minute > 3) {
			t.Errorf("after minute %d it was taught: %v", minute, taught)
		}
	}
}
