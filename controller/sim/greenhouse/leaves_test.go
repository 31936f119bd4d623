package greenhouse

import (
	"math"
	"testing"
)

// The published form by hand: 82 s/m × (R + 4.30)/(R + 0.54) × (1 + 4.3e-6 D², by night 5.2e-6 D², at
// most 5.8); de Zwart 1996, from memory.
func TestStomata(t *testing.T) {
	for _, c := range []struct {
		name            string
		sun, deficit, s float64
	}{
		{"in the dark and damp", 0, 0, 652.963},
		{"in the last light", 2.9, 500, 394.744},
		{"when day begins", 3, 500, 350.871},
		{"at noon in damp air", 500, 0, 82.616},
		{"at noon in dry air", 500, 1000, 437.864},
		{"in a desert", 500, 4000, 479.172},
		{"under dew", 500, -800, 82.616},
	} {
		if got := stomata(c.sun, c.deficit); math.Abs(got-c.s) > 0.01 {
			t.Errorf("%s: %.3f s/m, want %.3f", c.name, got, c.s)
		}
	}
}

// Both sides of every leaf exchange 5 W/(m² K) with air, and vapour through 275 s/m and the stomata;
// de Zwart 1996, from memory.
func TestLeavesExchangeWithBothSides(t *testing.T) {
	h := House{
		p:     Params{FloorM2: 100, VolumeM3: 250, Crop: Crop{LeafArea: 3}},
		st:    State{Air: 20, Crop: 20, Vapour: 0.01},
		airKg: 300, leafM2: 300,
	}
	h.leaves(&Outdoors{PressurePa: 100e3})
	if got := h.leafWK(); got != 2*5*3*100 {
		t.Errorf("leaves exchange %v W/K, want 3000", got)
	}
	// Of 20 °C and 0.01 kg/kg the deficit is 756 Pa: 652.96 s/m × (1 + 5.2e-6 × 756²) = 2594.
	if want := 2 * 3 * 100 * 1.2 / (275 + 2594.0); math.Abs(h.terms.leafKgS-want) > 0.01*want {
		t.Errorf("leaves exchange %v kg/s, want %v", h.terms.leafKgS, want)
	}
}
