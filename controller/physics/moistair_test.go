package physics

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

// moist answers a row of moist_air.csv, or says that it is about something else.
func moist(r row) (got float64, ok bool) {
	t, rh, p := unit.Celsius(r.in["t_C"]), r.in["rh"], r.in["p_Pa"]
	w, hasW := r.in["w"]
	if !hasW && p > 0 {
		w = HumidityRatio(t, rh, p)
	}
	switch r.quantity {
	case "saturation pressure (ice below 0.01 C, water above)", "saturation pressure",
		"saturation pressure over water", "saturation pressure over ice":
		return SatPressurePa(t), true
	case "saturation humidity ratio":
		return SatHumidityRatio(t, p), true
	case "saturated moist air enthalpy":
		return Enthalpy(t, SatHumidityRatio(t, p)), true
	case "standard atmosphere pressure":
		return PressureAtAltitude(r.in["altitude_m"]), true
	case "humidity ratio from vapour pressure":
		return RatioAtVapour(r.in["pv_Pa"], p), true
	case "moist air enthalpy", "dry air enthalpy", "enthalpy":
		return Enthalpy(t, w), true
	case "moist air specific volume (per kg dry air)", "dry air specific volume", "specific volume":
		return SpecificVolume(t, w, p), true
	case "vapour pressure":
		return rh * SatPressurePa(t), true
	case "humidity ratio":
		return w, true
	case "dew point (frost point below 0)":
		return float64(DewPoint(rh * SatPressurePa(t))), true
	case "density":
		return Density(t, w, p), true
	case "vapour pressure deficit (air)":
		return (1 - rh) * SatPressurePa(t) / 1000, true
	}
	if strings.HasPrefix(r.quantity, "dew point by Magnus") {
		// Above 0 °C, where the row's own formula and ours both mean water.
		return float64(DewPoint(rh * SatPressurePa(t))), true
	}
	return 0, false
}

// Rows moist_air-S001 to S251, without wet bulbs (S021, S022, S027 to S029 and 22 more), the
// atmosphere's temperature (S017 to S019), sea-level pressure (S030), absolute humidity (S226 to
// S229), leaves (S230 to S232), supercooled water (S244 to S246) and a rule of thumb (S247).
func TestMoistAirAgreesWithTheReferenceTable(t *testing.T) {
	checked := 0
	for _, r := range table(t, "moist_air.csv") {
		got, ok := moist(r)
		if !ok {
			continue
		}
		checked++
		if strings.HasPrefix(r.quantity, "dew point by Magnus") {
			r.tolerance = "abs 0.1" // the row's figure for the exact formula
		}
		r.check(t, got)
	}
	if want := 209; checked != want {
		t.Errorf("checked %d rows, want %d", checked, want)
	}
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
