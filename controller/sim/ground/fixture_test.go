package ground

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// loam is a layer of damp loam; soil_properties gives its range.
var loam = Layer{ThickM: 1, CapacityJm3K: 2.4e6, ConductWmK: 1.4}

// bed is an invented store: twelve 100 mm pipes under a hoop house of 12 by 6 m.
func bed() Params {
	return Params{
		Layers: []Layer{loam}, DepthM: 4, SurfaceWm2K: 5,
		Pipes:  Pipes{Count: 12, LengthM: 12, DiameterM: 0.1, SpacingM: 0.5, DepthM: 0.5, Segments: 6, HoldsKgM: 0.05},
		Edge:   Edge{ReachM: 1.5},
		Ground: physics.GroundWave{Mean: 10, Amplitude: 11, ColdestDay: 25, DiffusivityM2s: 0.58e-6},
	}
}

// lonely is one pipe far from the surface and from others in one soil, α in mm²/s.
func lonely(diameterM, depthM, halfM, conductWmK, alpha float64) Params {
	return Params{
		Layers: []Layer{{CapacityJm3K: conductWmK / (alpha * 1e-6), ConductWmK: conductWmK}},
		DepthM: 2.5 * depthM, SurfaceWm2K: 1e6,
		Pipes: Pipes{Count: 1, LengthM: 10, DiameterM: diameterM, SpacingM: 2 * halfM, DepthM: depthM, Segments: 1},
	}
}

func newStore(t testing.TB, p Params) *Store {
	t.Helper()
	s, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// level gives all soil one temperature.
func level(c float64) func(float64) unit.Celsius {
	return func(float64) unit.Celsius { return unit.Celsius(c) }
}

// heat steps the soil alone with wallW W/m at the pipe and the surface held at topC.
func (s *soil) heat(wallW, topC, dtS float64) gains {
	op := s.operator(dtS)
	s.release(op, 0)
	wall, top := make([]float64, len(s.longM)), make([]float64, len(s.longM))
	for k := range wall {
		p := s.port(op, k, &Drive{Air: unit.Celsius(topC), SurfaceWm2K: s.usualWm2K}, 0)
		wall[k], top[k] = wallW, p.topW+p.topPer*wallW
	}
	return s.finish(op, 0, wall, top)
}

// row is one line of a reference table.
type row struct {
	id, quantity, expected, note string
	in                           map[string]float64
}

func table(t *testing.T, name string) map[string]row {
	t.Helper()
	f, err := os.Open("../../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]row{}
	for _, l := range lines[1:] {
		r := row{l[0], l[1], l[3], l[8], map[string]float64{}}
		for pair := range strings.SplitSeq(l[2], ";") {
			name, text, _ := strings.Cut(pair, "=")
			if v, err := strconv.ParseFloat(text[strings.LastIndex(text, "=")+1:], 64); err == nil {
				r.in[strings.TrimSpace(name)] = v
			}
		}
		rows[r.id] = r
	}
	return rows
}

func (r row) want(t *testing.T) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r.expected, 64)
	if err != nil {
		t.Fatalf("%s: expected %q is no number", r.id, r.expected)
	}
	return v
}

// near compares with a row: within of its value, or of one where the value is a share.
func (r row) near(t *testing.T, got, within float64) {
	t.Helper()
	want := r.want(t)
	t.Logf("%s: %s: %.5g, want %.5g (%+.2f %%)", r.id, r.quantity, got, want, 100*(got/want-1))
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %s at %v is %.6g, want %.6g ± %.2g", r.id, r.quantity, r.in, got, want, within)
	}
}

// flowing is a drive with speedMs of air of c and w at the inlets of all pipes, at sea level.
func (p *Params) flowing(speedMs float64, c unit.Celsius, w float64) Drive {
	const sea = 101325
	area := math.Pi / 4 * p.Pipes.DiameterM * p.Pipes.DiameterM * float64(p.Pipes.Count)
	return Drive{
		In: physics.Air{C: c, W: w}, DryAirKgS: area * speedMs / physics.SpecificVolume(c, w, sea), PressurePa: sea,
		Air: c, SurfaceWm2K: p.SurfaceWm2K,
	}
}
