package weather

import (
	"fmt"
	"math"

	"loambank/controller/physics"
)

// plausible refuses a year that no place has. Its limits are wide: common practice, no source.
func (y *Year) plausible() error {
	var meanC, globalWh, darkWh, pressurePa float64
	pressures := 0
	start := y.Start()
	for i := range y.Rows {
		r := &y.Rows[i]
		meanC += float64(r.DryBulb) / float64(len(y.Rows))
		globalWh += r.GlobalWm2
		if r.GlobalWm2 > 0 {
			const dusk = -9 // °; no hour whose middle lies there sees the sun
			if elevation, _ := y.sun(start, y.radiationS(i)); elevation < dusk {
				darkWh += r.GlobalWm2
			}
		}
		if r.Have.Has(Pressure) {
			pressurePa += r.PressurePa
			pressures++
		}
	}
	fault := func(what, remedy string) error { return &Fault{File: y.Name, What: what, Remedy: remedy} }
	switch {
	case meanC > 36:
		return fault(fmt.Sprintf("the year's mean is %.1f °C, warmer than anywhere on Earth", meanC),
			"the file seems to be in Fahrenheit; both formats hold °C")
	case globalWh < 200e3:
		return fault(fmt.Sprintf("the sun gives %.0f kWh/m² in the year", globalWh/1000),
			"500 to 2500 are wanted; is the radiation in W/m²?")
	case darkWh > 0.002*globalWh:
		return fault(fmt.Sprintf("%.1f %% of the sunshine falls in the night of that place", 100*darkWh/globalWh),
			"check time zone and longitude, east positive")
	}
	if pressures > 0 {
		mean, standard := pressurePa/float64(pressures), physics.PressureAtAltitude(y.ElevationM)
		if math.Abs(mean-standard) > 0.08*standard {
			return fault(fmt.Sprintf("the mean pressure of %.0f Pa does not suit %.0f m over the sea", mean, y.ElevationM),
				fmt.Sprintf("about %.0f Pa are usual there; is the elevation in metres, the pressure in the format's unit?", standard))
		}
	}
	return nil
}
