package device

// Quantity is what a chip that measures several things is asked for. NoQuantity, the zero value,
// is "not stated".
type Quantity uint8

// What chips measure, and the unit a probe reads it in.
const (
	NoQuantity  Quantity = iota
	Temperature          // °C
	Humidity             // relative, over water, 0 to 1
	Pressure             // Pa
	CO2                  // ppm by volume
	Power                // W
)

var quantities = [...]string{"nothing", "temperature", "humidity", "pressure", "co2", "power"}

// String returns the word for a quantity, "nothing" for the zero value.
func (q Quantity) String() string {
	if int(q) < len(quantities) {
		return quantities[q]
	}
	return "something unknown"
}
