package ground

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/physics"
)

const sea = 101325 // Pa

// drawParams makes stores of all kinds, small enough to be quick.
func drawParams(t *rapid.T) Params {
	p := Params{
		SurfaceWm2K: rapid.Float64Range(0.5, 20).Draw(t, "usual coefficient"),
		Edge: Edge{
			ReachM:           rapid.SampledFrom([]float64{0, 0.5, 2.5}).Draw(t, "reach"),
			InsulationM2KW:   rapid.Float64Range(0, 3).Draw(t, "insulation"),
			InsulationDepthM: rapid.Float64Range(0, 2).Draw(t, "insulated to"),
		},
		Ground: physics.GroundWave{
			Mean: unit.Celsius(rapid.Float64Range(2, 20).Draw(t, "mean")), Amplitude: unit.Kelvin(rapid.Float64Range(0, 15).Draw(t, "amplitude")),
			ColdestDay: 20, DiffusivityM2s: rapid.Float64Range(0, 1e-6).Draw(t, "diffusivity"),
		},
		Pipes: Pipes{
			Count: rapid.IntRange(1, 40).Draw(t, "pipes"), LengthM: rapid.Float64Range(3, 30).Draw(t, "length"),
			DiameterM: rapid.Float64Range(0.06, 0.2).Draw(t, "diameter"), SpacingM: rapid.Float64Range(0.4, 2).Draw(t, "spacing"),
			DepthM: rapid.Float64Range(0.35, 1.2).Draw(t, "depth"), Segments: rapid.IntRange(1, 5).Draw(t, "segments"),
			DrainedShare: rapid.Float64Range(0, 1).Draw(t, "drained"), HoldsKgM: rapid.Float64Range(0, 0.3).Draw(t, "holds"),
		},
	}
	p.DepthM = 2 * (p.Pipes.DepthM + 0.5)
	for range rapid.IntRange(1, 3).Draw(t, "layers") {
		p.Layers = append(p.Layers, Layer{
			ThickM:       rapid.Float64Range(0.1, 1).Draw(t, "thick"),
			CapacityJm3K: rapid.Float64Range(1e6, 3.5e6).Draw(t, "capacity"),
			ConductWmK:   rapid.Float64Range(0.2, 3).Draw(t, "conductivity"),
		})
	}
	return p
}

func drawDrive(t *rapid.T) Drive {
	air := unit.Celsius(rapid.Float64Range(-20, 50).Draw(t, "air"))
	return Drive{
		Day: rapid.Float64Range(0, 365).Draw(t, "day"),
		In:  physics.Air{C: air, W: physics.HumidityRatio(air, rapid.Float64Range(0, 1).Draw(t, "humidity"), sea)},
		// Half the time the fan rests.
		DryAirKgS: max(0, rapid.Float64Range(-2, 2).Draw(t, "flow")), PressurePa: sea, Air: air,
		SurfaceWm2K: rapid.Float64Range(0, 30).Draw(t, "coefficient"),
		RadiationW:  rapid.Float64Range(-5e3, 5e4).Draw(t, "radiation"),
	}
}

// unbalanced is the heat that a step cannot account for, as a share of all that moved. Under
// heldJ × 1e-5 of it, the rounding of what the soil holds hides it.
func (f Flux) unbalanced(heldJ float64) float64 {
	all := math.Abs(f.SensibleJ) + math.Abs(f.LatentJ) + math.Abs(f.SurfaceJ) + math.Abs(f.EdgeJ) + math.Abs(f.BaseJ)
	return (f.StoredJ - f.AirJ() - f.SurfaceJ - f.EdgeJ - f.BaseJ) / (all + 1e-5*math.Abs(heldJ))
}

func TestHeatAndWaterAreKeptInEveryStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := New(drawParams(t))
		if err != nil {
			t.Fatal(err)
		}
		for range 3 {
			d, dtS := drawDrive(t), rapid.SampledFrom([]float64{1, 30, 300, 3600, 86400}).Draw(t, "step")
			heatJ, filmKg := s.HeatJ(), s.FilmKg()
			f := s.Step(d, dtS)
			if u := f.unbalanced(heatJ); !(math.Abs(u) < 1e-9) {
				t.Fatalf("%.3g of the heat is not accounted for: %+v", u, f)
			}
			if gone := s.HeatJ() - heatJ - f.StoredJ; !(math.Abs(gone) <= 1e-12*math.Abs(heatJ)+1e-12*math.Abs(s.HeatJ())+1e-6) {
				t.Fatalf("the soil holds %g J more, the step says %g", s.HeatJ()-heatJ, f.StoredJ)
			}
			if d.DryAirKgS > 0 {
				airJ := dtS * d.DryAirKgS * (physics.Enthalpy(d.In.C, d.In.W) - physics.Enthalpy(f.Out.C, f.Out.W))
				if off := airJ - f.AirJ() - f.WaterJ; !(math.Abs(off) <= 1e-9*dtS*d.DryAirKgS*1e5) {
					t.Fatalf("the air gave %g J, the step says %g", airJ, f.AirJ()+f.WaterJ)
				}
				vapour := dtS * d.DryAirKgS * (d.In.W - f.Out.W)
				if off := vapour - (f.CondensedKg - f.EvaporatedKg); !(math.Abs(off) <= 1e-12*dtS) {
					t.Fatalf("the air lost %g kg of water, the step says %g", vapour, f.CondensedKg-f.EvaporatedKg)
				}
			}
			if off := s.FilmKg() - filmKg - (f.CondensedKg - f.EvaporatedKg - f.DrainedKg); !(math.Abs(off) <= 1e-9) {
				t.Fatalf("%g kg of water are lost in the pipes", off)
			}
			if f.CondensedKg < 0 || f.EvaporatedKg < 0 || f.DrainedKg < -1e-15 || s.FilmKg() < 0 {
				t.Fatalf("water under nothing: %+v, film %g", f, s.FilmKg())
			}
		}
	})
}

// Without condensation no temperature leaves the range of what acts on the store.
func TestSoilStaysBetweenWhatActsOnIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := New(drawParams(t))
		if err != nil {
			t.Fatal(err)
		}
		low, high := 5.0, 5.0
		s.Fill(level(5))
		s.soil.wave.Amplitude = 0
		low, high = min(low, float64(s.soil.wave.Mean)), max(high, float64(s.soil.wave.Mean))
		for range 5 {
			d := drawDrive(t)
			d.RadiationW, d.In.W = 0, 0
			// What is besides the usual coefficient spreads evenly, which may overshoot where the
			// soil is uneven.
			d.SurfaceWm2K = s.p.SurfaceWm2K
			s.Step(d, rapid.SampledFrom([]float64{1, 300, 86400, 1e7}).Draw(t, "step"))
			low, high = min(low, float64(d.Air)), max(high, float64(d.Air))
			for _, c := range s.soil.tempC {
				if !(c >= low-1e-6 && c <= high+1e-6) {
					t.Fatalf("soil of %g °C between %g and %g", c, low, high)
				}
			}
		}
	})
}

// season is a year of weather in the house, and a fan that charges the warm half of each day and
// discharges in winter nights.
func season(p *Params, hour float64) Drive {
	year := -math.Cos(2 * math.Pi * (hour/24 - 20) / 365)
	day := -math.Cos(2 * math.Pi * (hour - 3) / 24)
	air := unit.Celsius(14 + 10*year + 8*day)
	d := p.flowing(2.5, air, physics.HumidityRatio(air, 0.85, sea))
	if day < 0.2 && (day > -0.6 || year > 0) {
		d.DryAirKgS = 0
	}
	d.Day = hour / 24
	d.SurfaceWm2K = 4 + 2*day
	d.RadiationW = max(0, day) * (60 + 40*year) * p.FloorM2()
	return d
}

func TestYearBalances(t *testing.T) {
	p := bed()
	p.Pipes.Segments = 3
	p.Pipes.DrainedShare = 0.5
	s := newStore(t, p)
	before := s.HeatJ()
	var sum Flux
	const dtS = 900
	for n := range 365 * 96 {
		f := s.Step(season(&p, float64(n)*dtS/3600), dtS)
		sum.SensibleJ += f.SensibleJ
		sum.LatentJ += f.LatentJ
		sum.SurfaceJ += f.SurfaceJ
		sum.EdgeJ += f.EdgeJ
		sum.BaseJ += f.BaseJ
		sum.CondensedKg += f.CondensedKg
		sum.EvaporatedKg += f.EvaporatedKg
		sum.DrainedKg += f.DrainedKg
	}
	sum.StoredJ = s.HeatJ() - before
	t.Logf("year: sensible %.0f, latent %.0f, surface %.0f, edge %.0f, base %.0f, stored %.1f kWh; condensed %.0f, evaporated %.0f, drained %.0f kg",
		sum.SensibleJ/3.6e6, sum.LatentJ/3.6e6, sum.SurfaceJ/3.6e6, sum.EdgeJ/3.6e6, sum.BaseJ/3.6e6, sum.StoredJ/3.6e6,
		sum.CondensedKg, sum.EvaporatedKg, sum.DrainedKg)
	if u := sum.unbalanced(0); !(math.Abs(u) < 1e-9) {
		t.Errorf("%.3g of a year's heat is not accounted for", u)
	}
	if !(sum.CondensedKg > 100 && sum.EvaporatedKg > 10 && sum.DrainedKg > 50) {
		t.Errorf("condensed %g, evaporated %g, drained %g kg: the year is too dry to try them", sum.CondensedKg, sum.EvaporatedKg, sum.DrainedKg)
	}
}

func TestStepsOf300And30SecondsAgree(t *testing.T) {
	p := bed()
	p.Pipes.Segments = 3
	totals := func(dtS float64) (chargedJ, dischargedJ, surfaceJ float64) {
		s := newStore(t, p)
		for n := range int(8 * 86400 / dtS) {
			// The same drive for whole 300 s, so that only the step differs.
			hour := math.Floor(float64(n)*dtS/300) * 300 / 3600
			f := s.Step(season(&p, 24*300+hour), dtS)
			chargedJ += max(0, f.AirJ())
			dischargedJ += min(0, f.AirJ())
			surfaceJ += math.Abs(f.SurfaceJ)
		}
		return chargedJ, dischargedJ, surfaceJ
	}
	c1, d1, s1 := totals(300)
	c2, d2, s2 := totals(30)
	t.Logf("300 against 30 s: charged %+.3f %%, discharged %+.3f %%, surface %+.3f %%", 100*(c1/c2-1), 100*(d1/d2-1), 100*(s1/s2-1))
	for _, ratio := range []float64{c1 / c2, d1 / d2, s1 / s2} {
		if !(math.Abs(ratio-1) < 0.01) {
			t.Errorf("heat differs by %.2f %%, over 1 %%", 100*(ratio-1))
		}
	}
}

func TestStateGoesOnAfterJSON(t *testing.T) {
	p := bed()
	a, b := newStore(t, p), newStore(t, p)
	for n := range 50 {
		a.Step(season(&p, float64(n)), 3600)
	}
	text, err := json.Marshal(a.State())
	if err != nil {
		t.Fatal(err)
	}
	var st State
	if err := json.Unmarshal(text, &st); err != nil {
		t.Fatal(err)
	}
	if err := b.Restore(st); err != nil {
		t.Fatal(err)
	}
	for n := 50; n < 80; n++ {
		if diff := cmp.Diff(a.Step(season(&p, float64(n)), 3600), b.Step(season(&p, float64(n)), 3600)); diff != "" {
			t.Fatalf("hour %d (-kept +restored):\n%s", n, diff)
		}
	}
	p.Pipes.Segments = 2
	if err := newStore(t, p).Restore(st); err == nil {
		t.Error("a store of 2 segments took the state of one of 6")
	}
}
