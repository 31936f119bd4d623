package decide_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// busy is a house with everything: windows, a dear evening, actions, proofs, two stores of two
// fans each, variable and not, a site limit and a lower one on the generator.
func busy(t testing.TB) decide.Settings {
	return farm(t, calendarOf(t, "*/45 * * * *"), evening(t, 2), func(s *decide.Settings) {
		for i := range s.Stores {
			s.Stores[i].Fans = []decide.Fan{
				{PowerW: 600, FlowM3s: 0.6, Levels: []float64{0.4, 0.7, 1}, ProofS: 30},
				{PowerW: 300, FlowM3s: 0.3, Levels: []float64{1}, Catalogue: true},
			}
		}
		s.Stores[1].StartsPerHour = 7
		s.Actions[0].TopUp = true
		s.MaxPowerW, s.GeneratorPowerW = 1300, 500
		tight := s.Policies[0]
		tight.Allow.Discharge = false
		s.Policies = append(s.Policies, tight)
		s.Season.Windows = spans(t, "", "09:00..15:00")
	})
}

// weather walks a house's readings from tick to tick, with gaps, jumps and people.
type weather struct {
	r         *rand.Rand
	air, soil float64
	lost      int // ticks left without air
	in        decide.Inputs
}

func newWeather(seed uint64) *weather {
	return &weather{r: rand.New(rand.NewPCG(seed, 1)), air: 10, soil: 10, in: decide.Inputs{Believed: true}}
}

func (w *weather) chance(share float64) bool { return w.r.Float64() < share }

func (w *weather) quality() judge.Quality {
	switch {
	case w.chance(0.02):
		return judge.Bad
	case w.chance(0.05):
		return judge.Doubtful
	}
	return judge.Good
}

// next is the next tick's readings. Contacts and orders last; temperatures wander.
func (w *weather) next() *decide.Inputs {
	in, r := &w.in, w.r
	in.StepS = []float64{2, 10, 10, 10, 60, 300}[r.IntN(6)]
	w.air = min(max(w.air+r.NormFloat64()*2, -8), 38)
	w.soil = min(max(w.soil+r.NormFloat64()*0.3, 0), 29)
	temp := func(c float64) decide.Temperature {
		return decide.Temperature{C: unit.Celsius(math.Round(c*16) / 16), Quality: w.quality()}
	}
	in.CropAir = temp(w.air)
	in.CropLow = temp(w.air - 2*r.Float64())
	in.IntakeAir = temp(w.air + 2*r.Float64())
	if w.chance(0.003) {
		w.lost = r.IntN(100)
	}
	if w.lost--; w.lost > 0 {
		noAir(in)
	}
	in.Outside = temp(w.air - 10)
	in.Humidity = decide.Fraction{V: r.Float64(), Quality: w.quality()}
	for _, c := range []*decide.Contact{&in.HeaterOn, &in.VentOpen, &in.Smoke, &in.OnGenerator, &in.Stores[0].PipeWater, &in.Stores[1].PipeWater, &in.Stores[0].HandSwitch} {
		if w.chance(0.02) {
			*c = decide.Contact(r.IntN(4))
		}
	}
	in.ClearFault = w.chance(0.05)
	in.Grant = decide.Grant{Limited: w.chance(0.1), PowerW: 1200 * r.Float64(), Closed: w.chance(0.1)}
	if w.chance(0.01) {
		in.Believed = !in.Believed
	}
	for i := range in.Stores {
		s := &in.Stores[i]
		at := temp(w.soil + float64(i))
		s.Soil = judge.Carried{C: at.C, Quality: at.Quality, Known: !w.chance(0.01), Uncertain: unit.Kelvin(r.Float64())}
		s.RootMin, s.RootMax = temp(w.soil-1), temp(w.soil+1)
		s.Order = decide.Order{}
		if w.chance(0.005) {
			s.Order = decide.Order{Kind: decide.OrderKind(r.IntN(4)), Stage: uint8(r.IntN(5)), ForS: 3600 * r.Float64()}
		}
		for j := range s.Fans {
			s.Fans[j] = decide.Feedback{Proof: decide.Proof(r.IntN(3)), Weak: w.chance(0.1)}
			if w.chance(0.8) {
				s.Fans[j].Proof = decide.SeenRunning
			}
		}
	}
	return in
}

// watch checks what must always be true of one tick and remembers starts.
type watch struct {
	s      *decide.Settings
	elapsd float64
	last   float64 // when a fan last started
	starts [decide.MaxStores][decide.MaxFans]float64
}

func (w *watch) tick(t *rapid.T, was, is *decide.State, in *decide.Inputs, d *decide.Decision) {
	w.elapsd += in.StepS
	started, powerW := 0, 0.0
	for i := range w.s.Stores {
		sd := &d.Stores[i]
		w.allowed(t, i, was, in, sd)
		powerW += sd.PowerW
		for j := range w.s.Stores[i].Fans {
			if sd.Stages[j] != is.Stores[i].Fans[j].Stage {
				t.Fatalf("decided stages %v, remembered %+v", sd.Stages, is.Stores[i].Fans)
			}
			if sd.Stages[j] > 0 && was.Stores[i].Fans[j].Stage == 0 {
				started++
				w.start(t, i, j, sd)
			}
		}
		if (sd.State == decide.Rest || sd.State == decide.Hold) && sd.Running() {
			t.Fatalf("store %d runs %v in state %v", i, sd.Stages, sd.State)
		}
	}
	if started > 1 {
		t.Fatalf("%d starts in one tick", started)
	}
	if limit := limitW(w.s, in); powerW > limit+1e-9 {
		t.Fatalf("%v W, limit %v W", powerW, limit)
	}
}

func limitW(s *decide.Settings, in *decide.Inputs) float64 {
	limit := s.MaxPowerW
	if in.OnGenerator == decide.On {
		limit = min(limit, s.GeneratorPowerW)
	}
	if in.Grant.Limited {
		limit = min(limit, in.Grant.PowerW)
	}
	return limit
}

// start checks stagger and starts per hour: n an hour are 3600/n s from the last start, whoever
// asked for that one.
func (w *watch) start(t *rapid.T, i, j int, sd *decide.StoreDecision) {
	if w.last > 0 && w.elapsd-w.last < w.s.StaggerS-1e-9 {
		t.Fatalf("a start %v s after another", w.elapsd-w.last)
	}
	w.last = w.elapsd
	free := sd.State == decide.Frost || sd.State == decide.Fallback || sd.Reason.Code == decide.HandRun
	before, apart := w.starts[i][j], 3600/w.s.Stores[i].StartsPerHour
	if !free && before > 0 && w.elapsd-before < apart-1e-6 {
		t.Fatalf("store %d fan %d starts %v s after it started", i, j, w.elapsd-before)
	}
	w.starts[i][j] = w.elapsd
}

// allowed checks that a running store may run.
func (w *watch) allowed(t *rapid.T, i int, was *decide.State, in *decide.Inputs, sd *decide.StoreDecision) {
	byHand := sd.Reason.Code == decide.HandRun
	soil, policy := in.Stores[i].Soil, &w.s.Policies[0].Stores[i]
	if !sd.Running() {
		return
	}
	if was.Smoke && !in.ClearFault || in.Smoke == decide.On {
		t.Fatalf("store %d runs in smoke", i)
	}
	if in.Stores[i].PipeWater == decide.On && sd.State != decide.Frost && sd.State != decide.Fallback {
		t.Fatalf("store %d runs as %v with water in its pipes", i, sd.State)
	}
	if in.Stores[i].HandSwitch == decide.On {
		t.Fatalf("store %d runs with the panel switch off automatic", i)
	}
	starts := was.Stores[i].Doing != decide.Charge
	if sd.State == decide.Charge && !byHand && starts && in.IntakeAir.C.Sub(soil.C) < policy.Margin {
		t.Fatalf("store %d starts charging with air %v and soil %v", i, in.IntakeAir.C, soil.C)
	}
	if sd.State == decide.Charge && !byHand && in.IntakeAir.Quality.Usable() && in.IntakeAir.C <= soil.C {
		t.Fatalf("store %d charges with air %v and soil %v", i, in.IntakeAir.C, soil.C)
	}
	up := sd.State == decide.Discharge && !byHand || sd.State == decide.Frost
	if up && soil.Known && in.IntakeAir.Quality == judge.Good && soil.C <= in.IntakeAir.C {
		t.Fatalf("store %d: %v with intake air %v and soil %v", i, sd.State, in.IntakeAir.C, soil.C)
	}
	if up && soil.Known && in.CropAir.Quality.Usable() && soil.C <= min(in.CropAir.C, lowOf(in)) {
		t.Fatalf("store %d: %v with air %v and soil %v", i, sd.State, in.CropAir.C, soil.C)
	}
}

func lowOf(in *decide.Inputs) unit.Celsius {
	if in.CropLow.Quality.Usable() {
		return in.CropLow.C
	}
	return in.CropAir.C
}

// A house over thousands of ticks of wandering readings; beside it one whose state goes through
// JSON at random, which must decide the same, bit for bit.
func TestWhatMustAlwaysBeTrue(t *testing.T) {
	s := busy(t)
	begins := local(t, "2026-03-06T00:00:00")
	var saw [decide.Activities]bool
	rapid.Check(t, func(rt *rapid.T) {
		w := newWeather(rapid.Uint64().Draw(rt, "seed"))
		eye := watch{s: &s}
		var st, other decide.State
		now := begins
		for range 400 {
			in := *w.next()
			now = now.Add(time.Duration(in.StepS * float64(time.Second)))
			if w.chance(0.002) {
				now = now.Add(time.Duration(w.r.NormFloat64() * float64(400*24*time.Hour)))
			}
			if w.chance(0.05) {
				other = throughJSON(t, other)
			}
			d, next := decide.Step(s, st, in, now)
			d2, next2 := decide.Step(s, other, in, now)
			if d != d2 || next != next2 {
				rt.Fatalf("after JSON it decides otherwise:\n%s%s", cmp.Diff(d, d2), cmp.Diff(next, next2))
			}
			eye.tick(rt, &st, &next, &in, &d)
			for i := range s.Stores {
				saw[d.Stores[i].State] = true
			}
			st, other = next, next2
		}
	})
	for a, ok := range saw {
		if !ok {
			t.Errorf("it never came to %v", decide.Activity(a))
		}
	}
}
