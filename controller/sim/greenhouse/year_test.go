package greenhouse_test

import (
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
	"loambank/controller/weather"
)

// plain runs fans by a simple pair of differences.
func plain(air, soil unit.Celsius) []greenhouse.Fan {
	if d := air.Sub(soil); d > 6 || d < -4 && air < 5 {
		return []greenhouse.Fan{{FlowM3s: 1.2, PowerW: 500}}
	}
	return nil
}

// Over a year of Burlington's weather heat and water that entered the house are what it holds more,
// to 0.1 % (it is far better), and the soil holds what the house gave it.
func TestAYearBalances(t *testing.T) {
	all := year(t, burlington, 5*time.Minute)
	p := heated(30e3)
	h, s := build(t, p, 10, 1.2e6)
	heat, water, soil := h.HeatJ(), h.WaterKg(), s.c
	var enteredJ, wateredKg, soilJ, passedJ, passedKg, soilWaterJ, fuelKWh float64
	lowest, highest := unit.Celsius(99), unit.Celsius(-99)
	for i := range all {
		f := h.Step(&all[i], plain(h.State().Air, s.c), 300)
		enteredJ += heatsJ(&f)
		wateredKg += waterKg(&f)
		soilJ += f.Beds[0].StoredJ
		soilWaterJ += f.Beds[0].WaterJ - f.SoilJ
		passedJ += math.Abs(f.SunJ) + math.Abs(f.OutsideJ)
		passedKg += math.Abs(f.OpenKg)
		fuelKWh += f.FuelJ / 3.6e6
		lowest, highest = min(lowest, h.State().Air), max(highest, h.State().Air)
		if f.VentPerH < 0 || f.HeaterJ < 0 || f.HeaterS > 300 {
			t.Fatalf("step %d: %+v", i, f)
		}
	}
	t.Logf("%.1f to %.1f °C, %.0f kWh of fuel, soil %.1f °C", lowest, highest, fuelKWh, s.c)
	if off := math.Abs(enteredJ - (h.HeatJ() - heat)); off > 1e-3*passedJ*1e-3 {
		t.Errorf("heat is off by %.3g of %.3g J", off, passedJ)
	}
	if off := math.Abs(wateredKg - (h.WaterKg() - water)); off > 1e-6*passedKg {
		t.Errorf("water is off by %.3g of %.3g kg", off, passedKg)
	}
	storedJ := float64(s.c.Sub(soil)) * s.capacityJK
	if off := math.Abs(storedJ - soilJ); off > 1e-6*passedJ || math.Abs(soilJ+soilWaterJ) > 1e-6*passedJ {
		t.Errorf("the soil holds %.4g J more, the house gave %.4g", storedJ, -soilWaterJ)
	}
	// A heated house stays over its setpoint less what a full heater lacks; a vented one near its vents.
	if lowest < -1 || highest > 50 {
		t.Errorf("the house goes from %.1f to %.1f °C", lowest, highest)
	}
}

// Ten times shorter steps change a winter month's fuel and the house's mean temperature little.
func TestShorterStepsSayTheSame(t *testing.T) {
	month := func(step time.Duration) (fuelJ, meanC, litres float64) {
		all := year(t, burlington, step)
		h, s := build(t, heated(30e3), 8, 3e6)
		n := int(28 * 24 * time.Hour / step)
		for i := range n {
			f := h.Step(&all[i], plain(h.State().Air, s.c), step.Seconds())
			fuelJ += f.FuelJ
			litres += f.CondensedKg
			meanC += float64(h.State().Air) / float64(n)
		}
		return fuelJ, meanC, litres
	}
	fuel, mean, litres := month(5 * time.Minute)
	fuelFine, meanFine, litresFine := month(30 * time.Second)
	t.Logf("fuel %.1f and %.1f kWh, mean %.3f and %.3f °C, %.0f and %.0f l drip", fuel/3.6e6, fuelFine/3.6e6, mean, meanFine, litres, litresFine)
	if math.Abs(fuel-fuelFine) > 0.01*fuelFine || math.Abs(mean-meanFine) > 0.05 || math.Abs(litres-litresFine) > 0.03*litresFine {
		t.Errorf("fuel %.5g J in steps of 5 min, %.5g in 30 s; mean %.3f and %.3f °C; %.1f and %.1f l drip",
			fuel, fuelFine, mean, meanFine, litres, litresFine)
	}
}

// An unheated house of double film, by the trade, keeps a few degrees over the lows outside and
// warms by 10 to 20 K on sunny winter days without venting; common practice, no source.
func TestAnUnheatedHouseInJanuary(t *testing.T) {
	all := year(t, golden, 5*time.Minute)
	h, _ := build(t, hoop(), 6, 3e6)
	var lift, warmest float64
	nights := 0
	for day := range 31 {
		lowIn, lowOut := unit.Celsius(99), unit.Celsius(99)
		for _, w := range all[day*288 : (day+1)*288] {
			h.Step(&w, nil, 300)
			lowIn, lowOut = min(lowIn, h.State().Air), min(lowOut, w.Outside)
			warmest = max(warmest, float64(h.State().Air.Sub(w.Outside)))
		}
		lift += float64(lowIn.Sub(lowOut))
		nights++
	}
	lift /= float64(nights)
	t.Logf("nights %.1f K over outside, days up to %.1f K", lift, warmest)
	if lift < 2 || lift > 10 || warmest < 10 || warmest > 35 {
		t.Errorf("nights are %.1f K over outside, days up to %.1f K", lift, warmest)
	}
}

// What stands in for a missing sky is the files' own, on the mean of the year to 5 %.
func TestASkyThatIsNotInTheFile(t *testing.T) {
	all := year(t, burlington, time.Hour)
	run := func(with bool) (meanC float64) {
		h, _ := build(t, hoop(), 8, 3e6)
		for i := range all {
			w := all[i]
			if !with {
				w.Have &^= weather.Sky
				w.SkyWm2 = 0
			}
			for range 12 {
				h.Step(&w, nil, 300)
			}
			meanC += float64(h.State().Cover[0]) / float64(len(all))
		}
		return meanC
	}
	with, without := run(true), run(false)
	t.Logf("the film's mean is %.2f °C with the file's sky, %.2f with the stand-in", with, without)
	if math.Abs(with-without) > 0.7 {
		t.Errorf("the film's mean is %.2f °C with the file's sky, %.2f with the stand-in", with, without)
	}
}

func TestAStepDoesNotAllocate(t *testing.T) {
	h, _ := build(t, heated(30e3), 8, 3e6)
	w := greenhouse.Look(noon(3, 250))
	fans := []greenhouse.Fan{{FlowM3s: 1, PowerW: 400}}
	var f greenhouse.Flux
	if n := testing.AllocsPerRun(100, func() { h.Advance(&w, fans, 300, &f) }); n != 0 {
		t.Errorf("%v allocations a step", n)
	}
}

// store is a real soil store of 20 pipes under the whole house.
func store(t testing.TB, p greenhouse.Params) *ground.Store {
	t.Helper()
	const pipes = 20
	s, err := ground.New(ground.Params{
		Layers: []ground.Layer{{ThickM: 1, CapacityJm3K: 2.3e6, ConductWmK: 1.2}},
		DepthM: 4,
		Pipes: ground.Pipes{
			Count: pipes, LengthM: 29.26, DiameterM: 0.1, SpacingM: p.FloorM2 / 29.26 / pipes, DepthM: 0.6,
			Segments: 6, DrainedShare: 0.7, HoldsKgM: 0.1,
		},
		SurfaceWm2K: 3,
		Edge:        ground.Edge{ReachM: 1.5},
		Ground:      physics.GroundWave{Mean: 9, Amplitude: 12, ColdestDay: 20, DiffusivityM2s: 1.2 / 2.3e6},
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func BenchmarkStep(b *testing.B) {
	h, s := build(b, heated(30e3), 8, 3e6)
	all := year(b, burlington, 5*time.Minute)
	outdoors := make([]greenhouse.Outdoors, len(all))
	for i := range all {
		outdoors[i] = greenhouse.Look(&all[i])
	}
	b.ReportAllocs()
	i := 0
	var f greenhouse.Flux
	for b.Loop() {
		h.Advance(&outdoors[i%len(all)], plain(h.State().Air, s.c), 300, &f)
		i++
	}
}

func BenchmarkStepOverAStore(b *testing.B) {
	p := heated(30e3)
	s := store(b, p)
	h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: p.FloorM2, Soil: s}})
	if err != nil {
		b.Fatal(err)
	}
	all := year(b, burlington, 5*time.Minute)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		h.Step(&all[i%len(all)], plain(h.State().Air, 12), 300)
		i++
	}
}

// Over a real store the house's accounts and the soil's are one: a fortnight of autumn that charges.
func TestTheHouseOverAStore(t *testing.T) {
	all := year(t, burlington, 5*time.Minute)
	p := heated(30e3)
	s := store(t, p)
	h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: p.FloorM2, Soil: s}})
	if err != nil {
		t.Fatal(err)
	}
	const first = 258 * 288 // 16 September
	soil, heat, water := s.HeatJ(), h.HeatJ(), h.WaterKg()
	var into, stored, edges, passed, entered, watered, passedKg, againKg float64
	const days = 14
	for i := first; i < first+days*288; i++ {
		w, fans := &all[i], plain(h.State().Air, 15)
		if i >= first+(days-1)*288 { // and a day of dry air to the end, that takes what water stands in the pipes
			w, fans = night(16, 0.1, 5, 15), []greenhouse.Fan{{FlowM3s: 1.2, PowerW: 500}}
		}
		f := h.Step(w, fans, 300)
		bed := &f.Beds[0]
		into += bed.SensibleJ + bed.LatentJ
		againKg += bed.EvaporatedKg
		if left := bed.CondensedKg - bed.EvaporatedKg; math.Abs(f.PipesKg-left) > 1e-12 {
			t.Fatalf("%g kg stay in the pipes, the house says %g", left, f.PipesKg)
		}
		stored += bed.StoredJ
		edges += bed.EdgeJ + bed.BaseJ + bed.SurfaceJ
		passed += math.Abs(bed.SurfaceJ) + math.Abs(f.OutsideJ) + f.SunJ
		entered += heatsJ(&f)
		watered += waterKg(&f)
		passedKg += math.Abs(f.TranspiredKg) + math.Abs(f.OpenKg)
	}
	t.Logf("%.0f kWh went down the pipes, %.0f kWh are held more, surface %.1f °C", into/3.6e6, stored/3.6e6, s.SurfaceC())
	if off := math.Abs(stored - into - edges); off > 1e-6*passed {
		t.Errorf("the soil's account is off by %.3g J of %.3g", off, passed)
	}
	if off := math.Abs(s.HeatJ() - soil - stored); off > 1e-6*passed {
		t.Errorf("the soil holds %.6g J more, its account says %.6g", s.HeatJ()-soil, stored)
	}
	if off := math.Abs(h.HeatJ() - heat - entered); off > 1e-6*passed {
		t.Errorf("the house's heat is off by %.3g J of %.3g", off, passed)
	}
	if off := math.Abs(h.WaterKg() - water - watered); off > 1e-6*passedKg {
		t.Errorf("its water is off by %.3g kg of %.3g", off, passedKg)
	}
	if !(againKg > 0.1) {
		t.Errorf("only %g kg evaporate again in the pipes", againKg)
	}
	if into < 3.6e6*300 {
		t.Errorf("only %.0f kWh went into the soil", into/3.6e6)
	}
}
