package size

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

func readYear(t *testing.T, name string) *weather.Year {
	t.Helper()
	f, err := os.Open("../../../testdata/weather/" + name + ".gz")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	y, err := weather.Read(name, f)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// money_and_pv-S066 to S107: monthly and yearly yields of three files. Theirs is an equally bright
// sky, ours one that is brighter round the sun: the rows allow 10 % for it, 8 % in the year, and
// 12 % of December over June.
func TestPanelsYieldWhatTheTableSays(t *testing.T) {
	byFile := map[string][12]float64{}
	checked := 0
	for _, r := range rows(t) {
		if !strings.HasPrefix(r.quantity, "PV") || r.in["tilt"] == 0 {
			continue
		}
		file := fileOf(t, r.id)
		if _, known := byFile[file]; !known {
			y := readYear(t, file)
			yield, err := Yield(y)
			if err != nil {
				t.Fatal(err)
			}
			byFile[file] = Months(y, yield)
		}
		months := byFile[file]
		var year float64
		for _, v := range months {
			year += v
		}
		got, within := year, 0.08
		switch m := int(r.in["month"]); {
		case m == 0 && !strings.Contains(r.quantity, "ratio") && got < 1.005*r.want[0]:
			t.Errorf("%s: the sky is no brighter round the sun: %.0f kWh, %.0f under an equal one", r.id, got, r.want[0])
		case m > 0:
			got, within = months[m-1], 0.10
		case strings.Contains(r.quantity, "ratio"):
			got, within = months[11]/months[5], 0.12
		}
		if checked++; !(math.Abs(got-r.want[0]) <= within*r.want[0]) {
			t.Errorf("%s: %s, month %v: %.1f, want %.1f within %.0f %%", r.id, file, r.in["month"], got, r.want[0], 100*within)
		}
	}
	if checked != 42 {
		t.Errorf("%d rows were checked", checked)
	}
}

// money_and_pv-S048 to S062: light on panels, published in the row before each, times their rating and 77 %
// of it, without warmth.
func TestPublishedLightGivesTheRowsEnergy(t *testing.T) {
	panels := physics.Photovoltaic{NOCT: 47, Losses: 0.23, Inverter: 1}
	all, checked := rows(t), 0
	for i, r := range all {
		if !strings.HasPrefix(r.quantity, "AC energy at derate 0.77") {
			continue
		}
		days := time.Date(2001, time.Month(r.in["month"])+1, 0, 0, 0, 0, 0, time.UTC).Day()
		const fullSun = 1000 // W/m²: as many hours of it as there are kWh/m²
		got := r.in["kW"] * panels.Yield(25, fullSun) * all[i-1].want[0] * float64(days)
		if checked++; math.Abs(got-r.want[0]) > 5e-3*r.want[0] {
			t.Errorf("%s: %.1f kWh, want %.1f", r.id, got, r.want[0])
		}
	}
	if checked != 8 {
		t.Errorf("%d rows were checked", checked)
	}
}

// fileOf is the weather file of a row; they stand in three runs of 14.
func fileOf(t *testing.T, id string) string {
	t.Helper()
	switch {
	case id >= "money_and_pv-S094":
		return "tmy_45.000_8.000_2005_2023.epw"
	case id >= "money_and_pv-S080":
		return "USA_VT_Burlington.Intl.AP.726170_TMY3.epw"
	}
	return "USA_CO_Golden-NREL.724666_TMY3.epw"
}

// Four hours of sun and four of fans, by hand.
func TestAnArrayForAZeroBill(t *testing.T) {
	for _, c := range []struct {
		name        string
		yield, load []float64
		kW, own     float64
	}{
		{"never at once", []float64{1, 1, 0, 0}, []float64{0, 0, 3, 1}, 2, 0},
		{"always at once", []float64{1, 1, 0, 0}, []float64{3, 3, 0, 0}, 3, 1},
		{"half at once", []float64{1, 1, 0, 0}, []float64{2, 0, 2, 0}, 2, 0.5},
		{"no fans", []float64{1, 1, 0, 0}, []float64{0, 0, 0, 0}, 0, 0},
		{"no sun", []float64{0, 0, 0, 0}, []float64{1, 0, 0, 0}, 0, 0},
	} {
		if got := ZeroBill(c.yield, c.load); math.Abs(got.ArrayKW-c.kW) > 1e-12 || math.Abs(got.Own-c.own) > 1e-12 {
			t.Errorf("%s: %+v, want %v kW, %v", c.name, got, c.kW, c.own)
		}
	}
}

// TestTheBatteryKeepsNineTenths: 1 kWh of sun over the load leaves 0.9 for the night.
func TestTheBatteryKeepsNineTenths(t *testing.T) {
	yield, load := []float64{2, 0}, []float64{1, 1}
	for _, c := range []struct{ arrayKW, batteryKWh, want float64 }{
		{0, 0, 1},
		{1, 0, 0.5},  // by day only
		{1, 2, 0.05}, // 0.9 of the night's kWh
		{1, 0.5, 0.25},
		{0.5, 2, 0.5},
		{(1 + 1/0.9) / 2, 2, 0},
	} {
		if got := Lost(yield, load, c.arrayKW, c.batteryKWh); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%+v: %v is lost", c, got)
		}
	}
}

func TestAnIslandLosesNoMoreThanAsked(t *testing.T) {
	y := readYear(t, "USA_VT_Burlington.Intl.AP.726170_TMY3.epw")
	yield, err := Yield(y)
	if err != nil {
		t.Fatal(err)
	}
	load := make([]float64, len(yield))
	for i := range load {
		if h := i % 24; h < 7 || h > 17 { // fans by night, from October to April
			if m := y.Rows[i].Month; m >= time.October || m <= time.April {
				load[i] = 0.3
			}
		}
	}
	costs := config.Costs{SolarPerW: 1.6, BatteryPerKWh: 350}
	var last OffGrid
	for i, lost := range []float64{0.2, 0.05, 0.01} {
		g := Island(yield, load, lost, costs)
		if !(g.Lost <= lost) || g.ArrayKW <= 0 || g.BatteryKWh <= 0 {
			t.Errorf("for %v: %+v", lost, g)
		}
		if got := Lost(yield, load, g.ArrayKW*0.97, g.BatteryKWh); got <= lost {
			t.Errorf("for %v: 3 %% less of the array would do too", lost)
		}
		if want := g.ArrayKW*1600 + g.BatteryKWh*350; math.Abs(g.Cost-want) > 1e-6*want {
			t.Errorf("it costs %v, want %v", g.Cost, want)
		}
		// A week of battery needs the least array, and is not cheaper for it.
		week := 0.0
		for _, v := range load {
			week += v / float64(len(load)) * 7 * 24
		}
		for arrayKW := 0.2; arrayKW < g.ArrayKW; arrayKW *= 1.05 {
			if cost := arrayKW*1600 + week*350; Lost(yield, load, arrayKW, week) <= lost && cost < g.Cost {
				t.Errorf("for %v: %.1f kW and %.1f kWh cost %.0f, %+v", lost, arrayKW, week, cost, g)
			}
		}
		if i > 0 && g.Cost <= last.Cost {
			t.Errorf("losing less costs less: %+v after %+v", g, last)
		}
		last = g
	}
	if got := Island(yield, make([]float64, len(yield)), 0.05, costs); got != (OffGrid{}) {
		t.Errorf("without fans it is %+v", got)
	}
}

// TestFansAreCountedInTheirOwnHours: an hour of a trial ends at its time, by the site's clock.
func TestFansAreCountedInTheirOwnHours(t *testing.T) {
	y := readYear(t, "USA_VT_Burlington.Intl.AP.726170_TMY3.epw") // UTC−5
	r := &trial.Result{Trace: []trial.Hour{
		{Time: time.Date(2002, 1, 2, 6, 0, 0, 0, time.UTC), FanKWh: 2},   // 00:00 to 01:00 on 2 January there
		{Time: time.Date(2002, 7, 1, 16, 0, 0, 0, time.UTC), FanKWh: 3},  // 10:00 to 11:00
		{Time: time.Date(2003, 1, 1, 5, 0, 0, 0, time.UTC), FanKWh: 0.5}, // the year's last
	}}
	load := Load(y, r)
	for at, want := range map[int]float64{24: 2, 181*24 + 10: 3, 8759: 0.5} {
		if load[at] != want {
			t.Errorf("hour %d has %v kWh, want %v", at, load[at], want)
		}
	}
	if m := Months(y, load); m[0] != 2 || m[6] != 3 || m[11] != 0.5 {
		t.Errorf("by month %v", m)
	}
}
