package sim_test

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/sim"
)

const pressure = 99600

func house() *sim.Params {
	return &sim.Params{
		LossWK: 1500, FloorM2: 250, Transmission: 0.6, AirJK: 8e6, VolumeM3: 700, PressurePa: pressure,
		Stores: []sim.Store{{CapacityJK: 2.5e8, LossWK: 60, Ground: 11, Effectiveness: 0.6}},
	}
}

func start(air, soil unit.Celsius) sim.State {
	return sim.State{
		Air: air, Vapour: physics.HumidityRatio(air, 0.8, pressure),
		Soil: []unit.Celsius{soil}, IntoJ: []float64{0},
	}
}

// A dry, dark, closed house cools towards outside by its time constant (lumped capacity, Incropera
// et al., Fundamentals of Heat and Mass Transfer, 7th ed., eq. 5.6).
func TestADarkHouseCoolsByItsTimeConstant(t *testing.T) {
	p := house()
	st := start(20, 12)
	st.Vapour = 0
	night := sim.Weather{Outside: 0, Vapour: 0}
	tau := p.AirJK / p.LossWK
	got := sim.Advance(p, st, night, []float64{0}, tau)
	want := 20 * math.Exp(-1)
	// The soil of the beds evaporates a little by night, 3 W/m², which cools by at most:
	most := 3 * p.FloorM2 / p.LossWK
	if d := want - float64(got.Air); d < -0.1 || d > most+0.1 {
		t.Errorf("after one time constant %.2f °C, want %.2f less at most %.2f", got.Air, want, most)
	}
}

// What the fans take from the air arrives in the soil: the change of stored heat plus what leaks
// to the ground is what went in, to 0.1 %.
func TestHeatInTheSoilBalances(t *testing.T) {
	p := house()
	st := start(25, 12)
	var leakedJ float64
	bright := sim.Weather{Outside: 8, Vapour: 0.004, SunWm2: 400}
	for range 2000 {
		before := st.Soil[0]
		st = sim.Advance(p, st, bright, []float64{0.8}, 10)
		leakedJ += p.Stores[0].LossWK * float64(before.Sub(p.Stores[0].Ground)) * 10
	}
	storedJ := float64(st.Soil[0].Sub(12)) * p.Stores[0].CapacityJK
	if st.IntoJ[0] < 1e7 {
		t.Fatalf("only %.3g J went in", st.IntoJ[0])
	}
	if off := math.Abs(storedJ+leakedJ-st.IntoJ[0]) / st.IntoJ[0]; off > 1e-3 {
		t.Errorf("stored %.4g J and leaked %.4g J of %.4g J: off by %.2g", storedJ, leakedJ, st.IntoJ[0], off)
	}
}

func TestFansCoolAWarmHouseAndWarmAColdOne(t *testing.T) {
	p := house()
	for _, c := range []struct {
		name string
		w    sim.Weather
		air  unit.Celsius
		sign float64
	}{
		{"by day", sim.Weather{Outside: 5, Vapour: 0.003, SunWm2: 500}, 25, -1},
		{"by night", sim.Weather{Outside: -8, Vapour: 0.001}, 2, 1},
	} {
		off := sim.Advance(p, start(c.air, 14), c.w, []float64{0}, 3600)
		on := sim.Advance(p, start(c.air, 14), c.w, []float64{1}, 3600)
		if by := c.sign * float64(on.Air.Sub(off.Air)); by < 0.3 {
			t.Errorf("%s the fan changes the house by %.2f K the right way, want some", c.name, by)
		}
		if by := -c.sign * float64(on.Soil[0].Sub(off.Soil[0])); by <= 0 {
			t.Errorf("%s the soil moves by %.4f K the right way", c.name, by)
		}
	}
}

func TestTheHeaterHoldsItsSetpoint(t *testing.T) {
	p := house()
	p.Heater = sim.Heater{OutputW: 40e3, Setpoint: 4, Band: 1}
	st := start(10, 12)
	frost := sim.Weather{Outside: -10, Vapour: 0.001}
	st = sim.Advance(p, st, frost, []float64{0}, 6*3600)
	for range 360 {
		st = sim.Advance(p, st, frost, []float64{0}, 30)
		if st.Air < 3.5 || st.Air > 5.5 {
			t.Fatalf("the heated house is at %.2f °C, want its setpoint 4 and its band of 1", st.Air)
		}
	}
	// In balance the heater gives what the house loses, on average over its band.
	before := st.HeaterJ
	st = sim.Advance(p, st, frost, []float64{0}, 4*3600)
	gave, lost := (st.HeaterJ-before)/(4*3600), p.LossWK*(4.5+10)
	if gave < 0.9*lost || gave > 1.15*lost {
		t.Errorf("the heater gives %.0f W, the house loses about %.0f W", gave, lost)
	}
}

func TestHumidityStaysBetweenDryAndSaturated(t *testing.T) {
	p := house()
	st := start(30, 12)
	st.Vapour = 0.02
	for h := range 48 {
		w := sim.Weather{Outside: unit.Celsius(10 * math.Sin(float64(h)/4)), Vapour: 0.003, SunWm2: 500 * math.Max(0, math.Sin(float64(h)/4))}
		st = sim.Advance(p, st, w, []float64{0.5}, 3600)
		if rh := st.Humidity(pressure); !(rh > 0) || rh > 1 {
			t.Fatalf("hour %d: humidity %v", h, rh)
		}
	}
}

// A clear day of the invented autumn follows the published clear-sky rows, and its nights get colder.
func TestAutumn(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	a := sim.Autumn{
		Site:  season.Site{LatitudeDeg: 43.1, LongitudeDeg: -75.2, Zone: zone},
		First: time.Date(2026, time.October, 25, 0, 0, 0, 0, zone), Mean: 9, CoolingKDay: 0.25, PressurePa: pressure,
	}
	coldest := func(day int) unit.Celsius {
		low := unit.Celsius(99)
		for m := range 24 * 6 {
			w := a.At(a.First.AddDate(0, 0, day).Add(time.Duration(m) * 10 * time.Minute))
			low = min(low, w.Outside)
			if w.SunWm2 < 0 || w.SunWm2 > 0.9*1035.1 { // sun_and_time-S013, at the zenith
				t.Fatalf("sun of %.0f W/m²", w.SunWm2)
			}
		}
		return low
	}
	if first, last := coldest(0), coldest(28); last > first-3 {
		t.Errorf("the coldest of the first day is %.1f °C, four weeks later %.1f °C", first, last)
	}
	if w := a.At(a.First); w.SunWm2 != 0 {
		t.Errorf("the sun shines at midnight with %v W/m²", w.SunWm2)
	}
	if a.At(a.First.AddDate(0, 0, 3)) != a.At(a.First.AddDate(0, 0, 3)) {
		t.Error("the same instant has two weathers")
	}
}
