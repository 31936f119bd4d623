package drivers

import (
	"context"
	"fmt"
	"slices"

	"loambank/drivers/modbus"
)

// stations is the one table of the Modbus buses that are open.
var stations = modbus.NewBuses()

func (s Stanza) modbusBus(what string) (*modbus.Bus, error) {
	link, err := modbus.ParseLink(s.URL)
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", what, s.Name, err)
	}
	bus, err := stations.Open(link)
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", what, s.Name, err)
	}
	return bus, nil
}

func openModbusProbe(_ context.Context, s Stanza) (Probe, error) {
	bus, err := s.modbusBus("probe")
	if err != nil {
		return nil, err
	}
	return s.calibrate(modbus.NewProbe(bus, modbus.ProbeOptions{Name: s.Name, Unit: s.Unit, Register: s.Register})), nil
}

func openModbusFan(ctx context.Context, s Stanza) (Fan, error) {
	values := slices.Clone(s.Values)
	if len(values) == 0 && s.Register.Table == modbus.Coil {
		values = []float64{0, 1}
	}
	switch {
	case s.ActiveLow && len(s.Values) > 0:
		return nil, fmt.Errorf("fan %s: values say what runs it, not a low level; write the value of off first", s.Name)
	case s.ActiveLow:
		slices.Reverse(values)
	}
	if n := max(len(s.Levels), 1) + 1; len(values) != n {
		return nil, fmt.Errorf("fan %s: %d values do not suit %d stages; write one for off and one for each level", s.Name, len(values), n-1)
	}
	bus, err := s.modbusBus("fan")
	if err != nil {
		return nil, err
	}
	f, err := modbus.NewFan(ctx, bus, modbus.FanOptions{Name: s.Name, Unit: s.Unit, Register: s.Register, Values: values})
	if err != nil {
		bus.Close() // the fan's fault is told
		return nil, err
	}
	return f, nil
}
