package trial

import (
	"fmt"
	"math"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
	"loambank/controller/weather"
)

// StepS is the time between two decisions of a trial, s.
const StepS = greenhouse.LongestStepS

// Plant is a simulated house with its soil, its fans and the probes of the settings.
type Plant struct {
	s      *config.House
	house  *greenhouse.House
	beds   []*bed // of each store, then the path
	ground physics.GroundWave
	spots  []int // of each probe in its bed, -1 for one that is not in a bed
	fans   []greenhouse.Fan
	flux   greenhouse.Flux
	day    float64 // of the year on which it was new
	leastS float64 // a step that the soil was made for
	known  []*bed  // soil that need not be made anew
	stepS  float64 // of the last step
	raw    []judge.Raw
	stages [decide.MaxStores][decide.MaxFans]uint8
}

// NewPlant returns the house as it would stand on that ground, which is undisturbed and as it is on
// a day of the year, counted from its beginning; or what is wrong with the settings for it. It is
// made for steps of stepS seconds, at most StepS: StepS for Run, the devices' own for a Live.
func NewPlant(h *config.House, ground physics.GroundWave, day, stepS float64) (*Plant, error) {
	return newPlant(h, ground, day, stepS, nil)
}

// Again returns a plant as NewPlant would for a house of other settings, on the same ground, day and
// steps. It is there at once where they leave the soil, its pipes and its probes as they are, and
// may be asked for while p runs.
func (p *Plant) Again(h *config.House) (*Plant, error) {
	return newPlant(h, p.ground, p.day, p.leastS, p.beds)
}

func newPlant(h *config.House, ground physics.GroundWave, day, stepS float64, known []*bed) (*Plant, error) {
	layer := soilOf(h.Soil, usualDepthM)[0]
	ground.DiffusivityM2s = layer.ConductWmK / layer.CapacityJm3K
	p := &Plant{
		s: h, raw: make([]judge.Raw, len(h.House.Probes)), ground: ground, day: day, leastS: stepS, known: known,
	}
	beds, err := p.build()
	if err != nil {
		return nil, fmt.Errorf("house %s: %w", h.House.Name, err)
	}
	if p.house, err = greenhouse.New(houseParams(h), beds); err != nil {
		return nil, fmt.Errorf("house %s: %w", h.House.Name, err)
	}
	p.fans = make([]greenhouse.Fan, len(beds))
	return p, nil
}

// Ground is the undisturbed ground under this weather, with usual soil; a plant puts in its own.
func Ground(y *weather.Year) (physics.GroundWave, error) {
	var readings []physics.GroundReading
	for i := range y.Rows {
		readings = append(readings, physics.GroundReading{Day: (float64(i) + 0.5) / 24, C: y.Rows[i].DryBulb.Add(groundOver)})
	}
	layer := soilOf(usualSoil(), 0)[0]
	wave, _, err := physics.FitGround(readings, layer.ConductWmK/layer.CapacityJm3K)
	return wave, err
}

func houseParams(h *config.House) greenhouse.Params {
	d := &h.House.Decide
	coverM2, volumeM3 := physics.HalfCylinder(h.WidthM, h.LengthM)
	p := greenhouse.Params{
		FloorM2: h.LengthM * h.WidthM, CoverM2: coverM2, VolumeM3: volumeM3, PressurePa: d.PressurePa,
		ContentsJm2K: contentsJm2K, LeakPerH: h.AirChanges, DampSoil: dampSoil, Cover: coverOf(h),
		Crop:  greenhouse.Crop{LeafArea: leafArea},
		Vents: greenhouse.Vents{OpensAt: h.Vents.OpensAt, Band: ventBand, PerH: h.Vents.PerH},
	}
	if d.Heater.Present {
		p.Heater = greenhouse.Heater{
			OutputW: h.HeaterOutputW, Efficiency: heaterShare, Setpoint: d.Heater.Setpoint, Band: d.Heater.Band,
		}
		if p.Heater.OutputW == 0 {
			p.Heater.OutputW = heaterK * d.HouseLossWK
		}
	}
	return p
}

// build makes the beds and finds where each probe sits in them.
func (p *Plant) build() ([]greenhouse.Bed, error) {
	h := p.s
	floorM2 := h.LengthM * h.WidthM
	p.spots = make([]int, len(h.House.Probes))
	var beds []greenhouse.Bed
	leftM2 := floorM2
	for i := range h.House.Decide.Stores {
		name := h.House.Decide.Stores[i].Name
		params := p.storeParams(pipesOf(h, i))
		if leftM2 -= params.FloorM2(); leftM2 < -1e-6*floorM2 {
			return nil, fmt.Errorf("store %s: the pipes lie under more than the house's %.0f m²; check count, length and spacing", name, floorM2)
		}
		b, err := p.bed(i, params)
		if err != nil {
			return nil, fmt.Errorf("store %s: %w", name, err)
		}
		p.beds = append(p.beds, b)
		beds = append(beds, greenhouse.Bed{FloorM2: params.FloorM2(), Soil: b})
	}
	if leftM2 > 1e-3*floorM2 {
		b, err := p.path(leftM2)
		if err != nil {
			return nil, err
		}
		p.beds = append(p.beds, b)
		beds = append(beds, greenhouse.Bed{FloorM2: leftM2, Soil: b})
	} else {
		beds[len(beds)-1].FloorM2 += leftM2
	}
	return beds, nil
}

func (p *Plant) storeParams(pipes config.Pipes) ground.Params {
	return ground.Params{
		Layers: soilOf(p.s.Soil, pipes.DepthM), DepthM: depthM, SurfaceWm2K: surfaceWm2K, Ground: p.ground,
		Edge: edgeOf(p.s.Insulation), Pipes: groundPipes(pipes),
	}
}

// bed is store i, with the spots of its probes; the first two are those that pictures show.
func (p *Plant) bed(i int, params ground.Params) (*bed, error) {
	pipes := params.Pipes
	at := func(depthM float64) ground.Spot {
		return ground.Spot{DepthM: depthM, BesideM: pipes.SpacingM / 2, AlongM: pipes.LengthM / 2}
	}
	spots := []ground.Spot{at(pipes.DepthM), at(rootM)}
	for k := range p.s.House.Probes {
		q := &p.s.House.Probes[k]
		if q.Store != i || q.Judge.Role != judge.Soil || q.Judge.Place == judge.Undisturbed {
			continue
		}
		p.spots[k] = len(spots)
		spots = append(spots, at(min(q.Judge.DepthM, depthM)))
	}
	return p.soil(params, spots)
}

// path is floor without pipes in use.
func (p *Plant) path(floorM2 float64) (*bed, error) {
	side := math.Sqrt(floorM2)
	params := p.storeParams(config.Pipes{Count: 1, LengthM: side, SpacingM: side, DepthM: 0.5, DiameterM: usualDiameterM})
	params.Pipes.Segments, params.Closed = 1, true
	b, err := p.soil(params, nil)
	if err != nil {
		return nil, fmt.Errorf("the floor beside the stores: %w", err)
	}
	return b, nil
}

// pipesOf is the pipes of a store, or usual ones under an equal share of the floor.
func pipesOf(h *config.House, i int) config.Pipes {
	if h.Pipes[i] != (config.Pipes{}) {
		return h.Pipes[i]
	}
	share := h.LengthM * h.WidthM / float64(len(h.House.Decide.Stores))
	pipes := config.Pipes{SpacingM: min(usualSpacingM, h.WidthM), DepthM: usualDepthM, DiameterM: usualDiameterM}
	pipes.LengthM = min(usualLengthM, share/pipes.SpacingM)
	pipes.Count = max(1, int(share/(pipes.SpacingM*pipes.LengthM)))
	return pipes
}

// believed is the flow that the settings let one count on.
func believed(f *decide.Fan, stage uint8) float64 {
	flow := f.FlowAt(stage)
	if f.Catalogue {
		return flow / 2 // as decide reckons with it
	}
	return flow
}

// watched adds up a figure over the fans that a probe watches.
func watched(q *house.Probe, fans int, of func(j int) float64) (sum float64) {
	for j := range fans {
		if q.Fan == house.AllFans || q.Fan == j {
			sum += of(j)
		}
	}
	return sum
}
