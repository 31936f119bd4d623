package page

import (
	"strings"
	"testing"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/house"
	"loambank/controller/judge"
)

func TestEveryKindOfReadingHasItsUnit(t *testing.T) {
	for _, tt := range []struct {
		role judge.Role
		v    float64
		want string
	}{
		{judge.Air, 3.3, "3.3 °C"},
		{judge.Soil, -0.04, "0.0 °C"},
		{judge.Humidity, 0.875, "88 %"},
		{judge.FanPower, 350, "350 W"},
		{judge.Smoke, 1, "on"},
		{judge.VentOpen, 0, "off"},
		{judge.CO2, 812.4, "812 ppm"},
		{judge.Light, 12000, "12000 lx"},
		{judge.Radon, 148, "148 Bq/m³"},
	} {
		set := &config.House{House: house.Settings{Probes: []house.Probe{{Name: "p", Store: house.WholeHouse, Judge: judge.Settings{Role: tt.role}}}}}
		s := &controller.Snapshot{Settings: set, Verdicts: []judge.Verdict{{Value: tt.v, Quality: judge.Good, Cause: judge.Fine}}}
		if got := readings(s)[0].text(unit.SI); got != tt.want {
			t.Errorf("%v: %q, want %q", tt.role, got, tt.want)
		}
		s.Verdicts[0].Quality = judge.Bad
		if got := readings(s)[0].text(unit.SI); got != "" {
			t.Errorf("%v: %q of a bad reading", tt.role, got)
		}
	}
}

func TestHealthIsToldWhereThereIsSomethingToTell(t *testing.T) {
	for _, tt := range []struct {
		name string
		r    Reading
		want string
	}{
		{"all is well", Reading{Quality: "good", Cause: "fine", AgeS: 59}, ""},
		{"a minute old", Reading{Quality: "good", Cause: "fine", AgeS: 60}, "1 min old"},
		{"doubtful", Reading{Quality: "doubtful", Cause: "stuck"}, "doubtful, stuck"},
		{"bad for long", Reading{Quality: "bad", Cause: "out-of-range", AgeS: 754}, "bad, out of range, 12 min 34 s old"},
	} {
		if got := health(&tt.r, unit.SI); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// cut is a house with soil probes at these depths, m, the last one outside the store.
func cut(heatW float64, running bool, depthsM ...float64) *House {
	h := &House{Name: "lower", Stores: []Store{{Name: "beds", HeatW: heatW, Running: running, PipeDepthM: 0.45}}}
	for i, depthM := range depthsM {
		c, place := 10.0, judge.Root
		if i == len(depthsM)-1 {
			place = judge.Undisturbed
		}
		h.Readings = append(h.Readings, Reading{Role: "soil", Store: "beds", Place: place.String(), DepthM: depthM, Quality: "good", TemperatureC: &c})
	}
	return h
}

func TestTheDrawingShowsWhichWayHeatGoes(t *testing.T) {
	for _, tt := range []struct {
		name        string
		heatW       float64
		running     bool
		arrow, heat string
	}{
		{"heat comes up", -4100, true, "up", "about 4.1 kW up"},
		{"heat goes down", 4100, true, "down", "about 4.1 kW down"},
		{"fans off", 4100, false, "", "fans off"},
		{"fans on for nothing", 0, true, "", "fans on"},
	} {
		h := cut(tt.heatW, tt.running, 0.1, 0.4)
		x := draw(h, 0)
		if x.Arrow != tt.arrow || x.Heat != tt.heat || !strings.Contains(x.About, tt.heat) {
			t.Errorf("%s: %q, %q, %q", tt.name, x.Arrow, x.Heat, x.About)
		}
		want := "rest"
		h.Stores[0].State = "rest"
		if tt.arrow != "" {
			want = tt.heat
		}
		if got := storeWords(h, 0, false).Doing; !strings.Contains(got, want) {
			t.Errorf("%s: %q", tt.name, got)
		}
	}
}

// TestLabelsOfTheDrawingDoNotCover crowds the probes.
func TestLabelsOfTheDrawingDoNotCover(t *testing.T) {
	x := draw(cut(0, false, 0.10, 0.11, 0.12, 0.44, 0.45, 0.46, 0.47, 0.45), 0)
	lastText, lastDepth := 0.0, 0.0
	for _, m := range x.Marks {
		if m.TextY > x.Height-4 || m.DepthY > x.Height-4 {
			t.Errorf("%s at %v lies outside of %v", m.Depth, m.TextY, x.Height)
		}
		if m.End {
			continue
		}
		if m.TextY-lastText < labelStep || m.DepthY-lastDepth < labelStep {
			t.Errorf("%s at %v and %v, the one above at %v and %v", m.Depth, m.TextY, m.DepthY, lastText, lastDepth)
		}
		lastText, lastDepth = m.TextY, m.DepthY
	}
	if len(x.Marks) != 8 || x.Marks[0].Y >= x.Marks[3].Y || len(x.Pipes) != pipes {
		t.Errorf("%+v", x)
	}
}

func TestALedgerThatFellCountsNothing(t *testing.T) {
	then := counted{runS: 7200, electricityKWh: 2, inKWh: 10, outKWh: 5, litres: 1, starts: 3, electricityMoney: 1, fuelMoney: 4}
	now := counted{runS: 10800, electricityKWh: 3, inKWh: 14, outKWh: 6, litres: 3, starts: 5, electricityMoney: 1.5, fuelMoney: 5}
	want := counted{runS: 3600, electricityKWh: 1, inKWh: 4, outKWh: 1, litres: 2, starts: 2, electricityMoney: 0.5, fuelMoney: 1}
	if got, good := now.since(then); !good || got != want {
		t.Errorf("%+v, %v", got, good)
	}
	for i, fall := range []func(c *counted){
		func(c *counted) { c.runS = 7000 }, func(c *counted) { c.electricityKWh = 1 }, func(c *counted) { c.inKWh = 9 },
		func(c *counted) { c.outKWh = 4 }, func(c *counted) { c.litres = 0 }, func(c *counted) { c.starts = 2 },
		func(c *counted) { c.electricityMoney = 0.9 }, func(c *counted) { c.fuelMoney = 3 },
	} {
		less := now
		fall(&less)
		if _, good := less.since(then); good {
			t.Errorf("counter %d fell and counts", i)
		}
	}
}

func TestASeasonBeginsWithItsToppingUp(t *testing.T) {
	for _, tt := range []struct{ now, want string }{
		{"2026-01-21 05:00", "2025-09-10"}, {"2026-09-10 00:00", "2026-09-10"}, {"2026-09-09 23:59", "2025-09-10"}, {"2026-12-31 23:59", "2026-09-10"},
	} {
		s, set := asking(t, tt.now)
		if got := seasonStart(s.Time, set.Turn); got.Format(dateForm) != tt.want || got.Hour() != 0 {
			t.Errorf("%s: %v, want %s", tt.now, got, tt.want)
		}
	}
}
