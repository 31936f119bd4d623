package decide_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// apart is what store i would expect if it were alone with the same air.
func apart(s decide.Settings, i int, in decide.Inputs, now time.Time) float64 {
	s.Stores = s.Stores[i : i+1 : i+1]
	s.Policies = append([]decide.Policy(nil), s.Policies...)
	s.Policies[0].Stores = s.Policies[0].Stores[i:]
	in.Stores[0] = in.Stores[i]
	d, _ := decide.Step(s, ready(), in, now)
	return d.Stores[0].HeatW
}

// Two stores that start together on one air expect less than each would alone: what the first
// takes is no longer there for the second. Once the air has had time to show it, what is measured
// counts.
func TestTwoStoresNeverClaimTheSameHeat(t *testing.T) {
	for _, c := range []struct {
		name      string
		air, soil unit.Celsius
		at        time.Time
	}{
		{"charging", 24, 12, noon(t)}, {"discharging", 3, 12, night(t)}, {"frost protection", 1, 12, night(t)},
	} {
		t.Run(c.name, func(t *testing.T) {
			const lossWK = 3000
			s := farm(t, cheap, func(s *decide.Settings) { s.StaggerS, s.HouseLossWK = 0, lossWK })
			in := seen(c.air, c.soil)
			alone := [2]float64{apart(s, 0, in, c.at), apart(s, 1, in, c.at)}
			y := begin(t, s, c.at)
			y.pass(0, in)
			first, second := y.d.Stores[0].HeatW, y.d.Stores[1].HeatW
			if first != alone[0] {
				t.Errorf("the first expects %v W, alone %v W", first, alone[0])
			}
			// All of the heat comes out of the air, which settles lower by its share of the
			// house's loss. (Its density moves with it, by a third of a percent per kelvin.)
			left := math.Abs(float64(c.air-c.soil)) - math.Abs(alone[0])/lossWK
			want := alone[1] * left / math.Abs(float64(c.air-c.soil))
			if math.Abs(second-want) > 0.02*math.Abs(want) {
				t.Errorf("the second expects %v W, want %v W", second, want)
			}
			y.pass(2*time.Hour, in)
			if now := y.d.Stores[1].HeatW; math.Abs(now-alone[1]) > 1e-3*math.Abs(alone[1]) {
				t.Errorf("after two hours the second expects %v W, alone %v W", now, alone[1])
			}
		})
	}
}

func TestSecondStoreWaitsWhereTheFirstTakesItsMargin(t *testing.T) {
	small := func(s *decide.Settings) { s.StaggerS = 0; s.HouseLossWK = 900 }
	big := func(s *decide.Settings) { s.StaggerS = 0; s.HouseLossWK = 1e6 }
	none := func(s *decide.Settings) { s.StaggerS = 0; s.HouseLossWK = 0 }
	both := [2]bool{true, true}
	for _, c := range []struct {
		name      string
		change    func(*decide.Settings)
		air, soil unit.Celsius
		want      [2]bool
	}{
		{"charging in a small house", small, 16.5, 12, [2]bool{true, false}},
		{"charging in a large one", big, 16.5, 12, both},
		{"charging in a house of unknown loss", none, 16.5, 12, both},
		{"discharging in a small house", small, 5.2, 8.5, [2]bool{true, false}},
		{"discharging in a large one", big, 5.2, 8.5, both},
		{"discharging up to the setpoint in a small house", small, 5.9, 19, [2]bool{true, false}},
		{"discharging up to the setpoint in a large one", big, 5.9, 19, both},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := begin(t, farm(t, cheap, c.change), night(t))
			y.pass(0, seen(c.air, c.soil))
			for i, want := range c.want {
				if d := &y.d.Stores[i]; d.Running() != want {
					t.Errorf("store %d: running is %v, %+v", i, d.Running(), d.Reason)
				}
			}
		})
	}
}

// The air has settled to 1 − 1/e of what a store does to it after a quarter of an hour; the rest
// is still to come. Water that condenses warms the soil, not at the cost of the air's temperature.
func TestOnlyWhatTheAirDoesNotShowYetIsReckoned(t *testing.T) {
	s := farm(t, cheap, func(s *decide.Settings) { s.StaggerS, s.HouseLossWK = 0, 3000 })
	for _, c := range []struct {
		name string
		with func(*decide.Inputs)
	}{{"dry air", func(*decide.Inputs) {}}, {"damp air", damp(0.9, judge.Good)}} {
		in := seen(24, 12)
		c.with(&in)
		st := ready()
		st.Stores[0] = ran(decide.Charge, 890)
		d, _ := decide.Step(s, st, in, noon(t))
		first, second := d.Stores[0], d.Stores[1]
		shift := (first.HeatW - first.LatentW) / 3000 / math.E
		// Sensible heat goes with the difference; the density changes by a third of a percent
		// per kelvin.
		alone, _ := decide.Step(farm(t, cheap, func(s *decide.Settings) { s.StaggerS, s.HouseLossWK = 0, 0 }), st, in, noon(t))
		want := alone.Stores[1].HeatW - alone.Stores[1].LatentW
		want *= (12 - shift) / 12
		if got := second.HeatW - second.LatentW; math.Abs(got-want) > 0.006*want || !second.Running() {
			t.Errorf("%s: the second expects %v W, want %v W", c.name, got, want)
		}
	}
}

// Heat is not carried in a circle: what one store takes is no reason for the other to give.
func TestOneStoreDoesNotGiveWhatTheOtherTakes(t *testing.T) {
	s := farm(t, cheap, func(s *decide.Settings) { s.StaggerS = 0 })
	in := seen(8, 3)
	in.Stores[1].Soil.C = 14
	d, _ := decide.Step(s, ready(), in, night(t))
	if a, b := d.Stores[0].State, d.Stores[1].State; a != decide.Charge || b != decide.Rest {
		t.Errorf("first store %v, second %v", a, b)
	}
}

func TestSecondTopUpBurstSeesWhatTheFirstTakes(t *testing.T) {
	s := farm(t, cheap, exercise, func(s *decide.Settings) {
		s.StaggerS, s.Actions[0].TopUp = 0, true
	})
	st := ready()
	for i := range s.Stores {
		st.Stores[i].Action, st.Stores[i].ActionRunS, st.Stores[i].ActionDueS = 1, 120, 900
	}
	d, _ := decide.Step(s, st, seen(16.5, 12), noon(t))
	if a, b := d.Stores[0].State, d.Stores[1].State; a != decide.Action || b != decide.Rest {
		t.Errorf("first store %v, second %v", a, b)
	}
}

// What a running store does to the air is in the measurement already.
func TestRunningStoresAreNotShifted(t *testing.T) {
	s := farm(t, cheap, func(s *decide.Settings) { s.StaggerS = 0 })
	st := ready()
	st.Stores[0], st.Stores[1] = ran(decide.Charge, 60), ran(decide.Charge, 60)
	d, _ := decide.Step(s, st, seen(15, 12), noon(t))
	for i := range s.Stores {
		if got := &d.Stores[i]; got.State != decide.Charge || got.Reason.Code != decide.ChargePays {
			t.Errorf("store %d: %v for %+v", i, got.State, got.Reason)
		}
	}
}

func TestStoresTogetherExpectNoMoreThanApart(t *testing.T) {
	base := farm(t, cheap, func(s *decide.Settings) { s.StaggerS = 0 })
	at := noon(t)
	rapid.Check(t, func(rt *rapid.T) {
		s := base
		s.HouseLossWK = rapid.Float64Range(300, 5000).Draw(rt, "loss")
		in := seen(unit.Celsius(rapid.Float64Range(-5, 40).Draw(rt, "air")), 12)
		for i := range s.Stores {
			in.Stores[i].Soil.C = unit.Celsius(rapid.Float64Range(3, 27).Draw(rt, "soil"))
		}
		d, _ := decide.Step(s, ready(), in, at)
		a, b := d.Stores[0], d.Stores[1]
		if a.Running() && b.Running() && a.HeatW*b.HeatW > 0 {
			if sum := math.Abs(apart(s, 0, in, at) + apart(s, 1, in, at)); math.Abs(a.HeatW+b.HeatW) >= sum {
				rt.Fatalf("together %v W and %v W, apart %v W", a.HeatW, b.HeatW, sum)
			}
		}
		for i, c := range []decide.StoreDecision{a, b} {
			if c.State == decide.Charge && c.HeatW <= 0 || (c.State == decide.Discharge) && c.HeatW >= 0 {
				rt.Fatalf("store %d: %v moves %v W into the soil", i, c.State, c.HeatW)
			}
		}
	})
}
