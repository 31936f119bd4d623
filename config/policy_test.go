package config

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/season"
)

func TestDefaults(t *testing.T) {
	d := parse(t).Houses[0].House.Decide
	want := decide.Policy{
		Allow: decide.Allow{Charge: true, Discharge: true, Dry: true},
		// Lettuce bears 28 °F (safety_and_crops-S020); 1.5 K above is the frost limit, 3 K more the setpoint.
		Crop: true, Frost: -0.7, FrostBand: 1, FrostGain: 1, Setpoint: 2.3, SetpointBand: 1,
		ChargeFloor:   5.3, // unheated: setpoint + band + 2 K
		HumidityLimit: 0.92, HumidityBand: 0.04, DryGain: 1, DryFloor: 4.3, DryPerDayS: 7200,
		Stores: []decide.StorePolicy{{Margin: 4.5, MarginBand: 1.5, Gain: 3, GainBand: 1, SoilCap: 28, SoilFloor: 7}},
	}
	if diff := cmp.Diff(want, d.Policies[0], cmp.Comparer(func(a, b unit.Celsius) bool { return math.Abs(float64(a-b)) < 1e-9 })); diff != "" {
		t.Errorf("policy (-want +got):\n%s", diff)
	}
	store := d.Stores[0]
	if store.MinRunS != 600 || store.MinRestS != 300 || store.StartsPerHour != 4 || store.Effectiveness != 0.6 {
		t.Errorf("store %+v", store)
	}
	if d.GraceS != 600 || d.StaggerS != 10 || d.WorthBand != 1.2 || d.MinRatio != 3 || d.Heater.Present || d.Tariff.HasStored {
		t.Errorf("settings %+v", d)
	}
}

func TestWindowPolicies(t *testing.T) {
	const window = "\n[[house.window]]\nname = \"w\"\n"
	last := `fan = [ { name = "east", driver = "file", path = "fan", power = "600 W", flow = "1.3 m3/s" } ]`
	for _, c := range []struct {
		name   string
		oldnew []string
		window string
		check  func(p, of decide.Policy) bool
	}{
		{
			"a window that states nothing is its house", nil, "",
			func(p, of decide.Policy) bool { return cmp.Equal(p, of) },
		},
		{
			"a stated setpoint moves what hangs on it", nil, `setpoint = "8 °C"`,
			func(p, of decide.Policy) bool {
				return p.Setpoint == 8 && p.ChargeFloor == 11 && p.DryFloor == 10 && p.Frost == of.Frost
			},
		},
		{
			"another crop has its own limits, not those stated for the house's",
			[]string{`crop = "lettuce"`, "crop = \"lettuce\"\nfrost = \"2 °C\"\nsetpoint = \"6 °C\""},
			`crop = "kale"`,
			func(p, of decide.Policy) bool {
				return of.Frost == 2 && of.Setpoint == 6 && math.Abs(float64(p.Frost)+0.7) < 1e-9 && math.Abs(float64(p.Setpoint)-2.3) < 1e-9
			},
		},
		{
			"the same crop keeps what is stated for the house",
			[]string{`crop = "lettuce"`, "crop = \"lettuce\"\nfrost = \"2 °C\""},
			`crop = "lettuce"`,
			func(p, of decide.Policy) bool { return p.Frost == 2 },
		},
		{
			"a crop hurt by chill is kept over it (safety_and_crops-S022)", nil, `crop = "tomato"`,
			func(p, of decide.Policy) bool { return p.Frost == 1.5 && p.Setpoint == 10 },
		},
		{
			"no crop, nothing to save", nil, `crop = "none"`,
			func(p, of decide.Policy) bool { return !p.Crop && of.Crop },
		},
		{
			"a store's key is asked of every store", nil, "margin = \"6 K\"\nsoil_cap = \"24 °C\"",
			func(p, of decide.Policy) bool {
				return p.Stores[0].Margin == 6 && p.Stores[0].SoilCap == 24 && p.Stores[0].Gain == 3 && of.Stores[0].Margin == 4.5
			},
		},
		{
			"allow = [] allows nothing", nil, `allow = []`,
			func(p, of decide.Policy) bool { return p.Allow == decide.Allow{} },
		},
		{
			"two words allow two things", nil, `allow = ["discharge", "dry"]`,
			func(p, of decide.Policy) bool { return p.Allow == decide.Allow{Discharge: true, Dry: true} },
		},
		{
			"what the house states holds in the window",
			[]string{`crop = "lettuce"`, "crop = \"lettuce\"\ncharge_floor = \"9 °C\"\nhumidity_limit = \"88 %\""},
			`setpoint = "5 °C"`,
			func(p, of decide.Policy) bool { return p.ChargeFloor == 9 && p.HumidityLimit == 0.88 },
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, append(c.oldnew, last, last+window+c.window)...)
			policies := s.Houses[0].House.Decide.Policies
			if len(policies) != 2 || !c.check(policies[1], policies[0]) {
				t.Errorf("window %+v\nhouse %+v", policies[1:], policies[0])
			}
		})
	}
}

func TestChargeFloorKeepsWhatTheHeaterHolds(t *testing.T) {
	for _, c := range []struct {
		name, heater string
		want         unit.Celsius
	}{
		{"3 K over the heater's end", `{ setpoint = "6 °C", band = "2 K" }`, 11},
		{"but never under the end of discharging", `{ setpoint = "-8 °C", band = "1 K" }`, 3.3},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, `crop = "lettuce"`, "crop = \"lettuce\"\nheater = "+c.heater)
			if got := s.Houses[0].House.Decide.Policies[0].ChargeFloor; math.Abs(float64(got-c.want)) > 1e-9 {
				t.Errorf("%v, want %v", got, c.want)
			}
		})
	}
}

// The known crops have the figures of the reference table.
func TestCropsAgreeWithReference(t *testing.T) {
	f, err := os.Open("../testdata/reference/safety_and_crops.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text := map[string]string{}
	for _, r := range rows {
		text[r[0]] = r[1]
	}
	// limits are the Celsius figures of the rows; a class is named by the end where all of it is safe.
	limits := map[string]unit.Celsius{
		"S012": 1.7, "S013": 0, "S014": -2.8, "S015": -5.6, "S017": -3.9, "S020": -2.2, "S021": 0, "S028": -0.8, "S029": -0.8,
	}
	for name, c := range crops {
		id := strings.TrimPrefix(strings.Split(c.row, ",")[0], "safety_and_crops-")
		want, ok := limits[id]
		if !ok || c.limit != want {
			t.Errorf("%s: limit %v by %s, want %v", name, c.limit, c.row, want)
		}
		words := strings.Fields(name)
		if row := text["safety_and_crops-"+id]; !strings.Contains(row, words[len(words)-1]) {
			t.Errorf("%s is not named by %s: %s", name, id, row)
		}
	}
}

// greenhouse-S027, S032, S037: total loss over the difference it was taken at.
func TestHouseLossAgreesWithReference(t *testing.T) {
	for _, c := range []struct {
		row                           string
		width, length, u, ach, dT, kW float64
	}{
		{"greenhouse-S027", 9.144, 29.26, 4, 1, 20, 45.31867},
		{"greenhouse-S032", 6.1, 15, 6.8, 1, 12, 14.99493},
		{"greenhouse-S037", 7.6, 30, 3.97, 0.75, 30, 53.19172},
	} {
		got := houseLoss(c.length, c.width, c.u, c.ach) * c.dT / 1000
		if math.Abs(got-c.kW) > 0.015*c.kW {
			t.Errorf("%s: %v kW, want %v", c.row, got, c.kW)
		}
	}
}

// soil_properties-S069: 60 m3 of 2.3 MJ/(m3 K) warmed by 8 K hold 306.67 kWh.
func TestCapacityAgreesWithReference(t *testing.T) {
	p := Pipes{Count: 10, LengthM: 10, SpacingM: 0.6, DepthM: 0.7} // 10 × 10 × 0.6 × (0.7 + 0.3) = 60 m3
	if got := p.capacityJK(2.3e6) * 8 / 3.6e6; math.Abs(got-306.6667) > 0.31 {
		t.Errorf("%v kWh", got)
	}
	if got := (Pipes{}).capacityJK(2.3e6); got != 0 {
		t.Errorf("no pipes hold %v", got)
	}
}

// The same farm in °F and in °C is the same farm.
func TestSameSettingsInBothScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		point := func(name string, low, high int) (f, c string) {
			n := rapid.IntRange(low, high).Draw(t, name)
			return fmt.Sprintf("%d °F", 32+9*n), fmt.Sprintf("%d °C", 5*n)
		}
		difference := func(name string, high int) (f, k string) {
			n := rapid.IntRange(1, high).Draw(t, name)
			return fmt.Sprintf("%d °F", 9*n), fmt.Sprintf("%d K", 5*n)
		}
		var us, si []string
		add := func(old, format string, f, c string) {
			us = append(us, old, fmt.Sprintf(format, f))
			si = append(si, old, fmt.Sprintf(format, c))
		}
		crop := "crop = \"lettuce\"\n"
		fFrost, cFrost := point("frost", -2, 1)
		fSet, cSet := point("setpoint", 1, 6)
		fHeat, cHeat := point("heater", -1, 3)
		fBand, kBand := difference("band", 1)
		format := crop + "frost = \"%s\"\nsetpoint = \"%s\"\nheater = { setpoint = \"%s\", band = \"%s\" }\n"
		us = append(us, crop, fmt.Sprintf(format, fFrost, fSet, fHeat, fBand))
		si = append(si, crop, fmt.Sprintf(format, cFrost, cSet, cHeat, kBand))
		fMargin, kMargin := difference("margin", 4)
		add("name = \"beds\"\n", "name = \"beds\"\nmargin = \"%s\"\n", fMargin, kMargin)
		build := func(oldnew []string) Settings {
			s, err := Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(minimal)), nil)
			if err != nil {
				t.Fatal(err)
			}
			s.Source, s.Hash = nil, ""
			return *s
		}
		if diff := cmp.Diff(build(us), build(si), equalSettings...); diff != "" {
			t.Errorf("°F and °C differ:\n%s", diff)
		}
	})
}

// equalSettings compares to the last bit; what shows only its text is compared by it.
var equalSettings = cmp.Options{
	cmp.Comparer(func(a, b season.Dates) bool { return a == b }),
	cmp.Comparer(func(a, b season.Hours) bool { return a == b }),
	cmp.Comparer(func(a, b season.Site) bool {
		return a.LatitudeDeg == b.LatitudeDeg && a.LongitudeDeg == b.LongitudeDeg && a.Zone.String() == b.Zone.String()
	}),
}
