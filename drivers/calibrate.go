package drivers

import (
	"context"
	"fmt"
	"math"

	"loambank/drivers/device"
)

// calibrated is a probe whose value is scaled and offset as its stanza says.
type calibrated struct {
	Probe
	scale, offset float64
}

// calibrate puts scale and offset of a stanza on a probe of a driver that knows neither.
func (s Stanza) calibrate(p Probe) Probe {
	if s.Scale == 0 {
		s.Scale = 1
	}
	if s.Scale == 1 && s.Offset == 0 {
		return p
	}
	return calibrated{p, s.Scale, s.Offset}
}

// Read measures once, as Probe says.
func (c calibrated) Read(ctx context.Context) (float64, error) {
	v, err := c.Probe.Read(ctx)
	if err != nil {
		return 0, err
	}
	v = v*c.scale + c.offset
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%v: scale takes the value out of range: %w", c.Probe, device.ErrFormat)
	}
	return v, nil
}
