package sentence

import (
	"fmt"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/learn"
)

// View is all that a house's sentence is made from.
type View struct {
	Settings *decide.Settings
	Inputs   *decide.Inputs
	Decision *decide.Decision
	State    *decide.State // after the decision
	Zone     *time.Location
	OldestS  float64 // age of the oldest reading in use, s
	// Tonight is what is left in the stores, nil where it is not known; Sunrise the next, zero where
	// there is none.
	Tonight *learn.Tonight
	Sunrise time.Time
	// Disobey marks the fans that do not take orders: what is decided of them does not happen.
	Disobey [decide.MaxStores][decide.MaxFans]bool
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
	if tonight := sp.tonight(&v); tonight != "" {
		parts = append(parts, tonight)
	}
	parts = append(parts, todo(&v))
	if v.OldestS >= 60 {
		parts = append(parts, "Oldest reading "+sp.Display.Duration(v.OldestS)+" old.")
	}
	return strings.Join(parts, " ")
}

// policy is what the house asked for when it was decided.
func policy(v *View) *decide.Policy { return &v.Settings.Policies[v.Decision.Window+1] }

// runs reports whether a fan of store i really runs.
func (v *View) runs(i int) bool {
	for j, stage := range v.Decision.Stores[i].Stages {
		if stage > 0 && !v.Disobey[i][j] {
			return true
		}
	}
	return false
}

// crop says whether the crop is safe.
func (sp Speaker) crop(v *View) string {
	p, low := policy(v), v.Inputs.CropLow
	if !low.Quality.Usable() {
		low = v.Inputs.CropAir
	}
	house := sp.Display.Temperature(low.C)
	switch {
	case !p.Crop:
		return "No crop to protect."
	case !low.Quality.Usable():
		return "CROP NOT WATCHED: the air cannot be read."
	case v.Decision.Alarms.HandOffFrost:
		return fmt.Sprintf("CROP AT RISK: house %s, fans kept off by hand.", house)
	case v.Decision.Alarms.FrostNoHelp, unhelped(v):
		return fmt.Sprintf("CROP AT RISK: house %s, %s.", house, sp.noHelp(v))
	case low.C <= p.Frost || saving(v):
		return fmt.Sprintf("CROP NEAR FROST: house %s, frost limit %s.", house, sp.Display.Setting(p.Frost))
	}
	l := v.State.Low
	if !l.Known || l.Since == 0 {
		return fmt.Sprintf("Crop safe: house %s.", house)
	}
	at := fmt.Sprintf("lowest %s at %s", sp.Display.Temperature(l.C), time.Unix(l.Unix, 0).In(v.Zone).Format("15:04"))
	if l.C <= p.Frost {
		return fmt.Sprintf("Crop safe now: house %s, but %s, at or under its frost limit of %s.",
			house, at, sp.Display.Setting(p.Frost))
	}
	return fmt.Sprintf("Crop safe: %s.", at)
}

// disobeyed reports whether no fan of a store takes orders.
func (v *View) disobeyed(i int) bool {
	for j := range v.Settings.Stores[i].Fans {
		if !v.Disobey[i][j] {
			return false
		}
	}
	return true
}

// saving reports whether frost protection runs.
func saving(v *View) bool {
	for i := range v.Settings.Stores {
		if v.Decision.Stores[i].State == decide.Frost {
			return true
		}
	}
	return false
}

// unhelped reports whether frost protection was decided and not one fan follows.
func unhelped(v *View) bool {
	for i := range v.Settings.Stores {
		if v.runs(i) {
			return false
		}
	}
	return saving(v)
}

// noHelp says why the store does not save the crop.
func (sp Speaker) noHelp(v *View) string {
	if unhelped(v) {
		return "the fans do not obey"
	}
	best := -1
	for i := range v.Settings.Stores {
		switch d := &v.Decision.Stores[i]; {
		case d.State == decide.Hold:
			return "the fans are held off"
		case d.Reason.Code == decide.WaitFault && v.disobeyed(i):
			return "the fans do not obey"
		case d.Reason.Code >= decide.WaitRest:
			return "no fan runs yet"
		}
		soil := v.Inputs.Stores[i].Soil
		if soil.Known && (best < 0 || soil.C > v.Inputs.Stores[best].Soil.C) {
			best = i
		}
	}
	if best < 0 {
		return "the store cannot help"
	}
	return fmt.Sprintf("soil only %s, the store cannot help", sp.Display.Temperature(v.Inputs.Stores[best].Soil.C))
}

// fans says what the fans of a store do and why.
func (sp Speaker) fans(v *View, i int) string {
	d, ss := &v.Decision.Stores[i], &v.State.Stores[i]
	subject := "Fans"
	if len(v.Settings.Stores) > 1 {
		subject = "Fans of " + v.Settings.Stores[i].Name
	}
	why := sp.Why(v.Settings, d.Reason)
	switch {
	case !d.Running():
		return fmt.Sprintf("%s off: %s.", subject, why)
	case !v.runs(i):
		return fmt.Sprintf("%s told to run but do not obey, %s.", subject, why)
	}
	text := fmt.Sprintf("%s on %s, %s", subject, sp.Display.Duration(ss.RunS), why)
	if d.Waiting.Code != decide.NoReason {
		text += "; one more is " + sp.Why(v.Settings, d.Waiting)
	}
	return text + "."
}

// next says when a store's fans will stop or start, where the reason has not said it.
func (sp Speaker) next(v *View, i int) string {
	p, d := policy(v), &v.Decision.Stores[i]
	sp1 := &p.Stores[i]
	switch code := d.Reason.Code; {
	case code == decide.AboveSetpoint:
		return fmt.Sprintf("Heat comes up again under %s.", sp.Display.Setting(p.Setpoint))
	case !v.runs(i), code == decide.MinimumRun, code == decide.HandRun, code == decide.AirGrace:
		return ""
	case d.State == decide.Discharge:
		return fmt.Sprintf("They stop at %s.", sp.Display.Setting(p.Setpoint.Add(p.SetpointBand)))
	case d.State == decide.Frost:
		return fmt.Sprintf("They stop at %s.", sp.Display.Setting(p.Frost.Add(p.FrostBand)))
	case d.State == decide.Charge && d.Reason.HasSoil:
		stop := d.Reason.Soil.Add(sp1.Margin - sp1.MarginBand)
		return fmt.Sprintf("They stop when the house falls to %s or the soil reaches %s.",
			sp.Display.Temperature(unit.Celsius(stop)), sp.Display.Setting(sp1.SoilCap))
	}
	return ""
}
