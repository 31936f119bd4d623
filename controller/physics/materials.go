package physics

// Material is something to store heat in, for comparison with soil.
type Material struct {
	Name             string
	HeatCapacityJM3K float64
	ConductivityWmK  float64
}

// Materials returns what people ask about instead of soil, and what soil is made of. It allocates.
//
// Beds of stone and concrete: packed-bed arithmetic and handbook conductivities, within a quarter.
// The rest: Moene and van Dam 2014, Transport in the Atmosphere-Vegetation-Soil Continuum,
// table 2.2.
func Materials() []Material {
	return []Material{
		{"crushed stone, dry", 1.25e6, 0.35},
		{"crushed stone, moist with fines", 1.6e6, 0.9},
		{"damp loam", 2.3e6, 1.2},
		{"concrete", 2.0e6, 1.6},
		{"peat, half wet", 2.13e6, 0.27},
		{"peat, wet", 4.01e6, 0.50},
		{"quartz", 2.13e6, 8.8},
		{"organic matter", 2.47e6, 0.25},
		{"water", 4.18e6, 0.57},
		{"ice", 1.88e6, 2.5},
	}
}

// DiffusivityM2s returns conductivity over heat capacity, m²/s.
func (m Material) DiffusivityM2s() float64 { return m.ConductivityWmK / m.HeatCapacityJM3K }
