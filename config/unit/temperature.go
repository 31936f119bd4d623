// Package unit holds the two types whose mix-up costs a crop, Celsius and Kelvin, the parsing of
// quantities as growers write them ("65 °F", "1.2 kW"), and their rendering in the grower's units.
//
// It imports nothing of this module; everything else may import it. Inside the program every
// other number is a plain float64 in SI whose name says its unit (powerW, flowM3s).
package unit

// Celsius is a temperature, a point on the scale, in °C.
type Celsius float64

// Kelvin is a difference between two temperatures, in K.
type Kelvin float64

// Sub returns c − o.
func (c Celsius) Sub(o Celsius) Kelvin { return Kelvin(c - o) }

// Add returns c shifted by d.
func (c Celsius) Add(d Kelvin) Celsius { return c + Celsius(d) }

// Display is the set of units in which people are answered. The zero value is SI.
type Display uint8

// The closed list of display units.
const (
	SI Display = iota
	US
)
