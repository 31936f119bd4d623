package greenhouse

import (
	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/ground"
)

// MaxBeds is how many beds a house may have.
const MaxBeds = 6

// Soil is what lies under a bed, a ground.Store for one.
type Soil interface {
	// Advance moves the soil on by dtS seconds; what entered it overwrites f.
	Advance(in *ground.Drive, dtS float64, f *ground.Flux)
	// SurfaceC is the mean temperature of its surface.
	SurfaceC() unit.Celsius
}

// Bed is a part of the floor with the soil under it. A path is a bed whose fan never runs.
type Bed struct {
	FloorM2 float64
	Soil    Soil
}

// Fan is what the fan of a bed does during a step. The zero value is at rest.
type Fan struct {
	FlowM3s float64 // of house air, moist, at the intake
	PowerW  float64 // drawn; it warms the air
}

// State is a house without its soil at one instant: plain data that survives JSON.
type State struct {
	Air     unit.Celsius    `json:"air_c"`
	Vapour  float64         `json:"humidity_ratio"` // kg/kg dry air
	Crop    unit.Celsius    `json:"crop_c"`
	Cover   [3]unit.Celsius `json:"cover_c"` // of the layers, the outermost first
	Heating bool            `json:"heating"`
	// VentKgS and Wall are what the last step found, a first guess for the next.
	VentKgS float64               `json:"vent_kg_s"`
	Wall    [MaxBeds]unit.Celsius `json:"wall_c"`
}

// House is a house over its beds. Make one with New.
type House struct {
	p      Params
	st     State
	floors []floor
	airKg  float64 // dry, held at what the volume holds at 10 °C
	// leakKgS is the dry air that leaks in and out in still air.
	leakKgS float64
	perH    float64 // air changes per hour for each kg/s
	leafM2  float64 // one side of all leaves
	shade   float64 // the share of the floor that leaves shade
	shadeM2 float64
	sun     sunshine
	cover   [2]cover // with the screen open and closed
	terms   terms
}

// New returns a house whose air is as warm as the surface of its soil, or everything that is wrong
// with p.
func New(p Params, beds []Bed) (*House, error) {
	if err := p.check(beds); err != nil {
		return nil, err
	}
	h := &House{
		p: p, shade: p.Crop.shading(), leafM2: p.Crop.LeafArea * p.FloorM2,
		cover: [2]cover{newCover(&p, false), newCover(&p, true)},
	}
	h.shadeM2 = p.FloorM2 * h.shade
	h.sun = h.sunlight()
	for _, b := range beds {
		h.floors = append(h.floors, floor{
			soil: b.Soil, areaM2: b.FloorM2, openM2: b.FloorM2 * (1 - h.shade), leafM2: b.FloorM2 * h.shade,
		})
	}
	const usual unit.Celsius = 10
	h.airKg = p.VolumeM3 / physics.SpecificVolume(usual, physics.HumidityRatio(usual, 0.8, p.PressurePa), p.PressurePa)
	h.perH = 3600 / h.airKg
	h.leakKgS = p.LeakPerH / h.perH
	var air unit.Celsius
	for _, b := range beds {
		air += b.Soil.SurfaceC() * unit.Celsius(b.FloorM2/p.FloorM2)
	}
	h.Restore(Start(air, physics.HumidityRatio(air, 0.8, p.PressurePa)))
	return h, nil
}

// Start is the state of a house that has been in balance at one temperature.
func Start(air unit.Celsius, vapour float64) State {
	st := State{Air: air, Vapour: vapour, Crop: air, Cover: [3]unit.Celsius{air, air, air}}
	for i := range st.Wall {
		st.Wall[i] = air
	}
	return st
}

// State returns the state; the soil keeps its own.
func (h *House) State() State { return h.st }

// Restore puts the house into a state.
func (h *House) Restore(st State) { h.st = st }

// Humidity is the relative humidity in the house under pressurePa, 0 to 1, over ice in frost. The
// pressure is the weather's: by that of the settings, a hygrometer in thinner air than they state would
// show air as damp as it never is.
func (h *House) Humidity(pressurePa float64) float64 {
	return min(1, physics.VapourPressurePa(h.st.Vapour, pressurePa)/physics.TabledSatPressurePa(h.st.Air))
}
