package greenhouse_test

import (
	"bytes"
	"math"
	"os"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/sim/ground"
	"loambank/controller/weather"
)

const pressure = 99600

// slab is soil of one temperature, with a pipe that goes 0.7 of the way to it.
type slab struct {
	c          unit.Celsius
	capacityJK float64 // 0: it never changes
	floorM2    float64
}

func (s *slab) SurfaceC() unit.Celsius { return s.c }

func (s *slab) Advance(in *ground.Drive, dtS float64, f *ground.Flux) {
	*f = ground.Flux{}
	flow := in.DryAirKgS * physics.SpecificVolume(in.In.C, in.In.W, in.PressurePa)
	h := physics.Exchange(in.In, flow, 0.7, s.c, in.PressurePa)
	f.Out = h.Out
	f.SensibleJ, f.LatentJ = h.SensibleW*dtS, h.LatentW*dtS
	airW := h.DryAirKgS * (physics.Enthalpy(in.In.C, in.In.W) - physics.Enthalpy(h.Out.C, h.Out.W))
	f.WaterJ = airW*dtS - f.SensibleJ - f.LatentJ
	f.CondensedKg = h.CondensateKgS * dtS
	f.SurfaceJ = dtS * (in.RadiationW + in.SurfaceWm2K*s.floorM2*float64(in.Air.Sub(s.c)))
	f.StoredJ = f.SurfaceJ + f.SensibleJ + f.LatentJ
	if s.capacityJK > 0 {
		s.c = s.c.Add(unit.Kelvin(f.StoredJ / s.capacityJK))
	}
	f.SurfaceC = s.c
}

// hoop is a double-film house of 29 by 9 m, tight and plain.
func hoop() greenhouse.Params {
	cover, volume := physics.HalfCylinder(9.144, 29.26)
	return greenhouse.Params{
		FloorM2: 29.26 * 9.144, CoverM2: cover, VolumeM3: volume, PressurePa: pressure,
		ContentsJm2K: 10e3, LeakPerH: 0.4, DampSoil: 0.4, MixingW: 100,
		Cover: greenhouse.Cover{Films: 2, Transmission: 0.6, Absorption: 0.08, Thermal: 0.3},
		Crop:  greenhouse.Crop{LeafArea: 1.5},
		Vents: greenhouse.Vents{OpensAt: 26, Band: 4, PerH: 30},
	}
}

// build puts a house over one slab.
func build(t testing.TB, p greenhouse.Params, soilC unit.Celsius, capacityJm2K float64) (*greenhouse.House, *slab) {
	t.Helper()
	s := &slab{c: soilC, capacityJK: capacityJm2K * p.FloorM2, floorM2: p.FloorM2}
	h, err := greenhouse.New(p, []greenhouse.Bed{{FloorM2: p.FloorM2, Soil: s}})
	if err != nil {
		t.Fatal(err)
	}
	return h, s
}

// night is a dark sample: outside air of that humidity under a sky so much colder.
func night(outside unit.Celsius, rh, windMS float64, skyUnderK float64) *weather.Sample {
	sky := float64(outside) + 273.15 - skyUnderK
	return &weather.Sample{
		Have: weather.Wind | weather.Sky, Outside: outside, Vapour: physics.HumidityRatio(outside, rh, pressure),
		PressurePa: pressure, WindMS: windMS, SkyWm2: 5.670374419e-8 * math.Pow(sky, 4),
	}
}

// settle runs a house against one weather until nothing moves, and returns the last step.
func settle(h *greenhouse.House, w *weather.Sample, fans []greenhouse.Fan) (f greenhouse.Flux) {
	for range 600 {
		f = h.Step(w, fans, 300)
	}
	return f
}

// year reads a weather file in steps.
func year(t testing.TB, name string, step time.Duration) []weather.Sample {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/weather/" + name)
	if err != nil {
		t.Fatal(err)
	}
	y, err := weather.Read(name, bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	all, err := y.Resample(step)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

const (
	burlington = "USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz"
	golden     = "USA_CO_Golden-NREL.724666_TMY3.epw.gz"
)
