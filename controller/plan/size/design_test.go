package size

import (
	"errors"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/trial"
)

// farm is the example farm, with text changed.
func farm(t *testing.T, oldnew ...string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile("../../../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const site = `elevation = "480 ft"`

func temperate() physics.GroundWave {
	return physics.GroundWave{Mean: 9, Amplitude: 12, ColdestDay: 25, DiffusivityM2s: 6e-7}
}

// TestWhatForbidsIsNamedWithTheNearest holds one obstacle at a time against a plain store.
func TestWhatForbidsIsNamedWithTheNearest(t *testing.T) {
	plain := config.Pipes{Count: 20, LengthM: 8, SpacingM: 0.6, DepthM: 0.45, DiameterM: 0.1}
	frozen := physics.GroundWave{Mean: -4, Amplitude: 9, ColdestDay: 25, DiffusivityM2s: 6e-7}
	clay := `cover    = "double film"` + "\nsoil = { texture = \"clay\" }"
	for _, c := range []struct {
		name    string
		change  func(*config.Pipes)
		ground  physics.GroundWave
		farm    []string
		want    string // "" forbids nothing
		nearest func(config.Pipes) bool
	}{
		{"a plain store is possible", nil, temperate(), nil, "", nil},
		{"ground that thaws under the house is no bar", nil, physics.GroundWave{Mean: -1, Amplitude: 12, ColdestDay: 25, DiffusivityM2s: 6e-7}, nil, "", nil},
		{"pipes in permafrost", func(p *config.Pipes) { p.DepthM = 2 }, frozen, nil, "frozen all year", func(p config.Pipes) bool { return p.Count == 0 }},
		{"more pipes than floor", func(p *config.Pipes) { p.Count = 100 }, temperate(), nil, "the house has 268 m²", func(p config.Pipes) bool { return p.Count == 55 }},
		{
			"more pipe than soil", func(p *config.Pipes) { p.DiameterM, p.DepthM = 0.3, 0.3 }, temperate(), nil, "too little of the",
			func(p config.Pipes) bool { return p.DiameterM > 0.25 && p.DiameterM < 0.29 },
		},
		{"pipes side by side", func(p *config.Pipes) { p.SpacingM = 0.15 }, temperate(), nil, "nearer than two", func(p config.Pipes) bool { return p.SpacingM == 0.2 && p.Count == 20 }},
		{
			"pipes in ground water", nil, temperate(),
			[]string{site, site + `, water_table = "70 cm"`},
			"ground water rises to",
			func(p config.Pipes) bool { return math.Abs(p.DepthM-0.35) < 1e-9 },
		},
		{"ground water under a spade", nil, temperate(), []string{site, site + `, water_table = "40 cm"`}, "ground water rises to", func(p config.Pipes) bool { return p.Count == 0 }},
		{"ground water well under", nil, temperate(), []string{site, site + `, water_table = "81 cm"`}, "", nil},
		{"clay with ground water near", nil, temperate(), []string{site, site + `, water_table = "140 cm"`, `cover    = "double film"`, clay}, "heavy clay with ground water", func(p config.Pipes) bool { return p.Count == 0 }},
		{"clay with ground water far", nil, temperate(), []string{site, site + `, water_table = "160 cm"`, `cover    = "double film"`, clay}, "", nil},
	} {
		s, p := farm(t, c.farm...), plain
		if c.change != nil {
			c.change(&p)
		}
		var forbids []Obstacle
		for _, o := range Obstacles(s, &s.Houses[0], p, c.ground) {
			if o.Forbids {
				forbids = append(forbids, o)
			}
		}
		switch {
		case c.want == "" && len(forbids) > 0:
			t.Errorf("%s: %q", c.name, forbids[0].What)
		case c.want == "":
		case len(forbids) != 1 || !strings.Contains(forbids[0].What, c.want):
			t.Errorf("%s: %+v, want %q", c.name, forbids, c.want)
		case !c.nearest(forbids[0].Nearest):
			t.Errorf("%s: the nearest is %+v", c.name, forbids[0].Nearest)
		}
		// What is offered as nearest is possible.
		for _, o := range forbids {
			for _, again := range Obstacles(s, &s.Houses[0], o.Nearest, c.ground) {
				if again.Forbids {
					t.Errorf("%s: the nearest, %+v, is not possible: %s", c.name, o.Nearest, again.What)
				}
			}
		}
	}
}

func TestWhatMustBeLookedIntoIsSaid(t *testing.T) {
	p := config.Pipes{Count: 20, LengthM: 8, SpacingM: 0.6, DepthM: 0.45, DiameterM: 0.1}
	s := farm(t, site, site+`, radon = true`, `cover    = "double film"`, `cover    = "double film"`+"\nsoil = { texture = \"clay\" }")
	var said []string
	for _, o := range Obstacles(s, &s.Houses[0], p, temperate()) {
		said = append(said, o.What)
	}
	for _, want := range []string{"fall of 1 in 100", "site.water_table", "radon"} {
		if !strings.Contains(strings.Join(said, "; "), want) {
			t.Errorf("%q is not said: %q", want, said)
		}
	}
	if none := Obstacles(s, &s.Houses[0], config.Pipes{}, temperate()); len(none) > 0 {
		t.Errorf("no pipes have %+v against them", none)
	}
}

// TestAFanThatNeverCrosses: long narrow pipes take more than any usual fan gives.
func TestAFanThatNeverCrosses(t *testing.T) {
	h := &farm(t).Houses[0]
	p := config.Pipes{Count: 4, LengthM: 29, SpacingM: 0.6, DepthM: 0.45, DiameterM: 0.1}
	if d, err := blow(h, p, 0.6); !errors.Is(err, physics.ErrNeverCrosses) {
		t.Errorf("%+v, %v", d, err)
	}
	if _, _, err := lay(h, config.Costs{Rate: 0.05, Years: 15}, 0.45, 50, 2000, 0.2); !errors.Is(err, physics.ErrNeverCrosses) {
		t.Errorf("50 m³/s: %v", err)
	}
	// More and more air: the last that a usual fan gives takes nearly its 250 Pa.
	var last Duct
	for flowM3s := 0.05; ; flowM3s *= 1.01 {
		d, err := blow(h, p, flowM3s)
		if err != nil {
			break
		}
		if !(math.Abs(d.FlowM3s-flowM3s) < 0.01*flowM3s) {
			t.Fatalf("asked for %v m³/s a fan gives %v", flowM3s, d.FlowM3s)
		}
		last = d
	}
	if last.LossPa < 240 || last.LossPa > 250.1 {
		t.Errorf("the last fan works against %v Pa", last.LossPa)
	}
	for _, q := range []config.Pipes{{}, p} {
		if d, err := blow(h, q, 0); err == nil {
			t.Errorf("%+v without air: %+v", q, d)
		}
	}
}

// TestAFanGivesTheFlowThatIsAskedFor, draws what its loss takes, and no less than one in free air
// (greenhouse-S064: 10 to 20 cfm/W). Air changes as in greenhouse-S051.
func TestAFanGivesTheFlowThatIsAskedFor(t *testing.T) {
	h := &farm(t).Houses[0]
	for _, count := range []int{8, 12, 20, 60} {
		p := config.Pipes{Count: count, LengthM: 9, SpacingM: 0.6, DepthM: 0.45, DiameterM: 0.15}
		d, err := blow(h, p, 0.8)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.FlowM3s-0.8) > 0.8e-3 {
			t.Errorf("%d pipes: %v m³/s", count, d.FlowM3s)
		}
		if want := max(0.8*d.LossPa/0.35, 0.8/(15*0.0004719474)); math.Abs(d.PowerW-want) > 0.01*want {
			t.Errorf("%d pipes take %v Pa: %v W, want %v", count, d.LossPa, d.PowerW, want)
		}
		if want := 0.8 / float64(count) / (math.Pi / 4 * 0.15 * 0.15); math.Abs(d.SpeedMs-want) > 0.01*want {
			t.Errorf("%d pipes: %v m/s, want %v", count, d.SpeedMs, want)
		}
		if want := 0.8 * 3600 / (math.Pi / 8 * h.WidthM * h.WidthM * h.LengthM); math.Abs(d.AirChangesPerHour-want) > 0.01*want {
			t.Errorf("%v air changes, want %v", d.AirChangesPerHour, want)
		}
	}
	for speed, want := range map[float64]string{3.9: "quiet", 4.1: "heard", 6.9: "heard", 7.1: "loud"} {
		if got := (Duct{SpeedMs: speed}).Noise(); got != want {
			t.Errorf("%v m/s is %s", speed, got)
		}
	}
}

// TestThePipesThatAreLaidAreTheCheapest: no other number, width or spacing costs less a year for
// the heat it exchanges.
func TestThePipesThatAreLaidAreTheCheapest(t *testing.T) {
	s := farm(t)
	h := &s.Houses[0]
	yearly := func(p config.Pipes, d Duct) float64 {
		d2 := Design{Pipes: p, Duct: d}
		bare := Design{}
		cost := buildCost(&d2, h, s.Costs) - buildCost(&bare, h, s.Costs)
		return (cost*recoveryFactor(s.Costs.Rate, s.Costs.Years) + d.PowerW*2*0.2) / (1 - math.Exp(-d.NTU))
	}
	best, duct, err := lay(h, s.Costs, 0.45, 0.8, 2000, 0.2)
	if err != nil {
		t.Fatal(err)
	}
	least := yearly(best, duct)
	for _, count := range []int{5, 10, 20, 30, 40, 55} {
		for _, diameterM := range []float64{0.1, 0.15, 0.2} {
			for _, spacingM := range []float64{0.4, 0.6, 0.9} {
				p := config.Pipes{Count: count, LengthM: h.WidthM, SpacingM: spacingM, DepthM: 0.45, DiameterM: diameterM}
				d, err := blow(h, p, 0.8)
				if err != nil || d.NTU < 0.5 || float64(count)*spacingM > h.LengthM {
					continue
				}
				if got := yearly(p, d); got < least*(1-1e-9) {
					t.Errorf("%+v costs %.1f a year, %+v %.1f", p, got, best, least)
				}
			}
		}
	}
}

// A store's cost by hand: 10 pipes of 8 m and 15 cm in trenches 40 cm wide.
func TestWhatADesignCosts(t *testing.T) {
	s := farm(t, `[[house]]`, "[costs]\npipe = \"3 $/m\"\ntrench = \"10 $/m3\"\nfilm = \"2 $/m2\"\nscreen = \"5 $/m2\"\ninsulation = \"20 $/m2\"\nstone = \"50 $/m3\"\nfan = \"1 $/W\"\nwiring = \"500 $/store\"\n\n[[house]]")
	h := &s.Houses[0]
	coverM2, _ := physics.HalfCylinder(h.WidthM, h.LengthM)
	films := Design{Cover: physics.DoubleFilm}
	store := Design{
		Cover: physics.SingleFilm, Pipes: config.Pipes{Count: 10, LengthM: 8, SpacingM: 0.6, DepthM: 0.425, DiameterM: 0.15},
		Duct: Duct{PowerW: 200},
	}
	for _, c := range []struct {
		name   string
		change func(*Design)
		want   float64
	}{
		{"pipes, trench, fan, wiring", func(*Design) {}, 2*coverM2 + 80*3*1.5 + 80*0.4*0.5*10 + 200 + 500},
		{"in stone", func(d *Design) { d.Stone = true }, 2*coverM2 + 80*3*1.5 + 80*0.4*0.5*10 + 200 + 500 + 80*0.4*0.3*50},
		{"with a board of 10 cm", func(d *Design) { d.Insulation = config.Insulation{ThickM: 0.1, DepthM: 0.5} }, 2*coverM2 + 80*3*1.5 + 80*0.4*0.5*10 + 200 + 500 + 2*(h.LengthM+h.WidthM)*0.5*2*20},
		{"with a screen", func(d *Design) { d.Screen = true }, 2*coverM2 + 80*3*1.5 + 80*0.4*0.5*10 + 200 + 500 + h.LengthM*h.WidthM*5},
		{"narrower than a trench", func(d *Design) { d.Pipes.SpacingM = 0.3 }, 2*coverM2 + 80*3*1.5 + 80*0.3*0.5*10 + 200 + 500},
	} {
		d := store
		c.change(&d)
		if got := buildCost(&d, h, s.Costs); math.Abs(got-c.want) > 1e-6*c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := buildCost(&films, h, s.Costs); math.Abs(got-4*coverM2) > 1e-6*got {
		t.Errorf("two films cost %v, want %v", got, 4*coverM2)
	}
}

// TestADesignBecomesAHouseThatCanLive, and leaves the settings alone.
func TestADesignBecomesAHouseThatCanLive(t *testing.T) {
	s, before := farm(t), farm(t)
	h := &s.Houses[0]
	steps := Ladder(h, s.Costs)
	for i := range steps {
		step := &steps[i]
		own := step.House(h)
		if step.Err != nil {
			continue
		}
		if _, err := trial.NewPlant(own, temperate(), 181, trial.StepS); err != nil {
			t.Errorf("%s: %v", step.Name, err)
		}
		if own.House.Decide.Stores[0].Fans[0].FlowM3s != step.Duct.FlowM3s || own.House.Decide.Stores[0].Fans[0].Catalogue {
			t.Errorf("%s: its fan is %+v", step.Name, own.House.Decide.Stores[0].Fans[0])
		}
		if own.House.Decide.HouseLossWK != own.LossWK() {
			t.Errorf("%s: it loses %v W/K", step.Name, own.House.Decide.HouseLossWK)
		}
		if i > 0 && !step.Beside && step.Store() && step.Costs <= steps[i-1].Costs && steps[i-1].Store() {
			t.Errorf("%s costs %v after %v", step.Name, step.Costs, steps[i-1].Costs)
		}
	}
	own := steps[3].House(h)
	for _, a := range Assumptions() {
		low, high := a.Changed(own, false), a.Changed(own, true)
		for _, changed := range []*config.House{low, high} {
			if _, err := trial.NewPlant(changed, temperate(), 181, trial.StepS); err != nil {
				t.Errorf("%s: %v", a.Name, err)
			}
		}
		if reflect.DeepEqual(low, high) || !reflect.DeepEqual(own, steps[3].House(h)) {
			t.Errorf("%s: the ends are alike, or changed the house itself", a.Name)
		}
	}
	if got, want := greenhouse.CoverOf(h.Cover), greenhouse.CoverOf(before.Houses[0].Cover); got != want || h.Pipes[0] != before.Houses[0].Pipes[0] || h.House.Decide.Stores[0].Fans[0].PowerW != 600 {
		t.Errorf("the settings were changed")
	}
}
