package sentence

import (
	"strings"

	"loambank/controller/decide"
)

// todo says what the grower must do now, the most pressing first.
func todo(v *View) string {
	a := v.Decision.Alarms
	var all []string
	add := func(when bool, what string) {
		if when {
			all = append(all, what)
		}
	}
	add(a.Smoke, "Find the smoke, then clear the fault.")
	add(a.HandOffFrost, "Give the fans back to automatic.")
	add(a.FrostNoHelp || unhelped(v), "Light the heater, cover the beds.")
	add(v.failing(), "Have heater and covers ready.")
	add(a.AirLost, "Look at the air probes and watch the crop yourself.")
	if fans := faulty(v); len(fans) > 0 {
		all = append(all, "Lock out the disconnect, then look at "+strings.Join(fans, ", ")+".")
	}
	for _, fan := range backedUp(v) {
		all = append(all, "Find the cause of the cold: "+fan+" is run by its backup thermostat.")
	}
	for i := range v.Settings.Stores {
		in, of := &v.Inputs.Stores[i], ""
		if len(v.Settings.Stores) > 1 {
			of = " of " + v.Settings.Stores[i].Name
		}
		add(in.PipeWater == decide.On, "Drain the pipes"+of+".")
		add(!in.Soil.Known || in.Soil.LostS > 0, "Look at the soil probes"+of+".")
	}
	if len(all) == 0 {
		return "Nothing to do."
	}
	return strings.Join(all, " ")
}

// faulty names the fans that a person must look at, and why.
func faulty(v *View) []string {
	var all []string
	for i := range v.Settings.Stores {
		store := &v.Settings.Stores[i]
		for j := range store.Fans {
			what := ""
			switch fault := v.State.Stores[i].Fans[j].Fault; {
			case v.Disobey[i][j]:
				what = "takes no orders"
			case fault == decide.DoesNotStart:
				what = "does not start"
			case fault == decide.StuckOn:
				what = "does not stop"
			case fault == decide.Weak:
				what = "moves too little air"
			default:
				continue
			}
			all = append(all, "fan "+store.Fans[j].Name+" of "+store.Name+", which "+what)
		}
	}
	return all
}

// backedUp names the fans that their own thermostats run.
func backedUp(v *View) []string {
	var all []string
	for i := range v.Settings.Stores {
		store := &v.Settings.Stores[i]
		for j := range store.Fans {
			if v.State.Stores[i].Fans[j].ByBackup {
				all = append(all, "fan "+store.Fans[j].Name+" of "+store.Name)
			}
		}
	}
	return all
}
