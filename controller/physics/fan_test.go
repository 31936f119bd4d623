package physics

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func curve(t interface{ Fatal(...any) }, points ...FanPoint) FanCurve {
	c, err := NewFanCurve(points)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestAFanWorksWhereBothCurvesMeet(t *testing.T) {
	// 300 − 200 q meets 100 q² + 0 where 100 q² + 200 q − 300 = 0: at 1 m³/s and 100 Pa.
	fan := curve(t, FanPoint{0, 300, 500}, FanPoint{1.5, 0, 800})
	p, err := fan.Operate(func(q float64) float64 { return 100 * q * q })
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow", 0, p.FlowM3s, 1, 1e-9)
	near(t, "pressure", 0, p.PressurePa, 100, 1e-6)
	near(t, "power", 0, p.PowerW, 700, 1e-6)
}

func TestAFanOnPipesWorksOnBothCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fan := curve(t, FanPoint{0, 250, 0}, FanPoint{0.5, 230, 0}, FanPoint{1, 150, 0}, FanPoint{1.6, 0, 0})
		pipe := Pipe{
			DiameterM: rapid.Float64Range(0.08, 0.2).Draw(t, "diameter"), LengthM: rapid.Float64Range(5, 40).Draw(t, "length"),
			ManningN: 0.016, LossHeads: 1.5,
		}
		pipes := float64(rapid.IntRange(1, 40).Draw(t, "pipes"))
		loss := func(q float64) float64 { return pipe.PressureLossPa(q/pipes, Air{15, 0.006}, 95e3) }
		p, err := fan.Operate(loss)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(loss(p.FlowM3s)-p.PressurePa) > 1e-3 || fan.At(p.FlowM3s) != p {
			t.Fatalf("at %+v the pipes take %g Pa and the fan gives %+v", p, loss(p.FlowM3s), fan.At(p.FlowM3s))
		}
		pipes *= 2
		if wider, err := fan.Operate(loss); err != nil || wider.FlowM3s <= p.FlowM3s {
			t.Fatalf("twice the pipes let %g through, not %g, %v", wider.FlowM3s, p.FlowM3s, err)
		}
	})
}

func TestCurvesThatNeverMeetAreNamed(t *testing.T) {
	fan := curve(t, FanPoint{0, 100, 0}, FanPoint{1, 40, 0})
	for name, loss := range map[string]func(float64) float64{
		"pipes that take more at rest than the fan gives": func(q float64) float64 { return 101 + q },
		"pipes so wide that the curve ends above them":    func(q float64) float64 { return 39 * q },
		"pipes of no known loss":                          func(float64) float64 { return math.NaN() },
	} {
		if p, err := fan.Operate(loss); !errors.Is(err, ErrNeverCrosses) {
			t.Errorf("%s: %+v, %v", name, p, err)
		}
	}
	if _, err := (FanCurve{}).Operate(func(q float64) float64 { return q }); !errors.Is(err, ErrNeverCrosses) {
		t.Errorf("no fan: %v", err)
	}
	// Touching at an end is meeting.
	if p, err := fan.Operate(func(q float64) float64 { return 40 * q }); err != nil || math.Abs(p.FlowM3s-1) > 1e-9 {
		t.Errorf("meeting at the end: %+v, %v", p, err)
	}
	if p, err := fan.Operate(func(q float64) float64 { return 100 + q }); err != nil || math.Abs(p.FlowM3s) > 1e-9 {
		t.Errorf("meeting at rest: %+v, %v", p, err)
	}
}

func TestWhatIsNoFanCurve(t *testing.T) {
	good := FanPoint{0, 100, 5}
	for name, points := range map[string][]FanPoint{
		"none":                    nil,
		"one point":               {good},
		"flow that stays":         {good, {0, 50, 5}},
		"flow that falls":         {good, {1, 50, 5}, {0.5, 20, 5}},
		"pressure that rises":     {good, {1, 101, 5}},
		"pressure under 0":        {good, {1, -1, 5}},
		"flow under 0":            {{-1, 100, 5}, {1, 50, 5}},
		"power under 0":           {good, {1, 50, -1}},
		"a number that is none":   {good, {1, math.NaN(), 5}},
		"a flow that has no end":  {good, {math.Inf(1), 50, 5}},
		"a power that is no such": {good, {1, 50, math.NaN()}},
	} {
		if _, err := NewFanCurve(points); !errors.Is(err, ErrFanCurve) {
			t.Errorf("%s: %v", name, err)
		}
	}
	flat := []FanPoint{good, {1, 100, 6}}
	c := curve(t, flat...)
	flat[0].PressurePa = 0
	if got := c.At(0.5); got != (FanPoint{0.5, 100, 5.5}) {
		t.Errorf("a flat curve gives %+v halfway, after its points were changed", got)
	}
	bent := curve(t, FanPoint{0, 250, 90}, FanPoint{0.5, 230, 100}, FanPoint{1.5, 30, 140})
	if got := bent.At(0.75); got != (FanPoint{0.75, 180, 110}) {
		t.Errorf("a quarter along its second stretch the curve gives %+v", got)
	}
	if got := (FanCurve{}).At(1); got != (FanPoint{}) {
		t.Errorf("no fan gives %+v", got)
	}
	if first, last := c.At(-1), c.At(9); first != good || last != (FanPoint{1, 100, 6}) {
		t.Errorf("beyond its ends the curve gives %+v and %+v", first, last)
	}
}

func TestThinAirIsEasierToMove(t *testing.T) {
	fan := curve(t, FanPoint{0, 300, 500}, FanPoint{1.5, 0, 800})
	high := fan.InAir(0.96, 1.2)
	if got := high.At(0); got != (FanPoint{0, 240, 400}) {
		t.Errorf("at 0.8 of the density the fan gives %+v", got)
	}
	// The pipes' loss goes as the density too: the flow stays.
	low, err := fan.Operate(func(q float64) float64 { return 100 * q * q })
	if err != nil {
		t.Fatal(err)
	}
	thin, err := high.Operate(func(q float64) float64 { return 80 * q * q })
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow", 0, thin.FlowM3s, low.FlowM3s, 1e-9)
}
