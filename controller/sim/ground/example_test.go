package ground_test

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
)

// An afternoon of warm damp air under the beds of the invented farm Fern Hollow.
func Example() {
	store, err := ground.New(ground.Params{
		Layers: []ground.Layer{{ThickM: 1, CapacityJm3K: 2.4e6, ConductWmK: 1.4}},
		DepthM: 4,
		Pipes: ground.Pipes{
			Count: 12, LengthM: 12, DiameterM: 0.1, SpacingM: 0.5, DepthM: 0.5, Segments: 6, HoldsKgM: 0.05,
		},
		SurfaceWm2K: 5,
		Edge:        ground.Edge{ReachM: 1.5, InsulationM2KW: 1.4, InsulationDepthM: 0.6},
		Ground:      physics.GroundWave{Mean: 10, Amplitude: 11, ColdestDay: 25, DiffusivityM2s: 0.58e-6},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	store.Fill(func(float64) unit.Celsius { return 14 })
	const pressurePa = 101325
	air := physics.Air{C: 27, W: physics.HumidityRatio(27, 0.7, pressurePa)}
	var heatJ, latentJ, condensedKg float64
	var flux ground.Flux
	for range 4 * 12 {
		flux = store.Step(ground.Drive{
			Day: 290, In: air, DryAirKgS: 0.33, PressurePa: pressurePa, Air: air.C, SurfaceWm2K: 5,
		}, 300)
		heatJ += flux.AirJ()
		latentJ += flux.LatentJ
		condensedKg += flux.CondensedKg
	}
	fmt.Printf("out at %.1f °C; %.1f kWh into the soil, %.1f of it from %.1f kg of water\n",
		float64(flux.Out.C), heatJ/3.6e6, latentJ/3.6e6, condensedKg)
	// Output:
	// out at 19.5 °C; 20.2 kWh into the soil, 9.1 of it from 13.4 kg of water
}
