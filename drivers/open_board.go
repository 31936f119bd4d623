package drivers

import (
	"context"
	"fmt"
	"slices"

	"periph.io/x/conn/v3/gpio"

	"loambank/drivers/board"
	"loambank/drivers/contact"
	"loambank/drivers/ds18b20"
	"loambank/drivers/pulse"
	"loambank/drivers/relay"
)

// buses is the one table of the buses that are open, since probes of several houses may hang on
// one wire.
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
	return s.calibrate(contact.New(line, contact.Options{Name: s.Name, NormallyClosed: s.NormallyClosed})), nil
}

func openPulse(_ context.Context, s Stanza) (Probe, error) {
	line, err := board.NewEdges(s.Pin)
	if err != nil {
		return nil, fmt.Errorf("probe %s: %w", s.Name, err)
	}
	p, err := pulse.New(line, pulse.Options{Name: s.Name, PerKWh: s.PerKWh})
	if err != nil {
		line.Close() // the stanza's fault is told
		return nil, err
	}
	return s.calibrate(p), nil
}

func openRelay(_ context.Context, s Stanza) (Fan, error) {
	if len(s.Pins) > 0 {
		return openRelays(s)
	}
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

// openRelays opens a relay for each speed.
func openRelays(s Stanza) (Fan, error) {
	if len(s.Pins) != len(s.Levels) {
		return nil, fmt.Errorf("fan %s: %d pins do not suit levels %v; each speed has its own relay", s.Name, len(s.Pins), s.Levels)
	}
	var pins []gpio.PinOut
	var lines []*board.Output
	letGo := func() {
		for _, l := range lines {
			l.Close() // the fan's fault is told
		}
	}
	off := relay.Options{ActiveLow: s.ActiveLow}.Level(false)
	for _, name := range s.Pins {
		line, err := board.NewOutput(name, off)
		if err != nil {
			letGo()
			return nil, fmt.Errorf("fan %s: %w", s.Name, err)
		}
		lines, pins = append(lines, line), append(pins, line)
	}
	f, err := relay.NewGroup(pins, relay.GroupOptions{Name: s.Name, ActiveLow: s.ActiveLow})
	if err != nil {
		letGo()
		return nil, err
	}
	return f, nil
}
