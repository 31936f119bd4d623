package trial

import (
	"reflect"

	"loambank/config/unit"
	"loambank/controller/sim/ground"
)

// bed is soil in few numbers that a house can stand on.
type bed struct {
	*ground.Reduced
	surface unit.Celsius
	made    making
	// As it was when it was new.
	first    ground.ReducedState
	surface0 unit.Celsius
}

// making is all that a bed depends on.
type making struct {
	params     ground.Params
	day, stepS float64
	spots      []ground.Spot
}

// The spots that pictures show.
const betweenSpot, rootSpot = 0, 1

// Advance moves the soil on and notes how warm its surface is then.
func (b *bed) Advance(in *ground.Drive, dtS float64, f *ground.Flux) {
	b.Reduced.Advance(in, dtS, f)
	b.surface = f.SurfaceC
}

// SurfaceC is the mean temperature of the surface.
func (b *bed) SurfaceC() unit.Celsius { return b.surface }

// soil is undisturbed soil as it is on the plant's first day: taken over where it is known, else made.
func (p *Plant) soil(params ground.Params, spots []ground.Spot) (*bed, error) {
	made := making{params, p.day, p.leastS, spots}
	for _, k := range p.known {
		if reflect.DeepEqual(k.made, made) {
			return k.again()
		}
	}
	store, err := ground.New(params)
	if err != nil {
		return nil, err
	}
	store.Fill(func(depthM float64) unit.Celsius { return p.ground.At(depthM, p.day) })
	reduced, err := store.Reduce(p.leastS, spots...)
	if err != nil {
		return nil, err
	}
	surface := store.SurfaceC()
	return &bed{Reduced: reduced, made: made, first: reduced.State(), surface: surface, surface0: surface}, nil
}

// again is the bed as it was when it was new.
func (b *bed) again() (*bed, error) {
	reduced, err := b.Reduced.Again(b.first)
	return &bed{Reduced: reduced, made: b.made, first: b.first, surface: b.surface0, surface0: b.surface0}, err
}
