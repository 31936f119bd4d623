package drivers

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"loambank/drivers/file"
	"loambank/drivers/recording"
)

// kind is one line of the table: what opens a probe and what opens a fan of that driver. A kind
// with neither is a name a config may hold already, for a board that carries its driver.
type kind struct {
	name  string
	probe func(context.Context, Stanza) (Probe, error)
	fan   func(context.Context, Stanza) (Fan, error)
}

var kinds = [...]kind{
	{"ads1115", openADS1115, nil},
	{"bme280", openBME280, nil},
	{"contact", openContact, nil},
	{"dac", nil, openDAC},
	{"ds18b20", openDS18B20, nil},
	{"file", openFileProbe, openFileFan},
	{"modbus", openModbusProbe, openModbusFan},
	{"model", openModelProbe, openModelFan},
	{"mqtt", openMQTTProbe, openMQTTFan},
	{"pulse", openPulse, nil},
	{"recording", openRecording, nil},
	{"relay", nil, openRelay},
	{"scd4x", openSCD4x, nil},
	{"sht3x", openSHT, nil},
	{"sht4x", openSHT, nil},
}

// Kinds returns the names of the drivers a config may name, sorted.
func Kinds() []string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.name)
	}
	return names
}

// Opens reports whether this program has a driver of that kind for probes, and one for fans.
// Both are false for a kind that is not known.
func Opens(driver string) (probe, fan bool) {
	for _, k := range kinds {
		if k.name == driver {
			return k.probe != nil, k.fan != nil
		}
	}
	return false, false
}

// OpenProbe opens a probe. A device that is not there yet is no error where the driver can find
// it later: then Read says so. The caller closes the probe.
func OpenProbe(ctx context.Context, s Stanza) (Probe, error) {
	for _, k := range kinds {
		if k.name == s.Driver && k.probe != nil {
			p, err := k.probe(ctx, s)
			return p, s.at(err)
		}
	}
	return nil, s.at(s.noDriver("probe", func(k kind) bool { return k.probe != nil }))
}

// OpenFan opens a fan, puts it off and checks that it is. A fan that is not there is an error.
// The caller closes the fan.
func OpenFan(ctx context.Context, s Stanza) (Fan, error) {
	for _, k := range kinds {
		if k.name == s.Driver && k.fan != nil {
			f, err := k.fan(ctx, s)
			return f, s.at(err)
		}
	}
	return nil, s.at(s.noDriver("fan", func(k kind) bool { return k.fan != nil }))
}

func (s Stanza) noDriver(what string, has func(kind) bool) error {
	var names []string
	for _, k := range kinds {
		if has(k) {
			names = append(names, k.name)
		}
	}
	return fmt.Errorf("%s %s: no driver %.40q for a %s in this program; it has %s",
		what, s.Name, s.Driver, what, strings.Join(names, ", "))
}

// at puts the place in the config before an error of opening.
func (s Stanza) at(err error) error {
	if err == nil || s.Where == "" {
		return err
	}
	return fmt.Errorf("%s: %w", s.Where, err)
}

func openFileProbe(_ context.Context, s Stanza) (Probe, error) {
	p, err := file.NewProbe(file.ProbeOptions{
		Name: s.Name, Path: s.Path, Format: s.Format, Scale: s.Scale, Offset: s.Offset,
	})
	if err != nil {
		return nil, err // not p: a nil *file.Probe in the interface would not be nil
	}
	return p, nil
}

func openFileFan(ctx context.Context, s Stanza) (Fan, error) {
	f, err := file.NewFan(ctx, file.FanOptions{
		Name: s.Name, Path: s.Path, Format: s.Format, ActiveLow: s.ActiveLow, Levels: s.Levels,
		Create: !kernelPath(s.Path),
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}

func openRecording(ctx context.Context, s Stanza) (Probe, error) {
	p, err := recording.OpenProbe(ctx, recording.ProbeOptions{
		Name: s.Name, Path: s.Path, Column: s.Column, Zone: s.Zone, Now: s.Now,
	})
	if err != nil {
		return nil, err
	}
	return s.calibrate(p), nil
}

var errNoModel = errors.New("no simulated house is behind it; model devices work under run and demo")

func openModelProbe(_ context.Context, s Stanza) (Probe, error) {
	sim := s.Simulated
	if sim.House == nil {
		return nil, fmt.Errorf("probe %s: %w", s.Name, errNoModel)
	}
	p, err := sim.House.Probe(s.Name, sim.Index)
	if err != nil {
		return nil, err
	}
	return s.calibrate(p), nil
}

func openModelFan(_ context.Context, s Stanza) (Fan, error) {
	sim := s.Simulated
	if sim.House == nil {
		return nil, fmt.Errorf("fan %s: %w", s.Name, errNoModel)
	}
	f, err := sim.House.Fan(s.Name, sim.Store, sim.Index, len(s.Levels))
	if err != nil {
		return nil, err
	}
	return f, nil
}
