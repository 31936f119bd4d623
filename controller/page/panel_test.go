package page

import (
	"slices"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
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
	of := func(runS, kWh, in, out, litres float64, starts int64, electricity, fuel float64) counted {
		return counted{history.StoreTotals{
			RunS: runS, EnergyKWh: kWh, In: ledger.Heat{SensibleKWh: in}, Out: ledger.Heat{SensibleKWh: out},
			CondensateLitres: litres, Starts: starts,
		}, electricity, fuel}
	}
	then, now := of(7200, 2, 10, 5, 1, 3, 1, 4), of(10800, 3, 14, 6, 3, 5, 1.5, 5)
	want := of(3600, 1, 4, 1, 2, 2, 0.5, 1)
	if got, good := now.since(then); !good || got != want {
		t.Errorf("%+v, %v", got, good)
	}
	for i, fall := range []func(c *counted){
		func(c *counted) { c.RunS = 7000 }, func(c *counted) { c.EnergyKWh = 1 }, func(c *counted) { c.In.SensibleKWh = 9 },
		func(c *counted) { c.Out.SensibleKWh = 4 }, func(c *counted) { c.CondensateLitres = 0 }, func(c *counted) { c.Starts = 2 },
		func(c *counted) { c.electricityMoney = 0.9 }, func(c *counted) { c.fuelMoney = 3 },
	} {
		less := now
		fall(&less)
		if _, good := less.since(then); good {
			t.Errorf("counter %d fell and counts", i)
		}
	}
}

// TestWhatWasSavedStandsInTheColumnOfItsTime gives a day and a season, and one of them of another time.
func TestWhatWasSavedStandsInTheColumnOfItsTime(t *testing.T) {
	saving := func(begin string, kWh float64) ledger.Saving {
		return ledger.Saving{Begin: begin, Heated: true, Energy: learn.Saved{HeatKWh: kWh, NetKWh: kWh, Claimed: true, CountedH: 1}}
	}
	for _, tt := range []struct {
		name        string
		day, season ledger.Saving
		want        []string // of the row of net savings
	}{
		{"both are told", saving("2026-01-21", 7), saving("2025-09-10", 300), []string{"7 ± 0 kWh", "300 ± 0 kWh"}},
		{"what was told is of yesterday", saving("2026-01-20", 7), saving("2025-09-10", 300), []string{"–", "300 ± 0 kWh"}},
		{"what was told is of the last season", saving("2026-01-21", 7), saving("2024-09-10", 300), []string{"7 ± 0 kWh", "–"}},
		{"nothing is told", ledger.Saving{}, ledger.Saving{}, nil},
		{"the flow is a catalogue's", ledger.Saving{Begin: "2026-01-21", Heated: true}, saving("2025-09-10", 300), []string{"not measured: flow is the catalogue's", "300 ± 0 kWh"}},
	} {
		snap, set := asking(t, "2026-01-21 05:00")
		snap.Account = &ledger.House{}
		snap.Saved = [ledger.Spans]ledger.Saving{ledger.Day: tt.day, ledger.Season: tt.season}
		s := &site{past: newPast(nil, time.Now)}
		for _, from := range starts(snap, set.Turn) {
			s.past.put([]thenKey{{"lower", from.Unix()}}, &history.Totals{})
		}
		h := House{Name: "lower", style: style{zone: time.UTC}}
		s.accounts(&h, snap, set.Turn)
		var p panel
		p.accountWords(&h)
		var got []string
		for _, r := range p.Account {
			if r.Label == "Saved, net" {
				for _, c := range r.Cells {
					got = append(got, strings.ReplaceAll(c, "\u00a0", " "))
				}
			}
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
		if (p.Method != nil) != (tt.want != nil) {
			t.Errorf("%s: it is reckoned %q", tt.name, p.Method)
		}
	}
}
