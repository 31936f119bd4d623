package house_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// day is the readings of second s of an invented January day: warm at noon, cold at night, a
// crop probe that falls silent for a while, a vent that opens, soil that is lost in the evening.
func day(s int) readings {
	wave := math.Cos(2 * math.Pi * float64(s) / 86400) // from noon
	air := 8 + 14*wave
	r := calm().but("crop a", air).but("crop b", air+0.3).but("crop c", air-0.2).but("intake", air+0.5)
	r.but("outside", -4+6*wave).but("humidity", 0.75-0.2*wave)
	if s%7200 < 900 {
		r.without("crop a", "intake")
	}
	if s > 14000 && s < 16000 {
		r.but("vent", 1)
	}
	if s > 30000 {
		r.without("beds between")
	}
	if s > 50000 && s < 53000 {
		r.without("crop a", "crop b", "crop c", "intake")
	}
	return r
}

// proven lets the fans be seen doing what they were told.
func proven(r readings, last *decide.Decision) readings {
	for name, stage := range map[string]uint8{
		"beds east moves": last.Stores[0].Stages[0], "beds west moves": last.Stores[0].Stages[1],
		"path moves": last.Stores[1].Stages[0],
	} {
		r[name] = float64(min(stage, 1))
	}
	return r
}

// TestStateSurvivesJSON runs a day in one house, and in another that is written down as JSON and
// read back every quarter of an hour.
func TestStateSurvivesJSON(t *testing.T) {
	const stepS = 30
	s := farm(t)
	straight, mended := house.New(s, house.State{}), house.New(s, house.State{})
	seenStates := map[decide.Activity]int{}
	for k := range 86400 / stepS {
		now := noon(t).Add(time.Duration(k*stepS) * time.Second)
		last := straight.State().Last
		seen := house.Seen{StepS: stepS, Believed: true, Raw: proven(day(k*stepS), &last).raw(s)}
		if k == 200 {
			seen.Orders[1] = decide.Order{Kind: decide.OrderOff, ForS: 3000}
		}
		if k%30 == 7 {
			text, err := json.Marshal(mended.State())
			if err != nil {
				t.Fatal(err)
			}
			var st house.State
			if err := json.Unmarshal(text, &st); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(mended.State(), st); diff != "" {
				t.Fatalf("state (-written +read):\n%s", diff)
			}
			mended = house.New(s, st)
		}
		a, b := straight.Tick(seen, now), mended.Tick(seen, now)
		if a.Decision != b.Decision || a.Inputs != b.Inputs {
			t.Fatalf("after %d s (-straight +mended):\n%s", k*stepS, cmp.Diff(a.Decision, b.Decision))
		}
		seenStates[a.Decision.Stores[0].State]++
	}
	for _, state := range []decide.Activity{decide.Rest, decide.Charge, decide.Discharge, decide.Frost, decide.Fallback} {
		if seenStates[state] == 0 {
			t.Errorf("the day has no %v in it: too tame to prove anything; it has %v", state, seenStates)
		}
	}
}

func TestStateIsACopy(t *testing.T) {
	s := farm(t)
	h := house.New(s, house.State{})
	tick := func() { h.Tick(house.Seen{StepS: 10, Believed: true, Raw: calm().raw(s)}, noon(t)) }
	tick()
	was := h.State()
	kept, given := h.State(), h.State()
	given.Probes[0].Value = 99
	second := house.New(s, was)
	second.Tick(house.Seen{StepS: 10, Raw: calm().but("crop a", 30).raw(s)}, noon(t))
	if diff := cmp.Diff(kept, was); diff != "" {
		t.Errorf("a house changed the state it was built with (-want +got):\n%s", diff)
	}
	if h.State().Probes[0].Value == 99 || kept.Probes[0].Value == 99 {
		t.Error("the state handed out was the house's own")
	}
	if h.Settings() != s || *h.Decided() != kept.Decide {
		t.Error("settings or decided state are not the house's")
	}
}

// TestAStateOfFewerProbesIsTaken is a farm to which probes were added since its state was saved.
func TestAStateOfFewerProbesIsTaken(t *testing.T) {
	s := farm(t)
	st := house.State{Probes: make([]judge.State, 2)}
	r := house.New(s, st).Tick(house.Seen{Believed: true, Raw: calm().raw(s)}, noon(t))
	if len(r.Verdicts) != len(s.Probes) || r.Inputs.CropAir.Quality != judge.Good {
		t.Errorf("got %d verdicts, crop air %+v", len(r.Verdicts), r.Inputs.CropAir)
	}
}

// TestNoReadingsPanic feeds every probe anything that a float can be, and time likewise. What is
// decided must stay sane: a verdict is finite, and after smoke nothing runs.
func TestNoReadingsPanic(t *testing.T) {
	s := farm(t)
	wild := rapid.OneOf(
		rapid.SampledFrom([]float64{0, 1, math.NaN(), math.Inf(1), math.Inf(-1), 85, -127, 1e300, -1e300, 5e-324}),
		rapid.Float64Range(-10, 40), rapid.Float64())
	rapid.Check(t, func(t *rapid.T) {
		h := house.New(s, house.State{})
		now := time.Unix(1768928400, 0)
		smoke := false
		for range rapid.IntRange(1, 30).Draw(t, "ticks") {
			seen := house.Seen{StepS: wild.Draw(t, "step"), Believed: rapid.Bool().Draw(t, "believed")}
			seen.Raw = make([]judge.Raw, rapid.IntRange(0, len(s.Probes)+2).Draw(t, "read"))
			for i := range seen.Raw {
				seen.Raw[i] = judge.Raw{Value: wild.Draw(t, "value"), OK: rapid.Bool().Draw(t, "ok")}
			}
			now = now.Add(time.Duration(rapid.Int64Range(-1e15, 1e15).Draw(t, "jump")))
			r := h.Tick(seen, now)
			smoke = smoke || r.Inputs.Smoke == decide.On
			for i, v := range r.Verdicts {
				if math.IsNaN(v.Value) || math.IsInf(v.Value, 0) || math.IsNaN(v.AgeS) {
					t.Fatalf("%s is %+v", s.Probes[i].Name, v)
				}
			}
			for i := range s.Decide.Stores {
				if d := &r.Decision.Stores[i]; smoke && d.Running() {
					t.Fatalf("fans of store %d run after smoke: %+v", i, d)
				}
			}
			if _, err := json.Marshal(h.State()); err != nil {
				t.Fatalf("state does not survive JSON: %v", err)
			}
		}
	})
}

func TestATickDoesNotAllocate(t *testing.T) {
	s := farm(t)
	h := house.New(s, house.State{})
	now := noon(t)
	seen := house.Seen{StepS: 10, Believed: true, Raw: calm().but("crop a", 25).but("crop b", 25).but("crop c", 25).but("intake", 26).raw(s)}
	tick := func() {
		now = now.Add(10 * time.Millisecond)
		h.Tick(seen, now)
	}
	for range 200 {
		tick()
	}
	if n := testing.AllocsPerRun(1000, tick); n != 0 {
		t.Errorf("a tick allocates %v times, want none", n)
	}
}

// BenchmarkTick is judge, vote and decide for a house of 23 probes and three fans, calm.
func BenchmarkTick(b *testing.B) {
	s, now := farm(b), noon(b)
	h := house.New(s, house.State{})
	seen := house.Seen{StepS: 300, Believed: true, Raw: calm().raw(s)}
	b.ReportAllocs()
	for b.Loop() {
		h.Tick(seen, now)
		now = now.Add(300 * time.Second)
	}
}
