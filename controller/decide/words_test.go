package decide_test

import (
	"encoding/json"
	"regexp"
	"testing"

	"loambank/controller/decide"
)

// DESIGN's words for what a store does, in the order of the rules.
func TestActivityWords(t *testing.T) {
	for word, a := range map[string]decide.Activity{
		"rest": decide.Rest, "hold": decide.Hold, "hand": decide.Hand, "frost": decide.Frost,
		"fallback": decide.Fallback, "action": decide.Action, "discharge": decide.Discharge,
		"charge": decide.Charge, "dry": decide.Dry,
	} {
		if a.String() != word {
			t.Errorf("activity %d is %q, want %q", uint8(a), a, word)
		}
	}
	var zero decide.Activity
	if zero != decide.Rest {
		t.Errorf("the zero value is %v", zero)
	}
	if decide.Activities != 9 {
		t.Errorf("%d activities", decide.Activities)
	}
}

func TestActivityText(t *testing.T) {
	for i := range decide.Activities {
		a := decide.Activity(i)
		text, err := a.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back decide.Activity
		if err := back.UnmarshalText(text); err != nil || back != a {
			t.Errorf("%s reads as %v, %v", text, back, err)
		}
	}
	beyond := decide.Activity(decide.Activities)
	if _, err := beyond.MarshalText(); err == nil {
		t.Error("an activity outside the list is written")
	}
	if got := beyond.String(); got != "activity(9)" {
		t.Errorf("outside the list: %q", got)
	}
	kept := decide.Charge
	for _, text := range []string{"", "Rest", "charging"} {
		if err := kept.UnmarshalText([]byte(text)); err == nil || kept != decide.Charge {
			t.Errorf("%q reads as %v", text, kept)
		}
	}
}

// Codes are label values of a metric and stand in journals: unique, lower case, never renumbered
// by name.
func TestCodeText(t *testing.T) {
	form := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	named := map[string]decide.Code{}
	for i := range decide.Codes {
		c := decide.Code(i)
		text, err := c.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		if other, taken := named[string(text)]; taken {
			t.Errorf("codes %d and %d are both %q", uint8(other), i, text)
		}
		named[string(text)] = c
		if !form.MatchString(c.String()) || c.String() != string(text) {
			t.Errorf("code %d is written %q and shown %q", i, text, c)
		}
		var back decide.Code
		if err := back.UnmarshalText(text); err != nil || back != c {
			t.Errorf("%s reads as %v, %v", text, back, err)
		}
	}
	beyond := decide.Code(decide.Codes)
	if _, err := json.Marshal(beyond); err == nil {
		t.Error("a code outside the list is written")
	}
	if got := decide.Code(250).String(); got != "code(250)" {
		t.Errorf("outside the list: %q", got)
	}
	kept := decide.HoldSmoke
	if err := kept.UnmarshalText([]byte("smoke")); err == nil || kept != decide.HoldSmoke {
		t.Errorf("an unknown code reads as %v", kept)
	}
}

func TestCodeNamesFollowTheirConstants(t *testing.T) {
	for c, word := range map[decide.Code]string{
		decide.NoReason: "none", decide.HoldSmoke: "hold-smoke", decide.HoldWater: "hold-water",
		decide.HandSwitch: "hand-switch", decide.FrostProtect: "frost-protect",
		decide.FallbackNight: "fallback-night", decide.AirGrace: "air-grace",
		decide.ActionTopUp: "action-top-up", decide.DischargePays: "discharge-pays",
		decide.ChargeRatio: "charge-ratio", decide.DryDamp: "dry-damp", decide.MinimumRun: "minimum-run",
		decide.FrostNoHelp: "frost-no-help", decide.AirDoubtful: "air-doubtful",
		decide.VentOpen: "vent-open", decide.NoUseForHeat: "no-use-for-heat",
		decide.DischargeLowRatio: "discharge-low-ratio", decide.MarginUnmet: "margin-unmet",
		decide.HeaterRecent: "heater-recent", decide.NoWorthYet: "no-worth-yet",
		decide.ChargeLowRatio: "charge-low-ratio", decide.WaitRest: "wait-rest",
		decide.WaitGrant: "wait-grant", decide.WaitFault: "wait-fault",
	} {
		if c.String() != word {
			t.Errorf("code %d is %q, want %q", uint8(c), c, word)
		}
	}
}

func TestAlarmsAny(t *testing.T) {
	if (decide.Alarms{}).Any() {
		t.Error("no cause is some")
	}
	for _, a := range []decide.Alarms{{Smoke: true}, {FrostNoHelp: true}, {HandOffFrost: true}, {AirLost: true}, {FanFault: true}} {
		if !a.Any() {
			t.Errorf("%+v is none", a)
		}
	}
}
