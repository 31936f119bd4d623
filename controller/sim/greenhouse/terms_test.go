package greenhouse_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
)

// A house that is put into its own state before each step looks up its terms every time. Beside it, one
// whose terms serve for a while has the same year.
func TestTermsAreGoodForAWhile(t *testing.T) {
	all := year(t, burlington, 5*time.Minute)
	p := heated(30e3)
	p.Cover = greenhouse.CoverOf(physics.DoubleFilmCurt)
	kept, soil := build(t, p, 10, 1.2e6)
	anew, soilAnew := build(t, p, 10, 1.2e6)
	type sums struct{ fuelKWh, pipesKWh, litres, meanC float64 }
	var a, b sums
	var worstK, square float64
	add := func(s *sums, h *greenhouse.House, f *greenhouse.Flux) {
		s.fuelKWh += f.FuelJ / 3.6e6
		s.pipesKWh += math.Abs(f.Beds[0].AirJ()) / 3.6e6
		s.litres += f.TranspiredKg
		s.meanC += float64(h.State().Air) / float64(len(all))
	}
	for i := range all {
		fans := plain(kept.State().Air, soil.c)
		f := kept.Step(&all[i], fans, 300)
		add(&a, kept, &f)
		anew.Restore(anew.State())
		f = anew.Step(&all[i], fans, 300)
		add(&b, anew, &f)
		off := math.Abs(float64(kept.State().Air.Sub(anew.State().Air)))
		worstK, square = max(worstK, off), square+off*off/float64(len(all))
	}
	t.Logf("kept %+v, anew %+v; the air is off by %.3f K as root mean square, %.2f at most; soil %.3f and %.3f °C",
		a, b, math.Sqrt(square), worstK, soil.c, soilAnew.c)
	within := func(what string, got, want, share float64) {
		if !(math.Abs(got-want) <= share*want) {
			t.Errorf("%s: %.1f with terms that serve for a while, %.1f without", what, got, want)
		}
	}
	within("kWh of fuel", a.fuelKWh, b.fuelKWh, 1e-3)
	within("kWh through the pipes", a.pipesKWh, b.pipesKWh, 5e-3)
	within("litres transpired", a.litres, b.litres, 2e-3)
	// The heater's thermostat, which has a kelvin of play, may be in another part of it.
	if off := math.Abs(a.meanC - b.meanC); off > 0.005 || math.Sqrt(square) > 0.2 || worstK > 2 {
		t.Errorf("the air is off by %.3f K in the mean, %.3f as root mean square, %.2f at most", off, math.Sqrt(square), worstK)
	}
}
