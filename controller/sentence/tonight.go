package sentence

import (
	"fmt"
	"math"

	"loambank/config/unit"
	"loambank/controller/learn"
)

// coldest is an outside temperature under which no condition is told: nobody's garden gets there.
const coldest unit.Celsius = -45

// doubted is the error from which on a temperature is told with it.
const doubted unit.Kelvin = 1.5

// tonight says while it is dark whether the house should hold its setpoint until the sun is up. It is
// silent where the crop's danger was told already, and where too little is known.
func (sp Speaker) tonight(v *View) string {
	if !v.foreseen() {
		return ""
	}
	t := v.Tonight
	sunrise := "sunrise (" + v.Sunrise.In(v.Zone).Format("15:04") + ")"
	hold := sp.Display.Temperature(t.HoldOutside)
	if t.HoldSE >= doubted {
		hold += " ± " + sp.Display.Difference(unit.Kelvin(math.Round(float64(t.HoldSE))))
	}
	switch {
	case t.Bind == learn.BindRate:
		return fmt.Sprintf("Will hold to %s only if outside stays above %s; %s is expected (%s).",
			sunrise, hold, sp.Display.Temperature(t.Low.Temp.C), t.Low.Origin)
	case t.Bind == learn.BindAmount:
		return fmt.Sprintf("At tonight's loss the store is used up in %s, before %s.", sp.Display.Duration(shortest(t)), sunrise)
	case t.HoldOutside < coldest:
		return "Should hold to " + sunrise + "."
	}
	return fmt.Sprintf("Should hold to %s if outside stays above %s.", sunrise, hold)
}

// foreseen reports whether something of tonight is worth telling.
func (v *View) foreseen() bool {
	return v.Tonight != nil && v.Tonight.Known && !v.Sunrise.IsZero() && v.State.Slot.Night && policy(v).Crop &&
		!v.Decision.Alarms.FrostNoHelp && !saving(v)
}

// failing reports whether the store will likely not hold the setpoint until sunrise.
func (v *View) failing() bool {
	return v.foreseen() && (v.Tonight.Bind == learn.BindRate || v.Tonight.Bind == learn.BindAmount)
}

// shortest is the time until the first store is used up, s, told to a quarter of an hour.
func shortest(t *learn.Tonight) float64 {
	hours := math.Inf(1)
	for _, left := range t.Stores {
		if left.Known && !left.Lasts {
			hours = min(hours, left.HoursLeft)
		}
	}
	const quarterS = 900
	return max(quarterS, math.Round(hours*3600/quarterS)*quarterS)
}
