package bill

import (
	"fmt"

	"loambank/controller/tariff"
)

// Doubt is why a bill and the account cannot both be right. The zero value is that they can.
type Doubt uint8

// The closed list of doubts.
const (
	NoDoubt   Doubt = iota
	OverMeter       // the fans drew more than the meter counted
	OverFuel        // more was filled up than the heater can have burned
	UnderFuel       // the heater ran for longer than the fuel lasts
)

// How far apart the two may be: a meter of class 2 errs by 2 % (IEC 62053-21); a tank is filled to the
// same mark only so well, and a burner's output is its plate's: common practice, no source.
const (
	meterShare = 0.02
	overShare  = 0.10
	underShare = 0.25
)

// WholeShare is the part of a time from which on the account knows it all: nothing that burned was missed.
const WholeShare = 0.98

// String says what to do about a doubt; empty where there is none.
func (d Doubt) String() string {
	switch d {
	case OverMeter:
		return "The account has more than the meter counted, which cannot be. Look at the fans' power in the settings, at which meter this is, and at the days."
	case OverFuel:
		return "More fuel was filled up than the heater can have burned in the time it was seen on. Look for a leak, for another burner on the tank, and at the heater-on contact."
	case UnderFuel:
		return "The heater was seen on for longer than the fuel lasts. Look at its output in the settings, and whether a fill is missing."
	}
	return ""
}

// Draw is a meter beside the account of its days.
type Draw struct {
	MeterKWh, FansKWh float64
}

// Share is the part of the meter that the fans are, 0 and more.
func (d Draw) Share() float64 { return d.FansKWh / d.MeterKWh }

// Doubt says whether both can be right.
func (d Draw) Doubt() Doubt {
	if d.FansKWh > d.MeterKWh*(1+meterShare) {
		return OverMeter
	}
	return NoDoubt
}

// Burn is fuel beside the heater that burned it.
type Burn struct {
	FuelKWh   float64 // heat that the fuel gives to the house, by the heater's efficiency
	HeaterKWh float64 // heat by the heater's output and the time it was seen on
	Seen      bool    // HeaterKWh is known: there is a heater-on probe, and an output is stated
	Known     float64 // part of the time that the account knows, 0 to 1; HeaterKWh is of that part
}

// Burned is what a fill gave and the heater is seen to have given: onS is the time it was on, s, negative
// where nothing tells; outputW is its output, 0 where it is not stated; known is the part of the time that
// the account knows.
func Burned(f Fill, fuel tariff.Fuel, efficiency, onS, outputW, known float64) (Burn, error) {
	kWh, err := tariff.HeatPerUnit(fuel, f.Per)
	if err != nil {
		return Burn{}, fmt.Errorf("fill of %s: %w", f.Day, err)
	}
	b := Burn{FuelKWh: f.Amount * kWh * efficiency, Known: known}
	if onS >= 0 && outputW > 0 {
		b.HeaterKWh, b.Seen = onS*outputW/3.6e6, true
	}
	return b, nil
}

// Doubt says whether both can be right.
func (b Burn) Doubt() Doubt {
	switch {
	case !b.Seen:
		return NoDoubt
	case b.Known >= WholeShare && b.FuelKWh > b.HeaterKWh*(1+overShare):
		return OverFuel
	case b.HeaterKWh > b.FuelKWh*(1+underShare):
		return UnderFuel
	}
	return NoDoubt
}
