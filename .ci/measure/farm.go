package main

import (
	"fmt"
	"strings"
)

const farmHead = `zone = "America/New_York"
tick = "10 s"
state_dir = %q
site = { latitude = 43.1, longitude = -75.2, elevation = "150 m" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }

[prices]
currency    = "USD"
electricity = "0.17 $/kWh"
fuel        = { kind = "propane", price = "2.90 $/gal", efficiency = "80 %%" }
`

// A house as there are many: one store, two fans, five probes.
const farmHouse = `
[[house]]
name     = "house%02d"
crop     = "lettuce"
setpoint = "5 °C"
frost    = "1 °C"
fallback = "night"
heater   = { setpoint = "3 °C", output = "15 kW" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "model" },
  { role = "humidity", name = "humidity", driver = "model" },
  { role = "outside", name = "outside", driver = "model" },
  { role = "heater-on", name = "heater", driver = "model" },
]

  [[house.store]]
  name  = "beds"
  pipes = { count = 12, length = "18 m", spacing = "60 cm", depth = "45 cm" }
  probe = [ { role = "soil", place = "between", depth = "45 cm", name = "deep", driver = "model" } ]
  fan = [
    { name = "east", driver = "model", power = "350 W", flow = "3200 m³/h", flow_is = "measured" },
    { name = "west", driver = "model", power = "350 W", flow = "3200 m³/h", flow_is = "measured" },
  ]
`

// farm returns the settings of a farm of simulated houses.
func farm(houses int, stateDir string) string {
	var b strings.Builder
	fmt.Fprintf(&b, farmHead, stateDir)
	for i := range houses {
		fmt.Fprintf(&b, farmHouse, i+1)
	}
	return b.String()
}
