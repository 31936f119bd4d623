package drivers

import (
	"context"
	"fmt"
	"slices"

	"loambank/drivers/board"
	"loambank/drivers/contact"
	"loambank/drivers/ds18b20"
	"loambank/drivers/relay"
)

// buses is the one table of the 1-Wire buses that are open, since probes of several houses may
// hang on one wire.
var buses = board.NewBuses()

func openDS18B20(ctx context.Context, s Stanza) (Probe, error) {
	addr, err := ds18b20.ParseID(s.ID)
	if err != nil {
		return nil, fmt.Errorf("probe %s: %w", s.Name, err)
	}
	bus, err := buses.Open(ctx, s.Bus)
	if err != nil {
		return nil, fmt.Errorf("probe %s: %w", s.Name, err)
	}
	d, err := ds18b20.New(bus, addr, ds18b20.Opts{Name: s.Name})
	if err != nil {
		bus.Close() // the stanza's fault is told, and nothing was done on the bus
		return nil, err
	}
	return s.calibrate(d), nil
}

func openContact(_ context.Context, s Stanza) (Probe, error) {
	line, err := board.NewInput(s.Pin)
	if err != nil {
		return nil, fmt.Errorf("probe %s: %w", s.Name, err)
	}
	return s.calibrate(contact.New(line, contact.Options{Name: s.Name})), nil
}

func openRelay(_ context.Context, s Stanza) (Fan, error) {
	if len(s.Levels) > 0 && !slices.Equal(s.Levels, []float64{1}) {
		return nil, fmt.Errorf("fan %s: a relay has no levels %v; it is off or at full speed", s.Name, s.Levels)
	}
	o := relay.Options{Name: s.Name, ActiveLow: s.ActiveLow}
	line, err := board.NewOutput(s.Pin, o.Level(false))
	if err != nil {
		return nil, fmt.Errorf("fan %s: %w", s.Name, err)
	}
	f, err := relay.New(line, o)
	if err != nil {
		line.Close() // the fan is of no use, and its fault is told
		return nil, err
	}
	return f, nil
}
