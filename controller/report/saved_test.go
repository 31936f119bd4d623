package report_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config/unit"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// heated is a saving of a heated house whose flow is known.
func heated() ledger.Saving {
	return ledger.Saving{
		Begin: "2026-11-01", From: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC).Unix(), To: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC).Unix(),
		Heated: true, Crop: true, Currency: "EUR", FuelPerKWh: 0.25, ElectricityMoney: 20,
		Energy: learn.Saved{HeatKWh: 400, ElectricityKWh: 80, NetKWh: 320, SpreadKWh: 60, Claimed: true, CountedH: 720},
	}
}

// unheated is a saving of a house without a heater.
func unheated() ledger.Saving {
	s := heated()
	s.Heated, s.Energy = false, learn.Saved{Nights: 11, NightsSpread: 2, DegreeHours: 40, DegreeSpread: 10, CountedH: 720}
	return s
}

func TestWhatWasSavedIsToldInWords(t *testing.T) {
	for _, tt := range []struct {
		name   string
		s      ledger.Saving
		change func(*ledger.Saving)
		d      unit.Display
		want   string
	}{
		{"a heated house: 400 kWh at 0.25 less 20", heated(), func(*ledger.Saving) {}, unit.SI, "Heater spared: 400 ± 60 kWh; Fans took: 80 kWh; Saved, net: 320 ± 60 kWh; Saved, money: 80.00 ± 15.00 €"},
		{"fans that took more than they saved", heated(), func(s *ledger.Saving) {
			s.Energy.HeatKWh, s.Energy.NetKWh, s.Energy.SpreadKWh = 8, -72, 2.5
		}, unit.US, "Heater spared: 8 ± 2.5 kWh; Fans took: 80 kWh; Saved, net: −72 ± 2.5 kWh; Saved, money: −18.00 ± 0.62 €"},
		{"a currency without a sign", heated(), func(s *ledger.Saving) { s.Currency = "CHF" }, unit.SI, "Heater spared: 400 ± 60 kWh; Fans took: 80 kWh; Saved, net: 320 ± 60 kWh; Saved, money: 80.00 ± 15.00 CHF"},
		{"no price", heated(), func(s *ledger.Saving) { s.Currency = "" }, unit.SI, "Heater spared: 400 ± 60 kWh; Fans took: 80 kWh; Saved, net: 320 ± 60 kWh"},
		{"a flow that is a catalogue's", heated(), func(s *ledger.Saving) { s.Energy = learn.Saved{} }, unit.SI, "Saved, net: not measured: flow is the catalogue's"},
		{"a known flow and nothing counted", heated(), func(s *ledger.Saving) { s.Energy = learn.Saved{Claimed: true} }, unit.SI, "Saved, net: nothing counted yet"},
		{"no heater", unheated(), func(*ledger.Saving) {}, unit.SI, "Nights kept: 11 ± 2; Cold kept off: 40 ± 10 K h"},
		{"no heater, in US units: 40 K h are 72 °F h", unheated(), func(*ledger.Saving) {}, unit.US, "Nights kept: 11 ± 2; Cold kept off: 72 ± 18 °F h"},
		{"no heater and nothing counted", unheated(), func(s *ledger.Saving) { s.Energy.CountedH = 0 }, unit.SI, "Nights kept: nothing counted yet"},
		{"no heater and no crop", unheated(), func(s *ledger.Saving) { s.Crop = false }, unit.SI, ""},
	} {
		tt.change(&tt.s)
		var all []string
		for _, r := range report.SavedRows([]*ledger.Saving{&tt.s}, tt.d) {
			all = append(all, r.Label+": "+strings.Join(r.Cells, ", "))
		}
		if got := strings.Join(all, "; "); got != tt.want {
			t.Errorf("%s:\n%s\nwant\n%s", tt.name, got, tt.want)
		}
		method := strings.Join(report.SavedMethod([]*ledger.Saving{&tt.s}), " ")
		for words, want := range map[string]bool{
			"the heater did not have to give": tt.s.Claimed(), "never running its fans": tt.s.Claimed() || strings.Contains(tt.want, "Nights"),
			"No saving is claimed until": tt.s.Heated && !tt.s.Claimed(), "No money is told": strings.Contains(tt.want, "Nights"),
		} {
			if strings.Contains(method, words) != want {
				t.Errorf("%s: of %q it says\n%s", tt.name, words, method)
			}
		}
	}
}

func TestTimesStandBesideEachOther(t *testing.T) {
	a, b, c := heated(), heated(), unheated()
	b.Energy = learn.Saved{}
	got := report.SavedRows([]*ledger.Saving{&a, nil, &b, &c}, unit.SI)
	want := []report.SavedRow{
		{Label: "Heater spared", Cells: []string{"400 ± 60 kWh", "–", "–", "–"}},
		{Label: "Fans took", Cells: []string{"80 kWh", "–", "–", "–"}},
		{Label: "Saved, net", Cells: []string{"320 ± 60 kWh", "–", "not measured: flow is the catalogue's", "–"}},
		{Label: "Saved, money", Cells: []string{"80.00 ± 15.00 €", "–", "–", "–"}},
		{Label: "Nights kept", Cells: []string{"–", "–", "–", "11 ± 2"}},
		{Label: "Cold kept off", Cells: []string{"–", "–", "–", "40 ± 10 K h"}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if rows := report.SavedRows([]*ledger.Saving{nil, nil}, unit.SI); rows != nil || report.SavedMethod([]*ledger.Saving{nil}) != nil {
		t.Errorf("of nothing is told %v", rows)
	}
}

func TestGapsAreNamed(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*ledger.Saving)
		want   string
	}{
		{"none", func(*ledger.Saving) {}, "[]"},
		{"a day later is no gap", func(s *ledger.Saving) { s.From += 86400 }, "[]"},
		{"longer is", func(s *ledger.Saving) { s.From += 5*86400 + 7200 }, "[The time from 1 Nov 2026 is counted since 6 Nov 2026.]"},
		{"36 of 720 hours are no gap", func(s *ledger.Saving) { s.Energy.LostH = 36 }, "[]"},
		{"37 are", func(s *ledger.Saving) { s.Energy.LostH = 37 }, "[Of the time from 1 Nov 2026 37 h are not counted, for want of a reading.]"},
		{"of what is not claimed nothing is said", func(s *ledger.Saving) { s.Energy.Claimed = false; s.From += 1e6 }, "[]"},
		{"of what is not counted neither", func(s *ledger.Saving) { s.Energy.CountedH = 0; s.From += 1e6 }, "[]"},
		{"an unheated house claims nothing, and has gaps", func(s *ledger.Saving) { *s = unheated(); s.Energy.LostH = 99 }, "[Of the time from 1 Nov 2026 99 h are not counted, for want of a reading.]"},
	} {
		s := heated()
		tt.change(&s)
		if got := fmt.Sprint(report.SavedGaps([]*ledger.Saving{nil, &s}, time.UTC)); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}
