package physics

import (
	"errors"
	"fmt"
	"slices"
)

var (
	// ErrNeverCrosses says that a fan's curve and its pipes' never meet.
	ErrNeverCrosses = errors.New("fan curve and pipes never meet")
	// ErrFanCurve says that points are no fan curve.
	ErrFanCurve = errors.New("a fan curve has two points or more, from no flow on, of rising flow and falling pressure")
)

// FanPoint is a point of a fan's curve.
type FanPoint struct {
	FlowM3s    float64
	PressurePa float64 // static, at that flow
	PowerW     float64 // electric; 0 where it is not stated
}

// FanCurve is what a fan gives at each flow, straight between stated points. The zero value is no
// fan; make one with NewFanCurve.
type FanCurve struct{ points []FanPoint }

// NewFanCurve checks and copies the points. A curve that dips and rises again has two flows at one
// pressure: state it from its crest on, or flatten it. It allocates. Errors: ErrFanCurve.
func NewFanCurve(points []FanPoint) (FanCurve, error) {
	if len(points) < 2 {
		return FanCurve{}, fmt.Errorf("%d points: %w", len(points), ErrFanCurve)
	}
	for i, p := range points {
		switch {
		case !finite(p.FlowM3s, p.PressurePa, p.PowerW) || p.FlowM3s < 0 || p.PressurePa < 0 || p.PowerW < 0:
			return FanCurve{}, fmt.Errorf("point %d is %g m³/s, %g Pa, %g W: %w", i+1, p.FlowM3s, p.PressurePa, p.PowerW, ErrFanCurve)
		case i > 0 && (p.FlowM3s <= points[i-1].FlowM3s || p.PressurePa > points[i-1].PressurePa):
			return FanCurve{}, fmt.Errorf("point %d, %g m³/s at %g Pa, does not follow %g m³/s at %g Pa: %w",
				i+1, p.FlowM3s, p.PressurePa, points[i-1].FlowM3s, points[i-1].PressurePa, ErrFanCurve)
		}
	}
	return FanCurve{slices.Clone(points)}, nil
}

// At returns what the fan gives at a flow, which is brought between the curve's ends.
func (c FanCurve) At(flowM3s float64) FanPoint {
	if len(c.points) == 0 {
		return FanPoint{}
	}
	last := c.points[0]
	if flowM3s <= last.FlowM3s {
		return last
	}
	for _, p := range c.points[1:] {
		if flowM3s < p.FlowM3s {
			share := (flowM3s - last.FlowM3s) / (p.FlowM3s - last.FlowM3s)
			return FanPoint{
				FlowM3s:    flowM3s,
				PressurePa: last.PressurePa + share*(p.PressurePa-last.PressurePa),
				PowerW:     last.PowerW + share*(p.PowerW-last.PowerW),
			}
		}
		last = p
	}
	return last
}

// AtSpeed returns the curve at another speed, ratio times the stated one, over 0: flow as the ratio,
// pressure as its square, power as its cube. The fan laws (ASHRAE, HVAC Systems and Equipment, ch.
// Fans); below half speed motor and drive lose more than the cube says. It allocates.
func (c FanCurve) AtSpeed(ratio float64) FanCurve {
	return c.scaled(ratio, ratio*ratio, ratio*ratio*ratio)
}

// InAir returns the curve in air of another density than the stated one: pressure and power as the
// density, at the same flow. The fan laws as above. Catalogues state 1.2 kg/m³. It allocates.
func (c FanCurve) InAir(densityKgM3, statedKgM3 float64) FanCurve {
	ratio := densityKgM3 / statedKgM3
	return c.scaled(1, ratio, ratio)
}

func (c FanCurve) scaled(flow, pressure, power float64) FanCurve {
	scaled := FanCurve{make([]FanPoint, len(c.points))}
	for i, p := range c.points {
		scaled.points[i] = FanPoint{p.FlowM3s * flow, p.PressurePa * pressure, p.PowerW * power}
	}
	return scaled
}

// Operate returns where the fan works against pipes that take lossPa(flow), which must not fall as
// flow rises: the one flow, to a millionth of the curve's length, at which both agree. The error
// wraps ErrNeverCrosses and says whether the fan is too weak or the curve too short.
func (c FanCurve) Operate(lossPa func(flowM3s float64) float64) (FanPoint, error) {
	if len(c.points) == 0 {
		return FanPoint{}, fmt.Errorf("no fan curve: %w", ErrNeverCrosses)
	}
	first, last := c.points[0], c.points[len(c.points)-1]
	if need := lossPa(first.FlowM3s); !(first.PressurePa >= need) {
		return FanPoint{}, fmt.Errorf("%w: already at %g m³/s the pipes take %.0f Pa and the fan gives %.0f; a stronger fan or more pipes side by side would be right",
			ErrNeverCrosses, first.FlowM3s, need, first.PressurePa)
	}
	if need := lossPa(last.FlowM3s); !(last.PressurePa <= need) {
		return FanPoint{}, fmt.Errorf("%w: at the last point, %g m³/s, the fan still gives %.0f Pa and the pipes take %.0f; state the curve further, to 0 Pa",
			ErrNeverCrosses, last.FlowM3s, last.PressurePa, need)
	}
	low, high := first.FlowM3s, last.FlowM3s
	for range 60 {
		middle := (low + high) / 2
		if c.At(middle).PressurePa >= lossPa(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return c.At((low + high) / 2), nil
}

// FanPowerW returns the electric power of a fan that gives pressurePa to flowM3s with the given
// efficiency of impeller, drive and motor together, over 0 to 1.
func FanPowerW(flowM3s, pressurePa, efficiency float64) float64 {
	return flowM3s * pressurePa / efficiency
}
