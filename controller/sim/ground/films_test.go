package ground

import (
	"math"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
)

func TestFilmsKeepToTheFormula(t *testing.T) {
	for name, change := range map[string]func(*Pipes){
		"drain tubing": func(p *Pipes) { p.ManningN = physics.ManningDrainTubing },
		"smooth":       func(p *Pipes) { p.ManningN, p.RoughnessM = 0, 0 },
		"wide":         func(p *Pipes) { p.DiameterM = 0.3 },
	} {
		pipes := bed().Pipes
		change(&pipes)
		pipe := pipes.pipe()
		f := films{pipe: pipe}
		for kgS := 0.0004; kgS < 0.3; kgS *= 1.0037 {
			for c := unit.Celsius(-31); c < 60; c += 4.3 {
				want, got := filmWm2K(&pipe, kgS, c), f.at(kgS, c)
				reynolds := pipe.Reynolds(kgS*physics.SpecificVolume(c, 0, 1e5), physics.Air{C: c}, 1e5)
				most := 5e-4
				if reynolds > 2300*0.965 && reynolds < 4000*1.035 {
					most = 0.02 // bends begin and end the turn to turbulence
				}
				if off := math.Abs(got/want - 1); !(off <= most) {
					t.Fatalf("%s: %g kg/s at %v °C: %v W/(m² K), want %v", name, kgS, c, got, want)
				}
			}
		}
	}
}

// The film of damp air in thin air is that of the formula's own flow, by volume, at its own state.
func TestFilmsTakeMassForVolume(t *testing.T) {
	pipes := bed().Pipes
	pipe := pipes.pipe()
	const dryKgS, pPa = 0.02, 84e3
	air := physics.Air{C: 23, W: 0.014}
	want := pipe.FilmWm2K(dryKgS*physics.SpecificVolume(air.C, air.W, pPa), air, pPa)
	if got := filmWm2K(&pipe, dryKgS*(1+air.W), air.C); !(math.Abs(got/want-1) < 1e-12) {
		t.Errorf("%v W/(m² K), want %v", got, want)
	}
}
