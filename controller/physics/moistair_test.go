package physics

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

// moist answers a row of moist_air.csv, or says that it is about something else.
func moist(r *row) []float64 {
	t, rh, p := unit.Celsius(r.in["t_C"]), r.in["rh"], r.in["p_Pa"]
	if p == 0 {
		p = 101325
	}
	w, hasW := r.in["w"]
	if wet, hasWet := r.in["twb_C"]; hasWet {
		w, hasW = RatioAtWetBulb(t, unit.Celsius(wet), p), true
	}
	if !hasW {
		w = HumidityRatio(t, rh, p)
	}
	one := func(v float64) []float64 { return []float64{v} }
	switch r.quantity {
	case "saturation pressure (ice below 0.01 C, water above)", "saturation pressure",
		"saturation pressure over water", "saturation pressure over ice":
		return one(SatPressurePa(t))
	case "saturation pressure over supercooled water (what RH sensors refer to below 0 C)":
		return one(SatPressureWaterPa(t))
	case "saturation humidity ratio":
		return one(SatHumidityRatio(t, p))
	case "saturated moist air enthalpy":
		return one(Enthalpy(t, SatHumidityRatio(t, p)))
	case "standard atmosphere pressure":
		return one(PressureAtAltitude(r.in["altitude_m"]))
	case "humidity ratio from vapour pressure":
		return one(RatioAtVapour(r.in["pv_Pa"], p))
	case "moist air enthalpy", "dry air enthalpy", "enthalpy":
		return one(Enthalpy(t, w))
	case "moist air specific volume (per kg dry air)", "dry air specific volume", "specific volume",
		"specific volume from wet bulb":
		return one(SpecificVolume(t, w, p))
	case "vapour pressure":
		return one(VapourPressurePa(w, p))
	case "humidity ratio", "humidity ratio from wet bulb":
		return one(w)
	case "wet bulb", "wet bulb from relative humidity":
		return one(float64(WetBulb(t, w, p)))
	case "dew point (frost point below 0)", "dew point from wet bulb":
		return one(float64(DewPoint(VapourPressurePa(w, p))))
	case "density":
		return one(Density(t, w, p))
	case "absolute humidity":
		return one(AbsoluteHumidityKgM3(t, w, p) * 1000)
	case "vapour pressure deficit (air)":
		return one(VapourDeficitPa(t, t, rh) / 1000)
	case "leaf-to-air VPD":
		return one(VapourDeficitPa(unit.Celsius(r.in["t_leaf_C"]), unit.Celsius(r.in["t_air_C"]), rh) / 1000)
	case "dew point by Magnus (17.62, 243.12), over water":
		r.tolerance = "abs 0.1" // the row's figure for the exact formula
		return one(float64(DewPointWater(rh * SatPressureWaterPa(t))))
	}
	return nil
}

// Rows moist_air-S001 to S251.
func TestMoistAirAgreesWithTheReferenceTable(t *testing.T) {
	walk(t, "moist_air.csv", moist, map[string]string{
		"the standard atmosphere's temperature is asked by nobody": "017 to 019",
		"pressure is the station's, never brought to the sea":      "030",
		"a rule of thumb": "247",
	})
}

func TestDewPointInvertsSaturationPressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64Range(-95, 195).Draw(t, "dew point, °C")
		got := float64(DewPoint(SatPressurePa(unit.Celsius(want))))
		// Around 0.01 °C ice and water meet to 2 ppm, 30 µK.
		if math.Abs(got-want) > 5e-5 {
			t.Fatalf("dew point %.7f °C came back as %.7f", want, got)
		}
	})
}

func TestSaturationSlopesAreThoseOfTheirCurves(t *testing.T) {
	for name, c := range map[string]struct {
		curve    func(k float64) (ln, slope float64)
		from, to float64 // K
	}{"ice": {lnSatIce, 180, 273}, "water": {lnSatWater, 274, 470}} {
		for k := c.from; k <= c.to; k += 5 {
			const h = 1e-3
			above, _ := c.curve(k + h)
			under, _ := c.curve(k - h)
			want := (above - under) / (2 * h)
			if _, got := c.curve(k); math.Abs(got-want) > 1e-6*want {
				t.Errorf("over %s at %g K the slope is %.8g, want %.8g", name, k, got, want)
			}
		}
	}
}

func TestDewPointOfAbsurdVapourStaysOnTheScale(t *testing.T) {
	for _, pw := range []float64{0, -3, 1e-300, 1e300, math.Inf(1), math.Inf(-1)} {
		if got := DewPoint(pw); !(got > -101 && got < 201) {
			t.Errorf("dew point at %g Pa is %g °C", pw, got)
		}
	}
}

func TestNearBoilingAirKeepsAFiniteRatio(t *testing.T) {
	for _, c := range []unit.Celsius{99, 100, 150, 1e9} {
		if w := SatHumidityRatio(c, 84e3); !(w > 0 && w < 6) {
			t.Errorf("saturation ratio at %g °C and 84 kPa is %g", c, w)
		}
	}
}

func TestMoreVapourPressureIsWarmerDewPoint(t *testing.T) {
	last := DewPoint(1)
	for pw := 1.5; pw < 40e3; pw *= 1.001 {
		next := DewPoint(pw)
		if next <= last {
			t.Fatalf("dew point at %.2f Pa, %.5f °C, is not over %.5f °C", pw, next, last)
		}
		last = next
	}
}

func BenchmarkDewPoint(b *testing.B) {
	b.ReportAllocs()
	var sum unit.Celsius
	for i := range b.N {
		sum += DewPoint(300 + float64(i%3000))
	}
	if math.IsNaN(float64(sum)) {
		b.Fatal("not a number")
	}
}
