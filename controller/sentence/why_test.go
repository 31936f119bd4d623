package sentence_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/sentence"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file of testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

// plausible is one reason of every code, with numbers such as Step compares.
var plausible = [decide.Codes]decide.Reason{
	decide.HandRun:           {Have: 3000},
	decide.HandOff:           {Have: 7200},
	decide.FrostProtect:      {Have: 1.2, Need: 1.5},
	decide.FallbackNight:     {Have: 12, Need: 2.5},
	decide.FallbackSoil:      {Have: 2.1, Need: 2.5},
	decide.FallbackBlind:     {},
	decide.AirGrace:          {Have: 180, Need: 600},
	decide.ActionDue:         {Have: 110, Need: 0},
	decide.ActionTopUp:       {Have: 1500, Need: 1},
	decide.DischargePays:     {Have: 0.5421, Need: 0.0612},
	decide.DischargeRatio:    {Have: 7.94, Need: 3.6},
	decide.DischargeProtect:  {Have: 3.3, Need: 6},
	decide.ChargePays:        {Have: 0.1034, Need: 0.0612},
	decide.ChargeRatio:       {Have: 9.17, Need: 3},
	decide.DryDamp:           {Have: 0.943, Need: 0.92},
	decide.MinimumRun:        {Have: 200, Need: 600},
	decide.FrostNoHelp:       {Have: 0.7, Need: 1},
	decide.AboveSetpoint:     {Have: 8.9, Need: 7},
	decide.GainUnmet:         {Have: 1.4, Need: 3},
	decide.SoilAtFloor:       {Have: 6.9, Need: 7},
	decide.DischargeNotWorth: {Have: 0.0412, Need: 0.1224},
	decide.DischargeLowRatio: {Have: 2.12, Need: 3.6},
	decide.MarginUnmet:       {Have: 0, Need: 4},
	decide.AtChargeFloor:     {Have: 6.8, Need: 7},
	decide.HeaterRecent:      {Have: 1500},
	decide.SoilAtCap:         {Have: 27.6, Need: 27.5},
	decide.ChargeNotWorth:    {Have: 0.0312, Need: 0.1224},
	decide.ChargeLowRatio:    {Have: 1.87, Need: 3.6},
	decide.WaitRest:          {Have: 100, Need: 300},
	decide.WaitStarts:        {Have: 640},
	decide.WaitStagger:       {Have: 7},
	decide.WaitPower:         {Have: 300, Need: 600},
	decide.WaitFault:         {Have: 300},
}

// reason is the plausible reason of a code, with a house and soil at which it may come up.
func reason(code decide.Code) decide.Reason {
	r := plausible[code]
	r.Code, r.HasAir, r.HasSoil = code, true, true
	r.Air, r.Soil = 3.3, 13.9
	switch code {
	case decide.MarginUnmet:
		r.Air, r.Soil = 1.8, 1.8
	case decide.GainUnmet:
		r.Air, r.Soil = 3.3, 4.7
	case decide.ChargePays, decide.ChargeRatio, decide.NoWorthYet:
		r.Air, r.Soil = 22, 13.9
	case decide.HeatNotNeeded:
		r.Air, r.Soil = 5, 13.9
	case decide.FrostNoHelp:
		r.Air, r.Soil = 1.2, 1.9
	case decide.FrostProtect:
		r.Air, r.Soil = 1.2, 8.9
	}
	return r
}

// calendar is a house with two actions.
func calendar() *decide.Settings {
	return &decide.Settings{Actions: []decide.ActionSettings{{Name: "exercise"}, {Name: "autumn burst", TopUp: true}}}
}

var speakers = [...]struct {
	name string
	sp   sentence.Speaker
}{
	{"us", sentence.Speaker{Display: unit.US, Currency: "$"}},
	{"si", sentence.Speaker{Display: unit.SI, Currency: "€"}},
}

func TestEveryReasonInWords(t *testing.T) {
	for _, s := range speakers {
		var b strings.Builder
		for i := range decide.Codes {
			code := decide.Code(i)
			fmt.Fprintf(&b, "%-22s %s\n", code, s.sp.Why(calendar(), reason(code)))
		}
		golden(t, "why_"+s.name+".golden", b.String())
	}
}

// blank leaves of a text what says which reason it is: words without any number.
func blank(text string) string { return regexp.MustCompile(`[-0-9.]+`).ReplaceAllString(text, "#") }

func TestEveryReasonHasWordsOfItsOwn(t *testing.T) {
	seen := map[string]decide.Code{}
	for i := range decide.Codes {
		code := decide.Code(i)
		text := blank(speakers[0].sp.Why(calendar(), reason(code)))
		if other, twice := seen[text]; twice {
			t.Errorf("%v and %v both read %q", other, code, text)
		}
		seen[text] = code
	}
}

func TestUnknownNumbersAndPlacesStillRead(t *testing.T) {
	us := speakers[0].sp
	tests := []struct {
		name string
		r    decide.Reason
		want string
	}{
		{"a hand order without an end", decide.Reason{Code: decide.HandRun}, "run by hand, until given back"},
		{
			"a hand order while the air is lost",
			decide.Reason{Code: decide.HandRun, Have: 60, HasSoil: true, Soil: 10},
			"run by hand, 1 min left",
		},
		{
			"a hand order while the soil is lost",
			decide.Reason{Code: decide.HandRun, Have: 60, HasAir: true, Air: 10},
			"run by hand, 1 min left: house 50 °F",
		},
		{
			"frost protection on soil that was never read",
			decide.Reason{Code: decide.FrostProtect, Have: 0},
			"saving the crop from frost: house 32 °F, soil not known",
		},
		{
			"a fallback with neither air nor soil",
			decide.Reason{Code: decide.FallbackBlind},
			"neither air nor soil can be read",
		},
		{
			"the first tick without air",
			decide.Reason{Code: decide.AirGrace, Need: 600},
			"the air has not been read yet; nothing starts, and after 10 min the fallback takes over",
		},
		{
			"a fan that is not tried any more",
			decide.Reason{Code: decide.WaitFault},
			"wanted, but the fan does not start",
		},
		{
			"no power left at all",
			decide.Reason{Code: decide.WaitPower, Have: -250, Need: 600},
			"wanted, but only 0 W of its 600 W are free",
		},
		{
			"an action that the settings no longer have",
			decide.Reason{Code: decide.ActionDue, Have: 60, Need: 2},
			"action by the calendar, 1 min left",
		},
		{
			"a code outside the list",
			decide.Reason{Code: decide.Code(decide.Codes)},
			"not decided yet",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := us.Why(calendar(), tt.r); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
}

func TestWithoutACurrencyItIsMoney(t *testing.T) {
	got := sentence.Speaker{}.Why(calendar(), decide.Reason{Code: decide.ChargeNotWorth, Have: 0.0312, Need: 0.1224})
	if want := "storing heat does not pay: worth 0.031 money/h, 0.122 money/h is needed"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// bare is a number that no unit follows.
var bare = regexp.MustCompile(`[0-9](?:[^ 0-9.]| [^°KsmhdWk%€$])|[0-9]$`)

// faults names what no text shown to a grower may have.
func faults(text string) (found []string) {
	for _, wrong := range []string{"NaN", "Inf", "  ", "%!", "..", ": :", "-0 ", "code(", "activity("} {
		if strings.Contains(text, wrong) {
			found = append(found, fmt.Sprintf("%q in it", wrong))
		}
	}
	for i := range decide.Codes {
		if name := decide.Code(i).String(); strings.Contains(name, "-") && strings.Contains(text, name) {
			found = append(found, "the raw code "+name)
		}
	}
	clock := regexp.MustCompile(`\b[0-9]{2}:[0-9]{2}\b`)
	if at := bare.FindString(clock.ReplaceAllString(text, "noon")); at != "" {
		found = append(found, fmt.Sprintf("a number without its unit at %q", at))
	}
	return found
}

func TestNoReasonReadsOdd(t *testing.T) {
	for _, s := range speakers {
		for i := range decide.Codes {
			text := s.sp.Why(calendar(), reason(decide.Code(i)))
			if bad := faults(text); len(bad) > 0 || strings.HasSuffix(text, ".") || strings.TrimSpace(text) != text {
				t.Errorf("%s, %v: %q has %v", s.name, decide.Code(i), text, bad)
			}
		}
	}
}

// TestNoNumberIsRawOrMissing also gives every code numbers of none: missing fields are zero, never
// NaN, and the texts must stay texts.
func TestNoNumberIsRawOrMissing(t *testing.T) {
	for i := range decide.Codes {
		for _, have := range []float64{0, -0.00001, math.MaxInt32} {
			r := decide.Reason{Code: decide.Code(i), Have: have, Need: 0}
			if bad := faults(speakers[1].sp.Why(calendar(), r)); len(bad) > 0 {
				t.Errorf("%v with %v: %v", r.Code, have, bad)
			}
		}
	}
}
