package decide_test

import (
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// edge is one tick of a house with one store of one fan, on one side of a limit.
type edge struct {
	name      string
	change    func(*decide.Settings)
	doing     decide.Activity // what the fan has run as for an hour; Rest is off for long
	before    func(*decide.State)
	air, soil unit.Celsius
	with      func(*decide.Inputs)
	now       time.Time // zero is noon in January

	state      decide.Activity
	code       decide.Code
	have, need float64 // not compared where they are money or a ratio
}

// edges decides each case and compares state, reason and the numbers that were compared.
func edges(t *testing.T, cases []edge) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, _ := c.decide(t)
			got := &d.Stores[0]
			if got.State != c.state || got.Reason.Code != c.code {
				t.Fatalf("%v for %v (%+v), want %v for %v", got.State, got.Reason.Code, got.Reason, c.state, c.code)
			}
			if !priced(c.code) && (!near(got.Reason.Have, c.have) || !near(got.Reason.Need, c.need)) {
				t.Errorf("compared %v with %v, want %v with %v", got.Reason.Have, got.Reason.Need, c.have, c.need)
			}
			if got.Running() != runs(c.state, c.code) {
				t.Errorf("running is %v in state %v for %v", got.Running(), c.state, c.code)
			}
		})
	}
}

func (c *edge) decide(t *testing.T) (decide.Decision, decide.State) {
	t.Helper()
	s := farm(t, one, cheap)
	if c.change != nil {
		c.change(&s)
	}
	var st decide.State
	rested(&st)
	if c.doing != decide.Rest {
		st.Stores[0] = ran(c.doing, 3600)
	}
	if c.before != nil {
		c.before(&st)
	}
	in := seen(c.air, c.soil)
	if c.with != nil {
		c.with(&in)
	}
	now := c.now
	if now.IsZero() {
		now = noon(t)
	}
	return decide.Step(s, st, in, now)
}

// ran is a store whose first fan has run at its first stage for runS.
func ran(as decide.Activity, runS float64) decide.StoreState {
	ss := decide.StoreState{Doing: as, RunS: runS, Stage: 1, StageS: runS}
	ss.Fans[0] = decide.FanState{Stage: 1, HeldS: runS}
	return ss
}

// cheap makes electricity next to free, so that only the conditions in question decide.
func cheap(s *decide.Settings) { s.Tariff.ElectricityPerKWh = 1e-6 }

// priced reports whether a reason compares money or a ratio.
func priced(c decide.Code) bool {
	switch c {
	case decide.DischargePays, decide.DischargeRatio, decide.ChargePays, decide.ChargeRatio,
		decide.DischargeNotWorth, decide.DischargeLowRatio, decide.ChargeNotWorth, decide.ChargeLowRatio:
		return true
	}
	return false
}

func runs(state decide.Activity, code decide.Code) bool {
	switch state {
	case decide.Rest, decide.Hold:
		return false
	case decide.Hand:
		return code == decide.HandRun
	case decide.Fallback:
		return code == decide.FallbackNight
	}
	return true
}

// nan is what no reading should be.
func nan() float64 { return math.NaN() }

func near(a, b float64) bool {
	return a == b || a != a && b != b || math.Abs(a-b) <= 1e-9*max(1, math.Abs(b))
}

// inputs joins changes to a tick's inputs.
func inputs(all ...func(*decide.Inputs)) func(*decide.Inputs) {
	return func(in *decide.Inputs) {
		for _, f := range all {
			f(in)
		}
	}
}

// settings joins changes to a house.
func settings(all ...func(*decide.Settings)) func(*decide.Settings) {
	return func(s *decide.Settings) {
		for _, f := range all {
			f(s)
		}
	}
}

func noAir(in *decide.Inputs) {
	in.CropAir, in.CropLow, in.IntakeAir = decide.Temperature{}, decide.Temperature{}, decide.Temperature{}
}

func doubtfulAir(in *decide.Inputs) {
	for _, a := range []*decide.Temperature{&in.CropAir, &in.CropLow, &in.IntakeAir} {
		a.Quality = judge.Doubtful
	}
}

func noSoil(in *decide.Inputs) { in.Stores[0].Soil = judge.Carried{} }

func vent(in *decide.Inputs)   { in.VentOpen = decide.On }
func heater(in *decide.Inputs) { in.HeaterOn = decide.On }
func smoke(in *decide.Inputs)  { in.Smoke = decide.On }
func water(in *decide.Inputs)  { in.Stores[0].PipeWater = decide.On }

func noCrop(s *decide.Settings) { s.Policies[0].Crop = false }

func order(kind decide.OrderKind, stage uint8, forS float64) func(*decide.Inputs) {
	return func(in *decide.Inputs) {
		in.Stores[0].Order = decide.Order{Kind: kind, Stage: stage, ForS: forS}
	}
}

func damp(v float64, q judge.Quality) func(*decide.Inputs) {
	return func(in *decide.Inputs) { in.Humidity = decide.Fraction{V: v, Quality: q} }
}

// intake sets the air the fans take in apart from the crop's.
func intake(c unit.Celsius, q judge.Quality) func(*decide.Inputs) {
	return func(in *decide.Inputs) { in.IntakeAir = decide.Temperature{C: c, Quality: q} }
}

func roots(low, high unit.Celsius) func(*decide.Inputs) {
	return func(in *decide.Inputs) { in.Stores[0].RootMin, in.Stores[0].RootMax = good(low), good(high) }
}

func unsure(k unit.Kelvin) func(*decide.Inputs) {
	return func(in *decide.Inputs) {
		in.Stores[0].Soil.Quality, in.Stores[0].Soil.Uncertain = judge.Doubtful, k
	}
}

func allow(a decide.Allow) func(*decide.Settings) {
	return func(s *decide.Settings) { s.Policies[0].Allow = a }
}

// threeSpeeds gives the first store's fan three speeds.
func threeSpeeds(s *decide.Settings) {
	s.Stores[0].Fans = append([]decide.Fan(nil), s.Stores[0].Fans...)
	s.Stores[0].Fans[0].Levels = []float64{0.4, 0.7, 1}
}
