package trial

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/physics"
)

// TestAPlantIsWarmedUnderItsPipes alone: 12 pipes of 24 ft, 2 ft apart, hold what was put in.
func TestAPlantIsWarmedUnderItsPipes(t *testing.T) {
	s := farm(t)
	p, err := plant(s, year(t))
	if err != nil {
		t.Fatal(err)
	}
	was, path := p.beds[0].HeatJ(), p.beds[1].HeatJ()
	const heatJm2, areaM2 = 3.6e6, 12 * 24 * 2 * 0.3048 * 0.3048
	got := p.Warm(heatJm2)
	if want := heatJm2 * areaM2; math.Abs(got-want) > 1e-9*want || math.Abs(p.beds[0].HeatJ()-was-want) > 1e-6*want || p.beds[1].HeatJ() != path {
		t.Errorf("it says %g J and holds %g more, want %g; the path %g more", got, p.beds[0].HeatJ()-was, want, p.beds[1].HeatJ()-path)
	}
}

// TestWhatFansWouldPutDown by hand: half of a catalogue's flow, through the assumed effectiveness.
func TestWhatFansWouldPutDown(t *testing.T) {
	d := farm(t).Houses[0].House.Decide
	d.Stores[0].Effectiveness, d.Stores[0].Fans[0].Levels = 0.5, []float64{0.3, 1}
	air := physics.Air{C: 25, W: 0.004}
	const flowM3s = 2800 * 0.0004719474 / 2
	massKgS := flowM3s / physics.SpecificVolume(air.C, air.W, d.PressurePa)
	byHandW := massKgS * 0.5 * (25 - 15) * (1006 + 1860*air.W) // dry enough that nothing condenses
	heatKWh, fanKWh := Charge(&d, &Hour{Air: air.C, Vapour: air.W, Soil: 15})
	if math.Abs(heatKWh-byHandW/1000) > 2e-3*heatKWh || math.Abs(fanKWh-0.6) > 1e-12 {
		t.Errorf("%v kWh for %v, by hand %v for 0.6", heatKWh, fanKWh, byHandW/1000)
	}
	if up, _ := Charge(&d, &Hour{Air: 5, Vapour: air.W, Soil: 15}); up >= 0 {
		t.Errorf("air of 5 °C leaves %v kWh in soil of 15 °C", up)
	}
	two := d
	two.Stores = []decide.Store{d.Stores[0], d.Stores[0]}
	if heat, fans := Charge(&two, &Hour{Air: unit.Celsius(25), Vapour: air.W, Soil: 15}); math.Abs(heat-2*heatKWh) > 1e-9 || math.Abs(fans-1.2) > 1e-12 {
		t.Errorf("two stores: %v kWh for %v", heat, fans)
	}
}
