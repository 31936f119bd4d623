package physics

import (
	"math"
	"testing"

	"loambank/config/unit"
)

// The bound is the one that TabledSatPressurePa states; steps of 7 mK meet each interval at some
// seventy places.
func TestTabledSaturationKeepsToItsFormula(t *testing.T) {
	worst, where := 0.0, 0.0
	for c := -62.0; c <= 102; c += 0.007 {
		want := SatPressurePa(unit.Celsius(c))
		if off := math.Abs(TabledSatPressurePa(unit.Celsius(c))-want) / want; off > worst {
			worst, where = off, c
		}
	}
	t.Logf("off by at most %.2g of the pressure, at %.2f °C", worst, where)
	if worst > 1e-7 {
		t.Errorf("off by %.2g of the pressure at %.3f °C, want 1e-7", worst, where)
	}
}

func TestTabledSaturationHasNoStepAndRises(t *testing.T) {
	for i := -satIced; i <= satWet; i++ {
		knot := tripleC + float64(i)*satStepK
		const aside = 1e-9
		under, over := TabledSatPressurePa(unit.Celsius(knot-aside)), TabledSatPressurePa(unit.Celsius(knot+aside))
		most := 1e-9 // of the pressure: its own rise on the way is under 3e-10
		if i == 0 {
			most = 2e-6 // ice and water meet to 2 ppm
		}
		if off := math.Abs(over-under) / over; off > most {
			t.Errorf("at %.2f °C the table steps by %.2g of the pressure", knot, off)
		}
	}
	last := 0.0
	for c := -62.0; c <= 102; c += 0.003 {
		if math.Abs(c-tripleC) < 0.003 {
			continue
		}
		next := TabledSatPressurePa(unit.Celsius(c))
		if !(next > last) {
			t.Fatalf("%.6f Pa at %.3f °C is not over %.6f", next, c, last)
		}
		last = next
	}
}

func TestBeyondItsTableSaturationIsTheFormula(t *testing.T) {
	for _, c := range []unit.Celsius{-150, -100, -60.5, 100.02, 180, 1e9, unit.Celsius(math.Inf(-1)), unit.Celsius(math.Inf(1))} {
		if got, want := TabledSatPressurePa(c), SatPressurePa(c); got != want {
			t.Errorf("%v Pa at %v °C, want %v", got, c, want)
		}
	}
	if got := TabledSatPressurePa(unit.Celsius(math.NaN())); !math.IsNaN(got) {
		t.Errorf("%v Pa at no temperature", got)
	}
}

// The rows of moist_air.csv that the formula is held to hold for the table, moist_air-S001 to S010
// among them.
func TestTabledSaturationAgreesWithTheReferenceTable(t *testing.T) {
	asked := 0
	for _, r := range table(t, "moist_air.csv") {
		c, p := unit.Celsius(r.in["t_C"]), r.in["p_Pa"]
		if p == 0 {
			p = 101325
		}
		switch r.quantity {
		case "saturation pressure (ice below 0.01 C, water above)":
			r.check(t, TabledSatPressurePa(c))
		case "saturation humidity ratio":
			r.check(t, TabledSatHumidityRatio(c, p))
		default:
			continue
		}
		asked++
	}
	if asked == 0 {
		t.Error("no row is about saturation")
	}
}

// The slope is that of the formula, between differences to both sides; where ice becomes water it is that
// of the side. Beyond the table it is a difference itself.
func TestTabledSaturationMoves(t *testing.T) {
	const pPa, step = 95e3, 1e-3
	worst, worstSlope := 0.0, 0.0
	for c := -59.9; c < 79; c += 0.0371 {
		if math.Abs(c-tripleC) < 2*step {
			continue
		}
		w, slope := TabledSaturation(unit.Celsius(c), pPa)
		want := SatHumidityRatio(unit.Celsius(c), pPa)
		over, under := SatHumidityRatio(unit.Celsius(c+step), pPa), SatHumidityRatio(unit.Celsius(c-step), pPa)
		worst = max(worst, math.Abs(w/want-1))
		worstSlope = max(worstSlope, math.Abs(slope/((over-under)/(2*step))-1))
	}
	t.Logf("off by at most %.2g, the slope by %.2g", worst, worstSlope)
	if !(worst < 2e-7 && worstSlope < 1e-5) {
		t.Errorf("off by up to %.2g, the slope by %.2g; over 2e-7 and 1e-5", worst, worstSlope)
	}
	for _, c := range []unit.Celsius{-75, 110, 150} {
		w, slope := TabledSaturation(c, pPa)
		if want := SatHumidityRatio(c, pPa); w != want || !(slope >= 0) || math.IsInf(slope, 0) {
			t.Errorf("%v °C: %g and %g, want %g", c, w, slope, want)
		}
	}
}
