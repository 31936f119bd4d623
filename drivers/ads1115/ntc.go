package ads1115

import (
	"errors"
	"fmt"
	"math"

	"loambank/drivers/device"
)

const kelvin = 273.15 // of 0 °C

// NTC is a thermistor in series with a fixed resistor, between supply and ground, with the input
// between the two.
type NTC struct {
	// Beta is the B value, K, and Ohm the resistance at 25 °C, Ω: R = Ohm · e^(B (1/T − 1/298.15 K)).
	// The equation is true to a few tenths of a degree near 25 °C, and to some degrees 40 K away.
	Beta, Ohm float64
	// Steinhart are the three coefficients A, B, C, 1/K, of 1/T = A + B ln R + C (ln R)³
	// (Steinhart and Hart 1968). Where they are stated, Beta and Ohm are not.
	Steinhart [3]float64

	FixedOhm float64 // of the other resistor, Ω
	SupplyV  float64 // over both, V; up to 5.5
	// ToSupply says that the thermistor lies between supply and input; otherwise it lies between
	// input and ground.
	ToSupply bool
}

// Check refuses what no thermistor, resistor or supply has.
func (n NTC) Check() error {
	steinhart := n.Steinhart != [3]float64{}
	switch {
	case steinhart && (n.Beta != 0 || n.Ohm != 0):
		return errors.New("the thermistor has both a B value and Steinhart–Hart coefficients; state one of the two")
	case !steinhart && !(n.Beta >= 1000 && n.Beta <= 10_000 && n.Ohm >= 100 && n.Ohm <= 1e6):
		return fmt.Errorf("no thermistor has a B value of %g K and %g Ω at 25 °C; a usual one has 3950 K and 10000 Ω", n.Beta, n.Ohm)
	case !(n.FixedOhm >= 100 && n.FixedOhm <= 1e6):
		return fmt.Errorf("a fixed resistor of %g Ω does not suit; write 100 to 1000000", n.FixedOhm)
	case !(n.SupplyV >= 1 && n.SupplyV <= 5.5):
		return fmt.Errorf("a supply of %g V does not suit; write 1 to 5.5", n.SupplyV)
	}
	if at25 := n.celsius(10_000); steinhart && !(at25 > -50 && at25 < 110) {
		return fmt.Errorf("the Steinhart–Hart coefficients %v make 10 kΩ %.4g °C; look at their powers of ten", n.Steinhart, at25)
	}
	return nil
}

// rail is how near to ground or supply, as a share of the supply, a broken or shorted wire brings
// the input. Common practice, no source.
const rail = 0.02

// Celsius returns the temperature, °C, at a voltage of the input. It gives ErrAbsent for a broken
// wire and ErrFormat for a short, or a temperature outside -50..110 °C.
func (n NTC) Celsius(inputV float64) (float64, error) {
	share := inputV / n.SupplyV // of the supply that lies over the thermistor
	if n.ToSupply {
		share = 1 - share
	}
	switch {
	case share > 1-rail:
		return 0, fmt.Errorf("%w: no current runs through the thermistor, at %.3f V its wire is broken or unplugged", device.ErrAbsent, inputV)
	case !(share >= rail):
		return 0, fmt.Errorf("the thermistor is shorted, at %.3f V: %w", inputV, device.ErrFormat)
	}
	t := n.celsius(n.FixedOhm * share / (1 - share))
	if !(t >= -50 && t <= 110) {
		return 0, fmt.Errorf("at %.3f V the thermistor would be at %.4g °C; look at its figures: %w", inputV, t, device.ErrFormat)
	}
	return t, nil
}

// celsius is the temperature, °C, of a resistance.
func (n NTC) celsius(ohm float64) float64 {
	if a := n.Steinhart; a != [3]float64{} {
		l := math.Log(ohm)
		return 1/(a[0]+a[1]*l+a[2]*l*l*l) - kelvin
	}
	return 1/(1/(25+kelvin)+math.Log(ohm/n.Ohm)/n.Beta) - kelvin
}
