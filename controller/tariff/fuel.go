package tariff

import (
	"fmt"
	"math"
	"strings"
)

// Fuel is what a heater burns. The zero value is none.
type Fuel uint8

// The closed list of fuels.
const (
	NoFuel Fuel = iota
	Propane
	HeatingOil // no. 2
	NaturalGas
	WoodPellets
	SeasonedWood // air-dried cord wood
	Electricity  // direct, or a heat pump by its efficiency over 100 %
)

var fuelNames = [...]string{"none", "propane", "heating oil", "natural gas", "wood pellets", "wood", "electricity"}

// String returns the fuel's name as ParseFuel reads it.
func (f Fuel) String() string {
	if int(f) < len(fuelNames) {
		return fuelNames[f]
	}
	return fmt.Sprintf("Fuel(%d)", uint8(f))
}

// ParseFuel reads a fuel's name, such as "propane".
func ParseFuel(name string) (Fuel, error) {
	for f := Propane; int(f) < len(fuelNames); f++ {
		if strings.EqualFold(strings.TrimSpace(name), fuelNames[f]) {
			return f, nil
		}
	}
	return NoFuel, fmt.Errorf("%q is no known fuel; write %s", name, orList(fuelNames[Propane:]))
}

// Exact by definition: the international table BTU, the US gallon, the pound and the foot.
const (
	kWhPerBTU  = 1055.05585262 / 3.6e6
	litresGal  = 3.785411784
	kgPerLb    = 0.45359237
	m3PerFoot3 = 0.028316846592
)

// Heat of combustion, higher heating value.
//   - propane, heating oil no. 2: US Federal Register table of 2007 and EIA Monthly Energy Review;
//   - natural gas: a therm is 100 000 BTU; by volume the mean of US deliveries, EIA "Energy units",
//     from memory;
//   - wood pellets: US DOE and extension tables, from memory, 5 % either way;
//   - seasoned wood: EIA "Energy units", 25 % either way with species and moisture.
const (
	propaneGal = 91333 * kWhPerBTU
	oilGal     = 138690 * kWhPerBTU
	therm      = 100000 * kWhPerBTU
	gasFoot3   = 1036 * kWhPerBTU
	pelletLb   = 8250 * kWhPerBTU
	woodCord   = 20e6 * kWhPerBTU
)

// heats is the energy in each unit a fuel is sold by, kWh, the usual unit first.
var heats = [...]struct {
	fuel Fuel
	per  string
	kWh  float64
}{
	{Propane, "gal", propaneGal},
	{Propane, "L", propaneGal / litresGal},
	{HeatingOil, "gal", oilGal},
	{HeatingOil, "L", oilGal / litresGal},
	{NaturalGas, "therm", therm},
	{NaturalGas, "ccf", 100 * gasFoot3},
	{NaturalGas, "mcf", 1000 * gasFoot3},
	{NaturalGas, "1000 ft3", 1000 * gasFoot3},
	{NaturalGas, "m3", gasFoot3 / m3PerFoot3},
	{NaturalGas, "kWh", 1},
	{WoodPellets, "lb", pelletLb},
	{WoodPellets, "ton", 2000 * pelletLb}, // short
	{WoodPellets, "kg", pelletLb / kgPerLb},
	{WoodPellets, "t", 1000 * pelletLb / kgPerLb}, // metric
	{SeasonedWood, "cord", woodCord},
	{Electricity, "kWh", 1},
}

// HeatPerUnit returns the energy in one unit of the fuel as it is sold, kWh, before the heater's
// losses.
func HeatPerUnit(fuel Fuel, per string) (float64, error) {
	per = strings.TrimSpace(per)
	var known []string
	for _, h := range heats {
		if h.fuel != fuel {
			continue
		}
		if strings.EqualFold(h.per, per) {
			return h.kWh, nil
		}
		known = append(known, h.per)
	}
	if known == nil {
		return 0, fmt.Errorf("%s has no price; name a fuel", fuel)
	}
	return 0, fmt.Errorf("%s is not sold per %q here; write it per %s", fuel, per, orList(known))
}

// maxHeatPump bounds the efficiency of an electric heater: no heat pump yields more over a winter.
const maxHeatPump = 6

// UsefulHeatPrice returns what a kWh of heat costs that reaches the house: price, currency for each
// per of the fuel, over its energy and the heater's efficiency, over 0 to 1, for electricity to 6.
func UsefulHeatPrice(fuel Fuel, price float64, per string, efficiency float64) (float64, error) {
	kWh, err := HeatPerUnit(fuel, per)
	if err != nil {
		return 0, err
	}
	if !(price >= 0) || math.IsInf(price, 1) {
		return 0, fmt.Errorf("a price of %g cannot be; write what a %s costs", price, per)
	}
	most := 1.0
	if fuel == Electricity {
		most = maxHeatPump
	}
	if !(efficiency > 0 && efficiency <= most) {
		return 0, fmt.Errorf("an efficiency of %.4g %% cannot be; for %s it is over 0 %% and up to %.0f %%", efficiency*100, fuel, most*100)
	}
	return price / (kWh * efficiency), nil
}

func orList(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
