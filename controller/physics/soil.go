package physics

import "fmt"

const (
	solidKgM3    = 2650.0 // of soil minerals; Farouki 1981
	solidJkgK    = 840.0  // of soil minerals; Campbell and Norman 1998, ch. 8
	waterJM3K    = 4.18e6 // de Vries 1963
	iceJkgK      = 2090.0 // handbook
	waterKgM3    = 1000.0
	mineralJM3K  = 1.92e6 // de Vries 1963
	organicJM3K  = 2.51e6 // de Vries 1963
	iceJM3K      = 1.88e6 // de Vries 1963
	mostSolid    = 0.95   // share of a soil's volume: what lies beyond is a mistyped density
	leastDensity = 100.0
)

// Soil is a mineral soil. The zero value is brought to the nearest soil there is; start from
// Typical. Peat and compost are not soils in this sense: see Materials.
type Soil struct {
	DryKgM3 float64 // bulk density, dry; 100 to 2517
	Quartz  float64 // share of the solids, 0 to 1
	Fine    bool    // silt and clay lead, not sand: water joins the grains later
}

// Texture is the class of a mineral soil by its grains. The zero value is Loam.
type Texture uint8

// The closed list of textures.
const (
	Loam Texture = iota
	Sand
	SandyLoam
	SiltLoam
	Clay
	textures int = iota
)

// typical holds, for each texture, quartz shares of Peters-Lidard et al. 1998, Journal of the
// Atmospheric Sciences 55:1209–1224, table 2, and usual densities of garden soil: common practice,
// no source.
var typical = [textures]struct {
	name string
	soil Soil
}{
	Loam:      {"loam", Soil{1400, 0.40, true}},
	Sand:      {"sand", Soil{1600, 0.92, false}},
	SandyLoam: {"sandy loam", Soil{1500, 0.60, false}},
	SiltLoam:  {"silt loam", Soil{1350, 0.25, true}},
	Clay:      {"clay", Soil{1250, 0.25, true}},
}

// Typical returns the usual soil of a texture; an unknown texture counts as Loam.
func Typical(t Texture) Soil { return typical[t.known()].soil }

func (t Texture) known() Texture {
	if int(t) < textures {
		return t
	}
	return Loam
}

// String returns the texture's name as people write it, for example "sandy loam".
func (t Texture) String() string { return typical[t.known()].name }

// MarshalText writes the texture's name; it never fails.
func (t Texture) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads a texture's name.
func (t *Texture) UnmarshalText(text []byte) error {
	for i, one := range typical {
		if one.name == string(text) {
			*t = Texture(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no soil texture; loam, sand, sandy loam, silt loam and clay are", text)
}

// Porosity returns the share of the soil's volume that is not solid, over 0.
func (s Soil) Porosity() float64 { return 1 - s.density()/solidKgM3 }

func (s Soil) density() float64 {
	return min(max(s.DryKgM3, leastDensity), mostSolid*solidKgM3)
}

// HeatCapacityJM3K returns the volumetric heat capacity of soil that holds water, a share of its
// volume. Campbell and Norman 1998, An Introduction to Environmental Biophysics, ch. 8: the parts'
// heats add up.
func (s Soil) HeatCapacityJM3K(water float64) float64 {
	return s.density()*solidJkgK + s.held(water)*waterJM3K
}

// FrozenHeatCapacityJM3K returns that of the same soil with all its water frozen, without the heat
// of fusion, which FusionJM3 states.
func (s Soil) FrozenHeatCapacityJM3K(water float64) float64 {
	return s.density()*solidJkgK + s.held(water)*waterKgM3*iceJkgK
}

// FusionJM3 returns the heat that soil holding water gives while all of it freezes, J/m³.
func (s Soil) FusionJM3(water float64) float64 { return s.held(water) * waterKgM3 * FusionJkg }

// held is what of the stated water the pores can hold.
func (s Soil) held(water float64) float64 { return min(max(water, 0), s.Porosity()) }

// PartsHeatCapacityJM3K returns the volumetric heat capacity of ground by the shares of its volume,
// each 0 to 1; the rest is air. De Vries 1963, Thermal properties of soils, in van Wijk (ed.),
// Physics of Plant Environment, ch. 7: 1.92 minerals, 2.51 organic matter, 4.18 water, 1.88 ice
// MJ/(m³ K). It gives minerals a seventh less than Soil does.
func PartsHeatCapacityJM3K(mineral, organic, water, ice float64) float64 {
	return mineral*mineralJM3K + organic*organicJM3K + water*waterJM3K + ice*iceJM3K
}

// WaterShare turns moisture by mass, kg of water per kg of dry soil, into a share of the volume.
func (s Soil) WaterShare(byMass float64) float64 {
	return s.held(byMass * s.density() / waterKgM3)
}
