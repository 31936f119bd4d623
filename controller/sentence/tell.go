package sentence

import (
	"fmt"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// View is all that a house's sentence is made from.
type View struct {
	Settings *decide.Settings
	Inputs   *decide.Inputs
	Decision *decide.Decision
	State    *decide.State // after the decision
	Zone     *time.Location
	OldestS  float64 // age of the oldest reading in use, s
}

// Tell answers, in this order: is the crop safe, what do the fans do and why, what comes next,
// what must the grower do, how old are the readings.
func (sp Speaker) Tell(v View) string {
	parts := []string{sp.crop(&v)}
	for i := range v.Settings.Stores {
		parts = append(parts, sp.fans(&v, i))
		if next := sp.next(&v, i); next != "" {
			parts = append(parts, next)
		}
	}
	parts = append(parts, todo(&v))
	if v.OldestS >= 60 {
		parts = append(parts, "Oldest reading "+sp.Display.Duration(v.OldestS)+" old.")
	}
	return strings.Join(parts, " ")
}

// policy is what the house asked for when it was decided.
func policy(v *View) *decide.Policy { return &v.Settings.Policies[v.Decision.Window+1] }

// crop says whether the crop is safe.
func (sp Speaker) crop(v *View) string {
	p, low := policy(v), v.Inputs.CropLow
	if !low.Quality.Usable() {
		low = v.Inputs.CropAir
	}
	switch {
	case !p.Crop:
		return "No crop to protect."
	case !low.Quality.Usable():
		return "CROP NOT WATCHED: the air cannot be read."
	case v.Decision.Alarms.FrostNoHelp:
		return fmt.Sprintf("CROP AT RISK: house %s, the store cannot help.", sp.Display.Temperature(low.C))
	case v.Decision.Alarms.HandOffFrost:
		return fmt.Sprintf("CROP AT RISK: house %s, fans kept off by hand.", sp.Display.Temperature(low.C))
	case low.C <= p.Frost:
		return fmt.Sprintf("CROP NEAR FROST: house %s.", sp.Display.Temperature(low.C))
	}
	l := v.State.Low
	if !l.Known || l.Since == 0 {
		return fmt.Sprintf("Crop safe: house %s.", sp.Display.Temperature(low.C))
	}
	at := time.Unix(l.Unix, 0).In(v.Zone).Format("15:04")
	return fmt.Sprintf("Crop safe: lowest %s at %s.", sp.Display.Temperature(l.C), at)
}

// fans says what the fans of a store do and why.
func (sp Speaker) fans(v *View, i int) string {
	d, ss := &v.Decision.Stores[i], &v.State.Stores[i]
	subject := "Fans"
	if len(v.Settings.Stores) > 1 {
		subject = "Fans of " + v.Settings.Stores[i].Name
	}
	why := sp.Why(v.Settings, d.Reason)
	if !d.Running() {
		return fmt.Sprintf("%s off: %s.", subject, why)
	}
	text := fmt.Sprintf("%s on %s, %s", subject, sp.Display.Duration(ss.RunS), why)
	if d.Waiting.Code != decide.NoReason {
		text += "; one more is " + sp.Why(v.Settings, d.Waiting)
	}
	return text + "."
}

// next says when a store's fans will stop or start.
func (sp Speaker) next(v *View, i int) string {
	p, d := policy(v), &v.Decision.Stores[i]
	sp1 := &p.Stores[i]
	switch {
	case d.Running() && d.Reason.Code == decide.MinimumRun:
		return ""
	case d.State == decide.Discharge && d.Reason.Code != decide.HandRun:
		return fmt.Sprintf("They stop at %s.", sp.Display.Setting(p.Setpoint.Add(p.SetpointBand)))
	case d.State == decide.Frost:
		return fmt.Sprintf("They stop at %s.", sp.Display.Setting(p.Frost.Add(p.FrostBand)))
	case d.State == decide.Charge && d.Reason.Code != decide.HandRun && d.Reason.HasSoil:
		stop := d.Reason.Soil.Add(sp1.Margin - sp1.MarginBand)
		return fmt.Sprintf("They stop when the house falls to %s or the soil reaches %s.",
			sp.Display.Temperature(unit.Celsius(stop)), sp.Display.Setting(sp1.SoilCap))
	}
	return ""
}

// todo says what the grower must do now.
func todo(v *View) string {
	a := v.Decision.Alarms
	var todo []string
	if a.Smoke {
		todo = append(todo, "Find the smoke, then clear the fault.")
	}
	if a.FrostNoHelp {
		todo = append(todo, "Light the heater, cover the beds.")
	}
	if a.HandOffFrost {
		todo = append(todo, "Give the fans back to automatic.")
	}
	if a.AirLost {
		todo = append(todo, "Look at the air probes and watch the crop yourself.")
	}
	if a.FanFault {
		todo = append(todo, "Lock out the disconnect, then look at the faulty fan.")
	}
	for i := range v.Settings.Stores {
		in := &v.Inputs.Stores[i]
		if in.PipeWater == decide.On {
			todo = append(todo, "Drain the pipes.")
		}
		if !in.Soil.Known || in.Soil.LostS > 0 {
			todo = append(todo, "Look at the soil probes.")
		}
	}
	if len(todo) == 0 {
		return "Nothing to do."
	}
	return strings.Join(todo, " ")
}
