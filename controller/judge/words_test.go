package judge

import (
	"encoding"
	"fmt"
	"strings"
	"testing"
)

// The words are those of the configuration, labels and JSON; they are a contract.
func TestWords(t *testing.T) {
	for _, c := range []struct {
		v    fmt.Stringer
		want string
	}{
		{NoRole, ""},
		{Air, "air"},
		{Humidity, "humidity"},
		{Soil, "soil"},
		{DuctIn, "duct-in"},
		{DuctOut, "duct-out"},
		{Outside, "outside"},
		{FanPower, "fan-power"},
		{AirflowProof, "airflow-proof"},
		{PipeWater, "pipe-water"},
		{Smoke, "smoke"},
		{VentOpen, "vent-open"},
		{HeaterOn, "heater-on"},
		{HandSwitch, "hand-switch"},
		{OnGenerator, "on-generator"},
		{Radon, "radon"},
		{CO2, "co2"},
		{Light, "light"},
		{Role(18), "role(18)"},
		{NoPlace, ""},
		{Crop, "crop"},
		{Intake, "intake"},
		{Between, "between"},
		{Root, "root"},
		{Undisturbed, "undisturbed"},
		{Place(6), "place(6)"},
		{Bad, "bad"},
		{Doubtful, "doubtful"},
		{Good, "good"},
		{Quality(3), "quality(3)"},
		{Missing, "missing"},
		{Fine, "fine"},
		{Stale, "stale"},
		{NotANumber, "not-a-number"},
		{ErrorValue, "error-value"},
		{OutOfRange, "out-of-range"},
		{Jump, "jump"},
		{Stuck, "stuck"},
		{Pinned, "pinned"},
		{Recovering, "recovering"},
		{Odd, "odd"},
		{Cause(11), "cause(11)"},
	} {
		if got := c.v.String(); got != c.want {
			t.Errorf("%T %d is %q, want %q", c.v, c.v, got, c.want)
		}
	}
}

func TestEveryWordComesBack(t *testing.T) {
	for i := range uint8(len(roleWords)) {
		var got Role
		comesBack(t, Role(i), &got)
		if got != Role(i) {
			t.Errorf("role %v came back as %v", Role(i), got)
		}
	}
	for i := range uint8(len(placeWords)) {
		var got Place
		comesBack(t, Place(i), &got)
		if got != Place(i) {
			t.Errorf("place %v came back as %v", Place(i), got)
		}
	}
	for i := range uint8(len(qualityWords)) {
		var got Quality
		comesBack(t, Quality(i), &got)
		if got != Quality(i) {
			t.Errorf("quality %v came back as %v", Quality(i), got)
		}
	}
	for i := range uint8(len(causeWords)) {
		var got Cause
		comesBack(t, Cause(i), &got)
		if got != Cause(i) {
			t.Errorf("cause %v came back as %v", Cause(i), got)
		}
	}
}

func comesBack(t *testing.T, from encoding.TextMarshaler, into encoding.TextUnmarshaler) {
	t.Helper()
	text, err := from.MarshalText()
	if err != nil {
		t.Fatal(err)
	}
	if err := into.UnmarshalText(text); err != nil {
		t.Fatal(err)
	}
}

func TestUnknownWords(t *testing.T) {
	_, err := ParseRole("humidty")
	if err == nil || !strings.HasPrefix(err.Error(), `role "humidty" is not known; it is one of air, humidity, soil`) {
		t.Errorf("error is %v", err)
	}
	_, err = ParsePlace("Crop")
	if want := `place "Crop" is not known; it is one of crop, intake, between, root, undisturbed`; err == nil || err.Error() != want {
		t.Errorf("error is %v, want %s", err, want)
	}
	role, place, quality, cause := Soil, Root, Good, Stuck
	for _, u := range []encoding.TextUnmarshaler{&role, &place, &quality, &cause} {
		if err := u.UnmarshalText([]byte("nothing")); err == nil {
			t.Errorf("%T took an unknown word", u)
		}
	}
	if role != Soil || place != Root || quality != Good || cause != Stuck {
		t.Errorf("refused words changed the values to %v, %v, %v, %v", role, place, quality, cause)
	}
	for _, m := range []encoding.TextMarshaler{Role(18), Place(6), Quality(3), Cause(11)} {
		if text, err := m.MarshalText(); err == nil {
			t.Errorf("%T outside its list is written as %q", m, text)
		}
	}
}

func TestKindsOfRoles(t *testing.T) {
	var temperatures, contacts []Role
	for r := range Role(len(roleWords)) {
		if r.Temperature() {
			temperatures = append(temperatures, r)
		}
		if r.Contact() {
			contacts = append(contacts, r)
		}
	}
	if got := fmt.Sprint(temperatures); got != "[air soil duct-in duct-out outside]" {
		t.Errorf("temperatures are %s", got)
	}
	if got := fmt.Sprint(contacts); got != "[airflow-proof pipe-water smoke vent-open heater-on hand-switch on-generator]" {
		t.Errorf("contacts are %s", got)
	}
}
