package physics

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

func TestWetBulbInvertsItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pPa := rapid.Float64Range(60e3, 105e3).Draw(t, "pressure")
		air := unit.Celsius(rapid.Float64Range(-40, 80).Draw(t, "air"))
		w := rapid.Float64Range(0, 1).Draw(t, "share of saturation") * SatHumidityRatio(air, pPa)
		wet := WetBulb(air, w, pPa)
		if !(wet <= air) {
			t.Fatalf("the wet bulb stands at %g in air of %g °C", wet, air)
		}
		// 1 µK of the bulb is at most 1e-7 of vapour at 80 °C.
		within := 1e-7 * (1 + 50*w)
		if air >= 0 && air < tripleC {
			within += 1e-4 * w // saturation there is over ice, the bulb wet
		}
		if back := RatioAtWetBulb(air, wet, pPa); math.Abs(back-w) > within {
			t.Fatalf("%g at %g °C has its wet bulb at %g, which comes back as %g", w, air, wet, back)
		}
		if dew := DewPoint(VapourPressurePa(w, pPa)); float64(dew.Sub(wet)) > 0.01 {
			t.Fatalf("the wet bulb %g lies under the dew point %g", wet, dew)
		}
	})
}

func TestDamperAirHasAWarmerWetBulb(t *testing.T) {
	for _, air := range []unit.Celsius{-30, -2, 1, 8, 25, 60} {
		last := WetBulb(air, 0, 95e3)
		for share := 0.02; share <= 1; share += 0.02 {
			next := WetBulb(air, share*SatHumidityRatio(air, 95e3), 95e3)
			if !(next > last) {
				t.Errorf("at %g °C and %.0f %% the wet bulb is %g, not over %g", air, 100*share, next, last)
			}
			last = next
		}
	}
}

func TestSaturatedAirHasItsOwnWetBulb(t *testing.T) {
	for _, air := range []unit.Celsius{-40, -5, 3, 20, 80} {
		if wet := WetBulb(air, SatHumidityRatio(air, 101325), 101325); math.Abs(float64(wet.Sub(air))) > 1e-5 {
			t.Errorf("saturated air of %g °C has its wet bulb at %g", air, wet)
		}
	}
}

func TestAbsurdAirHasAFiniteWetBulb(t *testing.T) {
	for _, air := range []unit.Celsius{-1e9, -300, 200, 1e9} {
		for _, w := range []float64{-1, 0, 0.01, 5} {
			for _, pPa := range []float64{1, 101325} {
				if wet := WetBulb(air, w, pPa); !(wet >= -100 && wet <= 99) {
					t.Errorf("wet bulb of %g °C, %g, %g Pa is %g", air, w, pPa, wet)
				}
			}
		}
	}
}

func TestDewPointOverWaterInvertsItsCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64Range(-80, 90).Draw(t, "dew point, °C")
		got := float64(DewPointWater(SatPressureWaterPa(unit.Celsius(want))))
		// Where both curves meet, 10 ppm are 0.15 mK.
		if math.Abs(got-want) > 3e-4 {
			t.Fatalf("dew point %.7f °C came back as %.7f", want, got)
		}
	})
	for _, pw := range []float64{-1, 0, 1e-300, math.Inf(1), math.Inf(-1)} {
		if got := DewPointWater(pw); !(got > -110 && got < 201) {
			t.Errorf("dew point at %g Pa is %g °C", pw, got)
		}
	}
}

func TestBothWaterCurvesMeetAtTheTriplePoint(t *testing.T) {
	below, above := SatPressureWaterPa(tripleC-1e-9), SatPressureWaterPa(tripleC)
	near(t, "pressure", 0, below, above, 1e-5*above)
	// At −10 °C ice is 9 % under water.
	near(t, "ice over water", -10, SatPressurePa(-10)/SatPressureWaterPa(-10), 0.907, 0.003)
}

func TestSupercooledSlopeIsThatOfItsCurve(t *testing.T) {
	for k := 180.0; k < 273; k += 5 {
		const h = 1e-3
		above, _ := lnSatSupercooled(k + h)
		under, _ := lnSatSupercooled(k - h)
		want := (above - under) / (2 * h)
		if _, got := lnSatSupercooled(k); math.Abs(got-want) > 1e-6*want {
			t.Errorf("at %g K the slope is %.8g, want %.8g", k, got, want)
		}
	}
}

func TestHumidityAndEnthalpyComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pPa := rapid.Float64Range(60e3, 105e3).Draw(t, "pressure")
		air := unit.Celsius(rapid.Float64Range(-40, 80).Draw(t, "air"))
		rh := rapid.Float64Range(0, 1).Draw(t, "humidity")
		w := HumidityRatio(air, rh, pPa)
		if got := RelativeHumidity(air, w, pPa); math.Abs(got-rh) > 1e-9 {
			t.Fatalf("humidity %g came back as %g", rh, got)
		}
		if got := TemperatureAtEnthalpy(Enthalpy(air, w), w); math.Abs(float64(got.Sub(air))) > 1e-9 {
			t.Fatalf("%g °C came back as %g", air, got)
		}
	})
}

func TestPsychrometricsAllocateNothing(t *testing.T) {
	var sum float64
	for name, f := range map[string]func(){
		"wet bulb":       func() { sum += float64(WetBulb(22, 0.008, 95e3)) },
		"iced bulb":      func() { sum += float64(WetBulb(-5, 0.001, 95e3)) },
		"dew point":      func() { sum += float64(DewPoint(900)) },
		"frost point":    func() { sum += float64(DewPoint(200)) },
		"dew in frost":   func() { sum += float64(DewPointWater(200)) },
		"humidity ratio": func() { sum += HumidityRatio(12, 0.7, 95e3) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
	if math.IsNaN(sum) {
		t.Error("not a number")
	}
}
