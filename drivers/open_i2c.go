package drivers

import (
	"context"
	"fmt"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/ads1115"
	"loambank/drivers/bme280"
	"loambank/drivers/dac"
	"loambank/drivers/scd4x"
	"loambank/drivers/sht"
)

// Address returns the address that an I²C chip of a kind usually has, 0 for a kind that has none.
func Address(driver string) uint16 {
	switch driver {
	case "ads1115":
		return ads1115.Address
	case "bme280":
		return bme280.Address
	case "dac":
		return dac.Address
	case "scd4x":
		return scd4x.Address
	case "sht3x", "sht4x":
		return sht.Address
	}
	return 0
}

// onI2C opens the bus of a chip and the device behind it. The device closes the bus.
func onI2C[D any](ctx context.Context, s Stanza, what string, open func(bus i2c.Bus, addr uint16) (D, error)) (D, error) {
	var none D
	bus, err := buses.OpenI2C(ctx, s.Bus)
	if err != nil {
		return none, fmt.Errorf("%s %s: %w", what, s.Name, err)
	}
	addr := s.Address
	if addr == 0 {
		addr = Address(s.Driver)
	}
	d, err := open(bus, addr)
	if err != nil {
		bus.Close() // the fault is told
		return none, err
	}
	return d, nil
}

func openSHT(ctx context.Context, s Stanza) (Probe, error) {
	o := sht.Opts{Name: s.Name, Quantity: s.Quantity, Burst: s.HeaterBurst}
	if s.Driver == "sht4x" {
		o.Family = sht.SHT4x
	}
	d, err := onI2C(ctx, s, "probe", func(bus i2c.Bus, addr uint16) (*sht.Dev, error) { return sht.New(bus, addr, o) })
	if err != nil {
		return nil, err
	}
	return s.calibrate(d), nil
}

func openBME280(ctx context.Context, s Stanza) (Probe, error) {
	d, err := onI2C(ctx, s, "probe", func(bus i2c.Bus, addr uint16) (*bme280.Dev, error) {
		return bme280.New(bus, addr, bme280.Opts{Name: s.Name, Quantity: s.Quantity})
	})
	if err != nil {
		return nil, err
	}
	return s.calibrate(d), nil
}

func openSCD4x(ctx context.Context, s Stanza) (Probe, error) {
	d, err := onI2C(ctx, s, "probe", func(bus i2c.Bus, addr uint16) (*scd4x.Dev, error) {
		return scd4x.New(bus, addr, scd4x.Opts{Name: s.Name, Quantity: s.Quantity})
	})
	if err != nil {
		return nil, err
	}
	return s.calibrate(d), nil
}

func openADS1115(ctx context.Context, s Stanza) (Probe, error) {
	d, err := onI2C(ctx, s, "probe", func(bus i2c.Bus, addr uint16) (*ads1115.Dev, error) {
		return ads1115.New(bus, addr, ads1115.Opts{Name: s.Name, Channel: s.Channel, NTC: s.NTC})
	})
	if err != nil {
		return nil, err
	}
	return s.calibrate(d), nil
}

func openDAC(ctx context.Context, s Stanza) (Fan, error) {
	f, err := onI2C(ctx, s, "fan", func(bus i2c.Bus, addr uint16) (*dac.Fan, error) {
		return dac.New(ctx, bus, addr, dac.Opts{Name: s.Name, ActiveLow: s.ActiveLow, Levels: s.Levels})
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}
