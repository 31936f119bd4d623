package ground

import (
	"loambank/config/unit"
	"loambank/controller/physics"
)

// Store is a soil store. Make one with New.
type Store struct {
	p     Params
	soil  *soil
	film  []float64 // water standing in one pipe, kg, of each stretch
	wallW []float64 // scratch: heat at the pipe of each stretch, W/m
	topW  []float64
}

// New returns a store that has the temperature of undisturbed ground at the year's beginning, or
// everything that is wrong with p.
func New(p Params) (*Store, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	n := p.Pipes.Segments
	long := make([]float64, n)
	for k := range long {
		long[k] = p.Pipes.LengthM / float64(n)
	}
	s := &Store{
		p: p, soil: newSoil(newSection(&p), long, &p),
		film: make([]float64, n), wallW: make([]float64, n), topW: make([]float64, n),
	}
	s.Fill(func(depthM float64) unit.Celsius { return p.Ground.At(depthM, 0) })
	return s, nil
}

// Fill gives the soil a temperature for each depth, and dries the pipes.
func (s *Store) Fill(at func(depthM float64) unit.Celsius) {
	s.soil.fill(at)
	clear(s.film)
}

// Drive is what acts on a store during a step. Every number must be finite.
type Drive struct {
	Day        float64     // days after the year's beginning, for the ground around
	In         physics.Air // at the pipes' inlet
	DryAirKgS  float64     // through all pipes together; 0 or less: the fan rests
	PressurePa float64
	Air        unit.Celsius // over the surface
	// SurfaceWm2K is the coefficient between it and the surface, W/(m² K); 0: none passes that way.
	SurfaceWm2K float64
	// EvenWm2K is how much more a part of the surface gives off for each K that it is warmer than the mean,
	// besides SurfaceWm2K, W/(m² K): where RadiationW has it already, on the mean.
	EvenWm2K float64
	// RadiationW is absorbed less given off by the whole surface, and less what evaporates there.
	RadiationW float64
}

// Flux is what passed in a step, of the whole store. Heat into the soil is positive. It always
// holds, to rounding,
//
//	StoredJ = SensibleJ + LatentJ + SurfaceJ + EdgeJ + BaseJ
//
// and, for the air, dry air × (enthalpy in − out) = SensibleJ + LatentJ + WaterJ.
type Flux struct {
	Out       physics.Air // at the pipes' outlet; the inlet's while the fan rests
	SensibleJ float64
	LatentJ   float64
	// WaterJ is the sensible heat, from 0 °C, in water that condensed less that in water that
	// evaporated. It goes with the water; the little that standing water holds is left out.
	WaterJ       float64
	CondensedKg  float64
	EvaporatedKg float64
	DrainedKg    float64 // of what condensed, now or before, what left the pipes
	SurfaceJ     float64
	// EdgeJ is through sides and ends, BaseJ from below. In a Reduced store both come with the step in
	// which three hours are full.
	EdgeJ, BaseJ float64
	StoredJ      float64 // how much more the soil holds
	SurfaceC     unit.Celsius
}

// AirJ is the heat that the stream left in the soil.
func (f Flux) AirJ() float64 { return f.SensibleJ + f.LatentJ }

// Step moves the store on by dtS seconds under the same drive; none or less does nothing. Heat is
// exchanged at the temperatures at the step's end. The first step of a new length costs as much as
// a hundred others.
func (s *Store) Step(in Drive, dtS float64) (f Flux) {
	s.Advance(&in, dtS, &f)
	return f
}

// Advance is Step for many years: what passed overwrites f.
func (s *Store) Advance(drive *Drive, dtS float64, f *Flux) {
	*f = Flux{Out: drive.In, SurfaceC: s.SurfaceC()}
	if !(dtS > 0) {
		return
	}
	in := *drive
	if s.p.Closed {
		in.DryAirKgS = 0
	}
	op := s.soil.operator(dtS)
	s.soil.release(op, in.Day)
	radiationWm2 := in.RadiationW / s.p.FloorM2()
	air := newStream(&in, &s.p.Pipes, s.WallC(), nil)
	meanC := float64(f.SurfaceC)
	for k, long := range s.soil.longM {
		overC := s.soil.surface(s.soil.tempC, k, len(s.soil.longM)) - meanC
		at := s.soil.port(op, k, &in, radiationWm2-in.EvenWm2K*overC)
		s.wallW[k] = air.pass(&s.p.Pipes, at, long, 0, &s.film[k], dtS)
		s.topW[k] = at.topW + at.topPer*s.wallW[k]
	}
	if in.DryAirKgS > 0 {
		air.book(f, &s.p.Pipes, dtS)
	}
	f.addSoil(s.soil.finish(op, in.Day, s.wallW, s.topW), s.p.Pipes.Count)
	f.SurfaceC = s.SurfaceC()
}

// FloorM2 is the ground over the store, m².
func (p *Params) FloorM2() float64 {
	return float64(p.Pipes.Count) * p.Pipes.SpacingM * p.Pipes.LengthM
}

func (f *Flux) addSoil(g gains, pipes int) {
	n := float64(pipes)
	f.SurfaceJ, f.EdgeJ, f.BaseJ, f.StoredJ = n*g.surfaceJ, n*g.edgeJ, n*g.baseJ, n*g.storedJ
}

// SurfaceC is the mean temperature of the soil's surface.
func (s *Store) SurfaceC() unit.Celsius {
	var sum float64
	for k, long := range s.soil.longM {
		sum += long * s.soil.surface(s.soil.tempC, k, len(s.soil.longM))
	}
	return unit.Celsius(sum / s.p.Pipes.LengthM)
}

// WallC is the mean temperature of the pipes' walls.
func (s *Store) WallC() unit.Celsius {
	var sum float64
	for k, long := range s.soil.longM {
		sum += long * s.soil.wallC(k)
	}
	return unit.Celsius(sum / s.p.Pipes.LengthM)
}

// HeatJ is what all the soil down to DepthM holds above 0 °C.
func (s *Store) HeatJ() float64 { return float64(s.p.Pipes.Count) * s.soil.heatJ() }

// FilmKg is the water standing in all pipes.
func (s *Store) FilmKg() float64 {
	var sum float64
	for _, kg := range s.film {
		sum += kg
	}
	return float64(s.p.Pipes.Count) * sum
}
