package trial

import (
	"math"
	"testing"

	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/sim/greenhouse"
)

// stated puts keys into the example house and its pipes.
func stated(house, pipes string) []string {
	return []string{`width    = "30 ft"`, `width    = "30 ft"` + "\n" + house, `depth = "18 in" }`, `depth = "18 in"` + pipes + ` }`}
}

// TestWhatAHouseStatesMatters changes one key at a time and looks at what it must move, never
// running the fans where the house alone is asked.
func TestWhatAHouseStatesMatters(t *testing.T) {
	heater := func(m *Month) float64 { return m.HeaterKWh }
	in := func(m *Month) float64 { return m.InKWh }
	out := func(m *Month) float64 { return m.OutKWh }
	plain := map[rules]Month{}
	for _, by := range []rules{still, running, switched} {
		plain[by] = total(t, farm(t), by)
	}
	for _, c := range []struct {
		name         string
		house, pipes string
		by           rules
		of           func(*Month) float64
		least, most  float64 // of the plain house's figure
	}{
		// Between them a screen and the table's U: greenhouse-S011 halves the cover's loss by night.
		{"a screen spares fuel by night", "screen = true", "", still, heater, 0.4, 0.85},
		{"a leaky house burns more", "air_changes = 1.5", "", still, heater, 1.1, 2},
		{"vents that open late keep heat for spring", `vents = { opens = "35 °C" }`, "", running, in, 1.02, 3},
		{"dry sand takes less heat", `soil = { texture = "sand", moisture = "3 %" }`, "", running, in, 0.5, 0.97},
		{"a board round the stores keeps more of it", `insulation = { thickness = "5 cm", depth = "1.2 m" }`, "", still, heater, 0.8, 0.9999},
		{"narrow pipes exchange less", "", `, diameter = "5 cm"`, running, in, 0.5, 0.97},
		{"smooth pipes exchange less", "", `, wall = "smooth"`, running, in, 0.7, 0.995},
		{"sealed pipes keep their water, which cools them again", "", `, perforated = false`, switched, out, 1.002, 1.1},
	} {
		base := plain[c.by]
		got := total(t, farm(t, stated(c.house, c.pipes)...), c.by)
		if ratio := c.of(&got) / c.of(&base); !(ratio >= c.least && ratio <= c.most) {
			t.Errorf("%s: %.4f of the plain house's, want %v to %v", c.name, ratio, c.least, c.most)
		}
	}
}

// rules are who runs the fans: nobody, the settings, or thermostats, which run them alike whatever the
// soil is.
type rules int

const (
	still rules = iota
	running
	switched
)

func total(t *testing.T, s *config.Settings, by rules) Month {
	t.Helper()
	rule := never
	switch by {
	case running:
		rule = configured
	case switched:
		rule = func(h *config.House) Rule { return UsualThermostats(h, s.Turn) }
	}
	_, r := live(t, s, rule, false)
	return r.Total()
}

// TestAHouseStandsUnderThePublishedCover: what stands over a house of the settings is the cover that
// the simulated house was tested with, greenhouse-S007 to S011.
func TestAHouseStandsUnderThePublishedCover(t *testing.T) {
	for _, c := range []struct {
		word string
		is   physics.Covering
	}{
		{"double film", physics.DoubleFilm},
		{"single film", physics.SingleFilm},
		{"twin wall", physics.TwinWall},
		{"glass", physics.SingleGlass},
	} {
		h := &farm(t, `"double film"`, `"`+c.word+`"`).Houses[0]
		if got, want := houseParams(h).Cover, greenhouse.CoverOf(c.is); got != want {
			t.Errorf("%s is %+v, want %+v", c.word, got, want)
		}
		calm, _ := c.is.AirChanges(false)
		if houseParams(h).LeakPerH != calm {
			t.Errorf("%s leaks %v, want %v", c.word, houseParams(h).LeakPerH, calm)
		}
	}
	h := &farm(t, stated("screen = true", "")...).Houses[0]
	if got, want := coverOf(h), greenhouse.CoverOf(physics.DoubleFilmCurt); got != want {
		t.Errorf("with a screen it is %+v, want %+v", got, want)
	}
	// greenhouse-S011 over the night's 1.5 times 0.5 air changes.
	cover, volume := physics.HalfCylinder(h.WidthM, h.LengthM)
	if want := cover*1.9873 + 0.33*0.75*volume; math.Abs(h.House.Decide.HouseLossWK-want) > 0.001*want {
		t.Errorf("it loses %v W/K, want %v", h.House.Decide.HouseLossWK, want)
	}
}
