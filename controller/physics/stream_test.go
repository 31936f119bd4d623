package physics

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

// stream answers a row of water_and_condensate.csv whose two ends are given. Heat brought up in
// discharge rows is counted upward, and without the water that it evaporates.
func stream(r *row) (got float64, ok bool) {
	if _, ok := r.in["t_out_C"]; !ok {
		return 0, false
	}
	pPa := r.in["p_Pa"]
	if pPa == 0 {
		pPa = 101325
	}
	flowM3s := r.in["flow_in_m3_s"] + r.in["flow_in_m3_h"]/3600
	in := Air{C: unit.Celsius(r.in["t_in_C"])}
	in.W = HumidityRatio(in.C, r.in["rh_in"], pPa)
	out := Air{C: unit.Celsius(r.in["t_out_C"]), W: in.W}
	if rh, saturates := r.in["rh_out"]; saturates {
		out.W = HumidityRatio(out.C, rh, pPa)
	}
	h := StreamHeat(in, out, flowM3s, pPa)
	switch q, _, _ := strings.Cut(r.quantity, " m"); q {
	case "worked example cooling and dehumidifying: refrigeration needed":
		return h.TotalW() / 1000, true
	case "worked example cooling and dehumidifying: condensate":
		return h.CondensateKgS, true
	case "worked example cooling and dehumidifying: dry-air flow", "dry-air":
		return h.DryAirKgS, true
	case "worked example cooling and dehumidifying: inlet specific volume":
		return SpecificVolume(in.C, in.W, pPa), true
	case "worked example cooling and dehumidifying: inlet humidity ratio":
		return in.W, true
	case "discharge: sensible heat to house":
		return -h.SensibleW, true
	case "discharge: water picked up in the pipes":
		return -3600 * h.CondensateKgS, true
	case "discharge: enthalpy gain of the air (sensible+latent)":
		return h.DryAirKgS * (Enthalpy(out.C, out.W) - Enthalpy(in.C, in.W)), true
	case "condensate rate":
		return 3600 * h.CondensateKgS, true
	case "total heat given up by the air (positive = into soil)":
		return h.TotalW(), true
	case "sensible part":
		return h.SensibleW, true
	case "latent part (total - sensible)":
		return h.LatentW, true
	}
	return 0, false
}

// liquid answers a row of water_and_condensate.csv about water itself.
func liquid(r *row) []float64 {
	t := unit.Celsius(r.in["t_C"])
	switch r.quantity {
	case "latent heat of vaporisation", "latent heat, linear fit 2501-2.361 t":
		return []float64{VaporisationJkg(t) / 1000}
	case "liquid water density":
		return []float64{WaterDensityKgM3(t)}
	case "liquid water cp (saturated)":
		return []float64{WaterHeatJkgK(t) / 1000}
	case "latent heat of fusion":
		return []float64{FusionJkg / 1000}
	case "latent heat of sublimation":
		return []float64{SublimationJkg / 1000}
	}
	return nil
}

// Rows water_and_condensate-S001 to S092.
func TestStreamsAndWaterAgreeWithTheReferenceTable(t *testing.T) {
	walk(t, "water_and_condensate.csv", func(r *row) []float64 {
		if got, ok := stream(r); ok {
			return []float64{got}
		}
		return liquid(r)
	}, map[string]string{
		"two enthalpies, asked in the test below":                          "006",
		"advice about crops":                                               "007",
		"rules of thumb for standard air, which StreamHeat makes unneeded": "093 to 095",
	})
}

func TestEnthalpiesOfTheWorkedCoolingExample(t *testing.T) {
	const pPa = 101325
	for _, c := range []struct {
		c    unit.Celsius
		rh   float64
		want float64 // kJ/kg ± 0.3, water_and_condensate-S006
	}{{30, 0.5, 64.35}, {10, 1, 29.35}} {
		got := Enthalpy(c.c, HumidityRatio(c.c, c.rh, pPa)) / 1000
		if math.Abs(got-c.want) > 0.3 {
			t.Errorf("enthalpy at %v °C is %.2f kJ/kg, want %.2f", c.c, got, c.want)
		}
	}
}

// series reads worked_day_series.csv.
func series(t *testing.T) (rows [][]float64) {
	t.Helper()
	f, err := os.Open("../../testdata/reference/worked_day_series.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines[1:] {
		var values []float64
		for _, cell := range l {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			values = append(values, v)
		}
		rows = append(rows, values)
	}
	return rows
}

func TestAWorkedDayOfCharging(t *testing.T) {
	const pPa, flowM3s, dtS, fanW = 101325, 1500.0 / 3600, 900, 210
	day := series(t)
	var hold, trapeze struct{ totalJ, sensibleJ, waterKg float64 }
	var last Heat
	for i, v := range day {
		in := Air{C: unit.Celsius(v[1])}
		in.W = HumidityRatio(in.C, v[2]/100, pPa)
		out := Air{C: unit.Celsius(v[3])}
		out.W = HumidityRatio(out.C, v[4]/100, pPa)
		h := StreamHeat(in, out, flowM3s, pPa)
		near(t, "total W", v[0], h.TotalW(), v[5], 0.005*v[5])
		near(t, "sensible W", v[0], h.SensibleW, v[6], 0.005*v[6])
		near(t, "condensate kg/h", v[0], 3600*h.CondensateKgS, v[7], 0.02)
		if i > 0 {
			hold.totalJ += last.TotalW() * dtS
			hold.sensibleJ += last.SensibleW * dtS
			hold.waterKg += last.CondensateKgS * dtS
			trapeze.totalJ += (last.TotalW() + h.TotalW()) / 2 * dtS
			trapeze.sensibleJ += (last.SensibleW + h.SensibleW) / 2 * dtS
			trapeze.waterKg += (last.CondensateKgS + h.CondensateKgS) / 2 * dtS
		}
		last = h
	}
	fanKWh := fanW * float64(len(day)-1) * dtS / 3.6e6
	got := map[string]float64{
		"worked_day-S001": hold.totalJ / 3.6e6, "worked_day-S002": trapeze.totalJ / 3.6e6,
		"worked_day-S003": hold.sensibleJ / 3.6e6, "worked_day-S004": trapeze.sensibleJ / 3.6e6,
		"worked_day-S005": hold.waterKg, "worked_day-S006": trapeze.waterKg,
		"worked_day-S007": 1 - trapeze.sensibleJ/trapeze.totalJ,
		"worked_day-S008": fanKWh,
		"worked_day-S009": trapeze.totalJ / 3.6e6 / fanKWh,
	}
	for _, r := range table(t, "worked_day.csv") {
		value, ok := got[r.id]
		if !ok {
			t.Fatalf("row %s is not answered", r.id)
		}
		r.check(t, value)
	}
}

func near(t *testing.T, what string, atS, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s at %g s is %.5g, want %.5g ± %.2g", what, atS, got, want, within)
	}
}

func TestExchange(t *testing.T) {
	const pPa = 101325.0
	moistAir := func(c unit.Celsius, rh float64) Air { return Air{c, HumidityRatio(c, rh, pPa)} }
	for name, c := range map[string]struct {
		in            Air
		effectiveness float64
		soil          unit.Celsius
		outC          unit.Celsius
		outRH         float64 // 0: the vapour stays as it was
	}{
		"damp air over a cool pipe goes the same share in both": {
			moistAir(30, 0.7), 1, 20, 20, 1,
		},
		"a pipe above the dew point condenses nothing": {
			moistAir(30, 0.3), 0.6, 16, 21.6, 0,
		},
		"air warmed by the soil keeps its vapour": {
			moistAir(4, 0.95), 0.5, 14, 9, 0,
		},
		"saturated air cooled half way is clipped to saturation": {
			moistAir(35, 1), 0.5, 15, 25, 1,
		},
		"an effectiveness over 1 ends at the soil": {
			moistAir(30, 0.7), 3, 20, 20, 1,
		},
		"no exchange changes nothing": {
			moistAir(30, 0.7), 0, 20, 30, 0,
		},
	} {
		t.Run(name, func(t *testing.T) {
			h := Exchange(c.in, 0.5, c.effectiveness, c.soil, pPa)
			wantW := c.in.W
			if c.outRH > 0 {
				wantW = HumidityRatio(c.outC, c.outRH, pPa)
			}
			near(t, "outlet °C", 0, float64(h.Out.C), float64(c.outC), 1e-9)
			near(t, "outlet ratio", 0, h.Out.W, wantW, 1e-12)
		})
	}
}

func TestAFullExchangeGivesTheReferenceHeat(t *testing.T) {
	// water_and_condensate-S048 to S052: 1000 m³/h, 30 °C at 70 % to saturated 20 °C.
	const pPa = 101325
	h := Exchange(Air{30, HumidityRatio(30, 0.7, pPa)}, 1000.0/3600, 1, 20, pPa)
	near(t, "dry air kg/s", 0, h.DryAirKgS, 0.3139649, 2e-3*0.314)
	near(t, "condensate kg/h", 0, 3600*h.CondensateKgS, 4.634266, 0.023)
	near(t, "total W", 0, h.TotalW(), 6427.889, 5e-3*6428)
	near(t, "latent W", 0, h.LatentW, 3183.586, 32)
}

func TestHalfAnExchangeMovesHalfTheWater(t *testing.T) {
	const pPa = 101325
	in := Air{30, HumidityRatio(30, 0.7, pPa)}
	h := Exchange(in, 1, 0.5, 20, pPa)
	near(t, "outlet ratio", 0, h.Out.W, (in.W+SatHumidityRatio(20, pPa))/2, 1e-12)
	near(t, "outlet °C", 0, float64(h.Out.C), 25, 1e-9)
}

func TestWaterCondensesOnTheWallThatTheFilmTellsOf(t *testing.T) {
	const pPa = 101325.0
	in := Air{25, HumidityRatio(25, 0.8, pPa)} // its dew point is 21.3 °C
	for name, c := range map[string]struct {
		film  float64
		outC  unit.Celsius
		wantW float64
	}{
		"a wall above the dew point, with soil under it":        {0.8, 22.2, in.W},
		"a film that lets air go half way tells of a cold wall": {0.5, 22.2, in.W - 0.5*(in.W-SatHumidityRatio(19.4, pPa))},
		"a cold wall":                                 {0.8, 17, min(in.W-0.8*(in.W-SatHumidityRatio(15, pPa)), SatHumidityRatio(17, pPa))},
		"air that is warmed keeps its vapour":         {0.8, 30, in.W},
		"no film finds the coldest wall there can be": {0, 20, in.W - 1e-3*(in.W-SatHumidityRatio(-40, pPa))},
	} {
		t.Run(name, func(t *testing.T) {
			h := ExchangeTo(in, 0.5, c.film, c.outC, pPa)
			near(t, "outlet °C", 0, float64(h.Out.C), float64(c.outC), 0)
			near(t, "outlet ratio", 0, h.Out.W, min(c.wantW, SatHumidityRatio(c.outC, pPa)), 1e-12)
		})
	}
	// water_and_condensate-S048 to S052: 1000 m³/h, 30 °C at 70 % to saturated 20 °C.
	h := ExchangeTo(Air{30, HumidityRatio(30, 0.7, pPa)}, 1000.0/3600, 1, 20, pPa)
	near(t, "condensate kg/h", 0, 3600*h.CondensateKgS, 4.634266, 0.023)
	near(t, "total W", 0, h.TotalW(), 6427.889, 5e-3*6428)
}

// TestAKnownOutletIsTheExchangeThatLedThere: what leaves at the temperature that Exchange foretold does
// what Exchange does.
func TestAKnownOutletIsTheExchangeThatLedThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pPa := rapid.Float64Range(60e3, 105e3).Draw(t, "pressure")
		inC := unit.Celsius(rapid.Float64Range(-10, 50).Draw(t, "air"))
		in := Air{inC, HumidityRatio(inC, rapid.Float64Range(0, 1).Draw(t, "rh"), pPa)}
		soil := unit.Celsius(rapid.Float64Range(-5, 40).Draw(t, "soil"))
		share := rapid.Float64Range(0.01, 1).Draw(t, "film")
		want := Exchange(in, 0.7, share, soil, pPa)
		got := ExchangeTo(in, 0.7, share, want.Out.C, pPa)
		if math.Abs(got.TotalW()-want.TotalW()) > 1e-6*(1+math.Abs(want.TotalW())) {
			t.Fatalf("%+v, want %+v", got, want)
		}
	})
}

func TestNoFlowIsNoHeat(t *testing.T) {
	in := Air{30, 0.02}
	for _, flow := range []float64{0, -1, math.NaN()} {
		if got := Exchange(in, flow, 0.6, 15, 101325); got != (Heat{Out: in}) {
			t.Errorf("flow %v gives %+v", flow, got)
		}
		if got := ExchangeTo(in, flow, 0.6, 15, 101325); got != (Heat{Out: in}) {
			t.Errorf("flow %v gives %+v", flow, got)
		}
		if got := StreamHeat(in, Air{20, 0.01}, flow, 101325); got != (Heat{Out: Air{20, 0.01}}) {
			t.Errorf("flow %v gives %+v", flow, got)
		}
	}
}

func TestExchangeAlwaysBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pPa := rapid.Float64Range(60e3, 105e3).Draw(t, "pressure")
		inC := unit.Celsius(rapid.Float64Range(-30, 60).Draw(t, "air"))
		in := Air{inC, HumidityRatio(inC, rapid.Float64Range(0, 1).Draw(t, "rh"), pPa)}
		soil := unit.Celsius(rapid.Float64Range(-5, 40).Draw(t, "soil"))
		share := rapid.Float64Range(0, 1).Draw(t, "effectiveness")
		h := Exchange(in, rapid.Float64Range(0.01, 5).Draw(t, "flow"), share, soil, pPa)

		given := h.DryAirKgS*(Enthalpy(in.C, in.W)-Enthalpy(h.Out.C, h.Out.W)) -
			h.CondensateKgS*4186*float64(h.Out.C)
		if math.Abs(given-h.TotalW()) > 1e-6*(1+math.Abs(given)) {
			t.Fatalf("air gives %g W, soil takes %g W", given, h.TotalW())
		}
		if sat := SatHumidityRatio(h.Out.C, pPa); h.Out.W > sat*(1+1e-12) {
			t.Fatalf("outlet at %g holds %g, over saturation %g", h.Out.C, h.Out.W, sat)
		}
		if h.CondensateKgS < 0 || h.LatentW < -1e-6*(1+math.Abs(given)) {
			t.Fatalf("%+v takes water out of dry pipes", h)
		}
		if in.W <= SatHumidityRatio(soil, pPa) && h.CondensateKgS != 0 {
			t.Fatalf("%+v condenses on a pipe above the dew point", h)
		}
		if toSoil := float64(in.C.Sub(soil)); h.SensibleW*toSoil < 0 {
			t.Fatalf("%g W of sensible heat flow against %g K", h.SensibleW, toSoil)
		}
	})
}

func BenchmarkExchange(b *testing.B) {
	b.ReportAllocs()
	in := Air{28, HumidityRatio(28, 0.8, 101325)}
	var sum float64
	for i := range b.N {
		h := Exchange(in, 1.3, 0.6, unit.Celsius(14+i&3), 101325)
		sum += h.LatentW
	}
	if !(sum > 0) {
		b.Fatal("nothing condensed")
	}
}
