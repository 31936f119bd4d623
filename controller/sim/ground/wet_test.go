package ground

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// firm is a store whose walls stay as warm as they are.
func firm(p Params) Params {
	p.Layers = []Layer{{CapacityJm3K: 1e12, ConductWmK: 1e6}}
	p.Edge = Edge{}
	return p
}

// pipe_flow-S060, S064, S068, S072: outlets where the wall stays as it is. The film has an entrance
// effect here, which the rows leave out.
func TestOutletAtAFirmWall(t *testing.T) {
	rows := table(t, "pipe_flow.csv")
	for _, id := range []string{"pipe_flow-S060", "pipe_flow-S064", "pipe_flow-S068", "pipe_flow-S072"} {
		r := rows[id]
		p := firm(bed())
		p.Pipes.Count, p.Pipes.LengthM, p.Pipes.DiameterM = int(r.in["pipes"]), r.in["L_m"], r.in["D_m"]
		s := newStore(t, p)
		s.Fill(level(r.in["t_wall_C"]))
		area := math.Pi / 4 * p.Pipes.DiameterM * p.Pipes.DiameterM * float64(p.Pipes.Count)
		d := p.flowing(r.in["flow_total_m3_s"]/area, unit.Celsius(r.in["t_in_C"]), 0)
		r.near(t, float64(s.Step(d, 60).Out.C), 0.2)
	}
}

func TestOneStretchIsOneExchange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := firm(bed())
		p.Pipes.Segments = 1
		s, err := New(p)
		if err != nil {
			t.Fatal(err)
		}
		wall := unit.Celsius(rapid.Float64Range(3, 25).Draw(t, "wall"))
		s.Fill(level(float64(wall)))
		c := unit.Celsius(rapid.Float64Range(0, 45).Draw(t, "air"))
		d := p.flowing(rapid.Float64Range(0.5, 6).Draw(t, "speed"), c, physics.HumidityRatio(c, rapid.Float64Range(0.1, 1).Draw(t, "humidity"), sea))
		f := s.Step(d, 1)
		share := newStream(&d, &p.Pipes, wall, nil)
		flowM3s := d.DryAirKgS * physics.SpecificVolume(c, d.In.W, sea)
		want := physics.Exchange(d.In, flowM3s, -math.Expm1(-share.perM*p.Pipes.LengthM), wall, sea)
		for name, pair := range map[string][2]float64{
			"sensible W":      {f.SensibleJ, want.SensibleW},
			"latent W":        {f.LatentJ, want.LatentW},
			"condensate mg/s": {1e6 * (f.CondensedKg - f.EvaporatedKg), 1e6 * want.CondensateKgS},
			"outlet °C":       {float64(f.Out.C), float64(want.Out.C)},
			"outlet mg/kg":    {1e6 * f.Out.W, 1e6 * want.Out.W},
		} {
			if off := pair[0] - pair[1]; !(math.Abs(off) <= 1e-4+1e-6*math.Abs(pair[1])) {
				t.Fatalf("%s: step %g, exchange %g", name, pair[0], pair[1])
			}
		}
	})
}

// The inlet end warms most and takes most of the water, which evaporates when dry air follows.
func TestDampDayThenDryNight(t *testing.T) {
	p := bed()
	p.Edge = Edge{}
	s := newStore(t, p)
	s.Fill(level(14))
	read := func(alongM float64) float64 {
		pr, err := s.Probe(Spot{DepthM: 0.5, BesideM: 0.15, AlongM: alongM})
		if err != nil {
			t.Fatal(err)
		}
		return float64(s.Read(pr))
	}
	day := p.flowing(2.5, 27, physics.HumidityRatio(27, 0.85, sea))
	var wet Flux
	for range 96 {
		wet = s.Step(day, 300)
	}
	if !(read(0.5) > read(6)+0.1 && read(6) > read(11.5)+0.05) {
		t.Errorf("after charging %.2f, %.2f, %.2f °C from inlet to outlet; want the inlet warmest", read(0.5), read(6), read(11.5))
	}
	if !(wet.LatentJ > 0.3*wet.AirJ() && wet.Out.C > 14 && wet.Out.C < 27 && wet.Out.W < day.In.W) {
		t.Errorf("charging with air of 85 %%: %+v; want latent over 0.3 of the heat", wet)
	}
	held := s.FilmKg()
	if want := p.Pipes.HoldsKgM * p.Pipes.LengthM * float64(p.Pipes.Count); !(math.Abs(held-want) < 1e-9) {
		t.Errorf("the pipes hold %g kg, want all they can, %g", held, want)
	}
	night := p.flowing(2.5, 6, physics.HumidityRatio(6, 0.7, sea))
	back := s.Step(night, 300)
	if !(back.EvaporatedKg > 0 && back.LatentJ < 0 && back.SensibleJ < 0 && back.Out.W > night.In.W && back.Out.C > 6) {
		t.Errorf("discharging over standing water: %+v; want it to evaporate", back)
	}
	kept := s.State()
	if all := s.Step(night, 7*86400); !(s.FilmKg() < 1e-9 && math.Abs(all.EvaporatedKg-(held-back.EvaporatedKg)) < 1e-9) {
		t.Errorf("a week in one step evaporates %g of %g kg", all.EvaporatedKg, held-back.EvaporatedKg)
	}
	if err := s.Restore(kept); err != nil {
		t.Fatal(err)
	}
	for range 2000 {
		back = s.Step(night, 300)
	}
	if !(s.FilmKg() < 1e-9 && back.EvaporatedKg == 0 && math.Abs(back.LatentJ) < 1e-6) {
		t.Errorf("after a week of dry air %g kg stand in the pipes", s.FilmKg())
	}

	p.Pipes.HoldsKgM = 0
	s = newStore(t, p)
	s.Fill(level(14))
	wet = s.Step(day, 300)
	if !(wet.CondensedKg > 0 && math.Abs(wet.DrainedKg-wet.CondensedKg) < 1e-12 && s.FilmKg() == 0) {
		t.Errorf("pipes that hold nothing keep %g of %g kg", s.FilmKg(), wet.CondensedKg)
	}
	p.Pipes.HoldsKgM, p.Pipes.DrainedShare = 1, 0.25
	s = newStore(t, p)
	s.Fill(level(14))
	wet = s.Step(day, 300)
	if !(math.Abs(wet.DrainedKg-0.25*wet.CondensedKg) < 1e-12 && math.Abs(s.FilmKg()-0.75*wet.CondensedKg) < 1e-12) {
		t.Errorf("of %g kg %g drained, want a quarter", wet.CondensedKg, wet.DrainedKg)
	}
}

func TestTwiceThePipesTakeTwiceTheHeat(t *testing.T) {
	p := bed()
	p.Edge = Edge{}
	a := newStore(t, p)
	d := p.flowing(2, 28, 0.018)
	d.RadiationW = 2000
	p.Pipes.Count *= 2
	b := newStore(t, p)
	twice := d
	twice.DryAirKgS, twice.RadiationW = 2*d.DryAirKgS, 2*d.RadiationW
	for range 20 {
		x, y := a.Step(d, 600), b.Step(twice, 600)
		want := x
		for _, v := range []*float64{&want.SensibleJ, &want.LatentJ, &want.WaterJ, &want.CondensedKg, &want.DrainedKg, &want.SurfaceJ, &want.BaseJ, &want.StoredJ} {
			*v *= 2
		}
		if diff := cmp.Diff(want, y, cmpopts.EquateApprox(1e-9, 1e-9)); diff != "" {
			t.Fatalf("(-twice one +both):\n%s", diff)
		}
	}
}

func TestPipesThatResistMoreExchangeMore(t *testing.T) {
	p := bed()
	d := p.flowing(4, 30, 0.005)
	smooth := newStore(t, p).Step(d, 300)
	p.Pipes.ManningN = 0.016
	ribbed := newStore(t, p).Step(d, 300)
	if !(ribbed.SensibleJ > 1.02*smooth.SensibleJ) {
		t.Errorf("corrugated pipes take %.0f J, smooth ones %.0f", ribbed.SensibleJ, smooth.SensibleJ)
	}
}

func TestRefusedParams(t *testing.T) {
	cases := map[string]struct {
		change func(*Params)
		says   string
	}{
		"no soil":                    {func(p *Params) { p.Layers = nil }, "no layer of soil"},
		"a layer of no thickness":    {func(p *Params) { p.Layers = []Layer{{0, 2e6, 1}, loam} }, "layer 1: thickness is 0"},
		"soil without capacity":      {func(p *Params) { p.Layers[0].CapacityJm3K = 0 }, "heat capacity is 0"},
		"soil that is no number":     {func(p *Params) { p.Layers[0].ConductWmK = math.NaN() }, "conductivity is NaN"},
		"endless pipes":              {func(p *Params) { p.Pipes.LengthM = math.Inf(1) }, "pipe length is +Inf"},
		"pipes that touch":           {func(p *Params) { p.Pipes.SpacingM = 0.12 }, "too near each other"},
		"pipes that show":            {func(p *Params) { p.Pipes.DepthM = 0.06 }, "too near each other or the surface"},
		"pipes at the bottom":        {func(p *Params) { p.DepthM = 0.6 }, "let it reach half as deep again"},
		"no pipe":                    {func(p *Params) { p.Pipes.Count = 0 }, "0 pipes"},
		"no segment":                 {func(p *Params) { p.Pipes.Segments = 0 }, "0 segments"},
		"more than all drains":       {func(p *Params) { p.Pipes.DrainedShare = 1.1 }, "drained share 1.1"},
		"water under nothing":        {func(p *Params) { p.Pipes.HoldsKgM = -1 }, "water held -1"},
		"a surface that shuts":       {func(p *Params) { p.SurfaceWm2K = 0 }, "surface coefficient is 0"},
		"an edge under nothing":      {func(p *Params) { p.Edge.ReachM = -1 }, "edge"},
		"a wave that runs backwards": {func(p *Params) { p.Ground.DiffusivityM2s = -1 }, "diffusivity"},
		"cells without end":          {func(p *Params) { p.Fineness = 9 }, "fineness 9"},
		"pipes under smooth":         {func(p *Params) { p.Pipes.ManningN = -1 }, "roughness"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := bed()
			c.change(&p)
			if _, err := New(p); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("error %v, want one with %q", err, c.says)
			}
		})
	}
	p := bed()
	p.Pipes.Count, p.SurfaceWm2K = 0, 0
	if _, err := New(p); err == nil || !strings.Contains(err.Error(), "0 pipes") || !strings.Contains(err.Error(), "surface") {
		t.Errorf("error %v, want both faults", err)
	}
}
