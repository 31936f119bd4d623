package sentence_test

import (
	"fmt"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/sentence"
)

// morning is an invented house with one store at five in the morning, all well and at rest: the
// stories change it.
func morning(t testing.TB, stores ...string) *sentence.View {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	if len(stores) == 0 {
		stores = []string{"beds"}
	}
	policy := decide.Policy{Crop: true, Setpoint: 6, SetpointBand: 1, Frost: 1.5, FrostBand: 1, FrostGain: 1, ChargeFloor: 7}
	v := &sentence.View{
		Settings: calendar(), Inputs: &decide.Inputs{}, Decision: &decide.Decision{Window: -1}, State: &decide.State{},
		Zone: zone,
	}
	for i, name := range stores {
		policy.Stores = append(policy.Stores, decide.StorePolicy{
			Margin: 4, MarginBand: 1.5, Gain: 3, GainBand: 1, SoilCap: 28, SoilFloor: 7,
		})
		v.Settings.Stores = append(v.Settings.Stores, decide.Store{
			Name: name, Fans: []decide.Fan{{Name: "east"}, {Name: "west"}},
		})
		v.Inputs.Stores[i].Soil = judge.Carried{C: 13.9, Quality: judge.Good, Known: true}
		v.Decision.Stores[i].Reason = reason(decide.AboveSetpoint)
	}
	v.Settings.Policies = []decide.Policy{policy}
	air(v, 8.9)
	v.State.Low = decide.Low{
		C: 2.8, Known: true, Since: 1, Unix: time.Date(2026, 1, 21, 4, 40, 0, 0, zone).Unix(),
	}
	return v
}

// air sets the crop's air.
func air(v *sentence.View, c unit.Celsius) {
	v.Inputs.CropAir = decide.Temperature{C: c, Quality: judge.Good}
	v.Inputs.CropLow = v.Inputs.CropAir
}

// dark makes it night, with so much left in the stores.
func dark(v *sentence.View, bind learn.Bind, hold unit.Celsius, se unit.Kelvin) *learn.Tonight {
	v.State.Slot.Night = true
	v.Sunrise = time.Date(2026, 1, 21, 7, 12, 0, 0, v.Zone)
	v.Tonight = &learn.Tonight{
		Known: true, Bind: bind, HoldOutside: hold, HoldSE: se,
		Low: learn.Low{Temp: learn.Temp{C: -12.2, Known: true}, Origin: learn.LastNights},
	}
	v.Tonight.Stores[0] = learn.Left{Known: true, HoursLeft: 4.4}
	v.Tonight.Stores[1] = learn.Left{Known: true, HoursLeft: 5}
	v.Tonight.Stores[2] = learn.Left{Known: true, Lasts: true}
	return v.Tonight
}

// on runs both fans of a store for ten minutes over two hours.
func on(v *sentence.View, i int, state decide.Activity, code decide.Code) *decide.StoreDecision {
	d := &v.Decision.Stores[i]
	d.State, d.Reason = state, reason(code)
	d.Stages[0], d.Stages[1] = 1, 1
	v.State.Stores[i].RunS = 7800
	return d
}

// off keeps the fans of a store off.
func off(v *sentence.View, i int, state decide.Activity, code decide.Code) {
	v.Decision.Stores[i] = decide.StoreDecision{State: state, Reason: reason(code)}
}

// story is one situation in a house.
type story struct {
	name   string
	stores []string
	change func(v *sentence.View)
}

var stories = []story{
	{"a cold night, heat comes up", nil, func(v *sentence.View) {
		air(v, 3.3)
		on(v, 0, decide.Discharge, decide.DischargePays)
	}},
	{"the store is empty and frost comes", nil, func(v *sentence.View) {
		air(v, 1.2)
		v.Inputs.Stores[0].Soil.C = 1.9
		off(v, 0, decide.Rest, decide.FrostNoHelp)
		v.Decision.Alarms.FrostNoHelp = true
	}},
	{"the same, and the soil was never read", nil, func(v *sentence.View) {
		air(v, 1.2)
		v.Inputs.Stores[0].Soil = judge.Carried{}
		off(v, 0, decide.Rest, decide.SoilLost)
		v.Decision.Alarms.FrostNoHelp = true
	}},
	{"the same with two stores", []string{"beds", "path"}, func(v *sentence.View) {
		air(v, 1.2)
		v.Inputs.Stores[0].Soil.C, v.Inputs.Stores[1].Soil.C = 1.4, 1.9
		off(v, 0, decide.Rest, decide.FrostNoHelp)
		off(v, 1, decide.Rest, decide.FrostNoHelp)
		v.Decision.Alarms.FrostNoHelp = true
	}},
	{"the crop is being saved", nil, func(v *sentence.View) {
		air(v, 1.2)
		on(v, 0, decide.Frost, decide.FrostProtect)
	}},
	{"the crop is being saved and out of the worst", nil, func(v *sentence.View) {
		air(v, 2.1)
		on(v, 0, decide.Frost, decide.FrostProtect).Reason.Have = 2.1
	}},
	{"the crop is being saved as its air probe falls silent", nil, func(v *sentence.View) {
		v.Inputs.CropAir, v.Inputs.CropLow = decide.Temperature{}, decide.Temperature{}
		on(v, 0, decide.Frost, decide.AirGrace)
	}},
	{"the crop must be saved and no fan obeys", nil, func(v *sentence.View) {
		air(v, 1.2)
		on(v, 0, decide.Frost, decide.FrostProtect)
		v.Disobey[0] = [decide.MaxFans]bool{true, true}
	}},
	{"one fan of two obeys", nil, func(v *sentence.View) {
		air(v, 1.2)
		on(v, 0, decide.Frost, decide.FrostProtect)
		v.Disobey[0][1] = true
	}},
	{"the crop must be saved and the start waits", nil, func(v *sentence.View) {
		air(v, 1.2)
		off(v, 0, decide.Rest, decide.WaitPower)
		v.Decision.Alarms.FrostNoHelp = true
	}},
	{"a warm morning after a hard night", nil, func(v *sentence.View) { v.State.Low.C = 1.2 }},
	{"a warm morning after a mild night", nil, func(*sentence.View) {}},
	{"the first minutes after a start", nil, func(v *sentence.View) { v.State.Low = decide.Low{} }},
	{"a house just at its frost limit", nil, func(v *sentence.View) { air(v, 1.5) }},
	{"a morning after a night just at the frost limit", nil, func(v *sentence.View) { v.State.Low.C = 1.5 }},
	{"the first minutes after a start, the sunset not known", nil, func(v *sentence.View) { v.State.Low.Since = 0 }},
	{"no lowest air since sunset", nil, func(v *sentence.View) { v.State.Low.Known = false }},
	{"a bright day", nil, func(v *sentence.View) {
		air(v, 22)
		on(v, 0, decide.Charge, decide.ChargePays)
	}},
	{"two stores, one waits for its stagger", []string{"beds", "path"}, func(v *sentence.View) {
		air(v, 22)
		on(v, 0, decide.Charge, decide.ChargePays)
		off(v, 1, decide.Rest, decide.WaitStagger)
	}},
	{"one fan of the store waits for power", nil, func(v *sentence.View) {
		air(v, 22)
		d := on(v, 0, decide.Charge, decide.ChargePays)
		d.Stages[1], d.Waiting = 0, reason(decide.WaitPower)
	}},
	{"a minimum run", nil, func(v *sentence.View) {
		on(v, 0, decide.Charge, decide.MinimumRun)
		v.State.Stores[0].RunS = 200
	}},
	{"damp air", nil, func(v *sentence.View) { on(v, 0, decide.Dry, decide.DryDamp) }},
	{"a calendar action", nil, func(v *sentence.View) {
		on(v, 0, decide.Action, decide.ActionDue)
		v.State.Stores[0].RunS = 10
	}},
	{"no crop", nil, func(v *sentence.View) {
		v.Settings.Policies[0].Crop = false
		air(v, -4)
		off(v, 0, decide.Rest, decide.NoUseForHeat)
	}},
	{"the air is lost by night", nil, func(v *sentence.View) {
		v.Inputs.CropAir, v.Inputs.CropLow = decide.Temperature{}, decide.Temperature{}
		on(v, 0, decide.Fallback, decide.FallbackNight)
		v.Decision.Alarms.AirLost = true
	}},
	{"the air is lost by day", nil, func(v *sentence.View) {
		v.Inputs.CropAir, v.Inputs.CropLow = decide.Temperature{}, decide.Temperature{}
		off(v, 0, decide.Fallback, decide.FallbackDay)
		v.Decision.Alarms.AirLost = true
	}},
	{"only a doubtful air probe is left", nil, func(v *sentence.View) {
		air(v, 8.9)
		v.Inputs.CropLow = decide.Temperature{}
		v.Inputs.CropAir.Quality = judge.Doubtful
		off(v, 0, decide.Rest, decide.AirDoubtful)
	}},
	{"a soil probe is lost in one of two stores", []string{"beds", "path"}, func(v *sentence.View) {
		v.Inputs.Stores[1].Soil = judge.Carried{C: 13.2, Uncertain: 0.4, Quality: judge.Doubtful, Known: true, LostS: 7200}
	}},
	{"the soil is lost for three days", nil, func(v *sentence.View) {
		v.Inputs.Stores[0].Soil = judge.Carried{C: 13.2, Uncertain: 3, Known: true, LostS: 3 * 86400}
		off(v, 0, decide.Rest, decide.SoilLost)
	}},
	{"water stands in the pipes", nil, func(v *sentence.View) {
		v.Inputs.Stores[0].PipeWater = decide.On
		off(v, 0, decide.Hold, decide.HoldWater)
	}},
	{"smoke", nil, func(v *sentence.View) {
		off(v, 0, decide.Hold, decide.HoldSmoke)
		v.Decision.Alarms.Smoke = true
	}},
	{"smoke on a freezing night", nil, func(v *sentence.View) {
		air(v, 1.2)
		off(v, 0, decide.Hold, decide.HoldSmoke)
		v.Decision.Alarms.Smoke, v.Decision.Alarms.FrostNoHelp = true, true
	}},
	{"a person runs the fans", nil, func(v *sentence.View) {
		air(v, 22)
		on(v, 0, decide.Charge, decide.HandRun)
	}},
	{"a person keeps the fans off on a freezing night", nil, func(v *sentence.View) {
		air(v, 1.2)
		off(v, 0, decide.Hand, decide.HandOff)
		v.Decision.Alarms.HandOffFrost = true
	}},
	{"a fan does not start, one does not stop, one moves too little", []string{"beds", "path"}, func(v *sentence.View) {
		v.State.Stores[0].Fans[0].Fault = decide.DoesNotStart
		v.State.Stores[0].Fans[1].Fault = decide.Weak
		v.State.Stores[1].Fans[1].Fault = decide.StuckOn
		v.Decision.Alarms.FanFault = true
	}},
	{"its own thermostat runs a fan", []string{"beds", "path"}, func(v *sentence.View) { v.State.Stores[1].Fans[1].ByBackup = true }},
	{"the exchange is learned", nil, func(v *sentence.View) {
		air(v, 3.3)
		on(v, 0, decide.Discharge, decide.DischargePays).Reason.Learned = true
	}},
	{"tonight holds", nil, func(v *sentence.View) { dark(v, learn.Holds, -11.7, 0.8) }},
	{"tonight holds, by rough figures", nil, func(v *sentence.View) { dark(v, learn.BindUnknown, -11.7, 3.2) }},
	{"tonight holds whatever comes", nil, func(v *sentence.View) { dark(v, learn.Holds, -45.1, 3.2) }},
	{"tonight gets too cold", nil, func(v *sentence.View) { dark(v, learn.BindRate, -4, 1.5) }},
	{"tonight is too long", nil, func(v *sentence.View) { dark(v, learn.BindAmount, -9, 0.4) }},
	{"tonight is too long and the store nearly used up", nil, func(v *sentence.View) {
		dark(v, learn.BindAmount, -9, 0.4).Stores[1].HoursLeft = 0.01
	}},
	{"by day nothing is told of tonight", nil, func(v *sentence.View) {
		dark(v, learn.Holds, -9, 0.4)
		v.State.Slot.Night = false
	}},
	{"in a polar night there is no sunrise to tell", nil, func(v *sentence.View) {
		dark(v, learn.Holds, -9, 0.4)
		v.Sunrise = time.Time{}
	}},
	{"where nothing can freeze nothing is told of tonight", nil, func(v *sentence.View) {
		dark(v, learn.Holds, -9, 0.4)
		v.Settings.Policies[0].Crop = false
	}},
	{"nothing is known of tonight", nil, func(v *sentence.View) { dark(v, learn.Holds, -9, 0.4).Known = false }},
	{"while the crop is saved its danger was told", nil, func(v *sentence.View) {
		dark(v, learn.Holds, -9, 0.4)
		air(v, 1.2)
		on(v, 0, decide.Frost, decide.FrostProtect)
	}},
	{"readings are old", nil, func(v *sentence.View) { v.OldestS = 754 }},
	{"readings are a minute old", nil, func(v *sentence.View) { v.OldestS = 60 }},
	{"readings are fresh", nil, func(v *sentence.View) { v.OldestS = 59 }},
}

func TestWhatTheHouseTellsItsGrower(t *testing.T) {
	for _, s := range speakers {
		var b strings.Builder
		for _, story := range stories {
			v := morning(t, story.stores...)
			story.change(v)
			text := s.sp.Tell(*v)
			if bad := faults(text); len(bad) > 0 || !strings.HasSuffix(text, ".") {
				t.Errorf("%s, %s: %q has %v", s.name, story.name, text, bad)
			}
			fmt.Fprintf(&b, "%s:\n  %s\n\n", story.name, text)
		}
		golden(t, "tell_"+s.name+".golden", b.String())
	}
}

// TestTheOrderOfWhatIsTold holds every story to the order in which a grower asks: is the crop
// safe, what do the fans do, what must I do, how old is this.
func TestTheOrderOfWhatIsTold(t *testing.T) {
	for _, story := range stories {
		v := morning(t, story.stores...)
		story.change(v)
		v.OldestS = 300
		text := speakers[0].sp.Tell(*v)
		last := 0
		for _, part := range [][]string{
			{"Crop safe", "CROP", "No crop"},
			{"Fans"},
			{"Nothing to do.", "Look at", "Light the", "Have heater", "Drain the", "Find the", "Give the", "Lock out"},
			{"Oldest reading 5 min old."},
		} {
			at := -1
			for _, words := range part {
				if k := strings.Index(text[last:], words); k >= 0 && (at < 0 || k < at) {
					at = k
				}
			}
			if at < 0 {
				t.Errorf("%s: none of %v after %q in %q", story.name, part, text[:last], text)
				break
			}
			last += at + 1
		}
	}
}

// TestTheWindowsPolicyIsTold has a window with another setpoint and no crop.
func TestTheWindowsPolicyIsTold(t *testing.T) {
	v := morning(t)
	window := v.Settings.Policies[0]
	window.Setpoint, window.Crop = 10, false
	v.Settings.Policies = append(v.Settings.Policies, window)
	v.Decision.Window = 0
	on(v, 0, decide.Discharge, decide.DischargeRatio)
	got := speakers[1].sp.Tell(*v)
	for _, want := range []string{"No crop to protect. ", " They stop at 11 °C. "} {
		if !strings.Contains(got, want) {
			t.Errorf("%q lacks %q", got, want)
		}
	}
}
