package size

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

// tube is a row of the published earth tubes.
func tube(t *testing.T, id string) (in map[string]float64) {
	t.Helper()
	f, err := os.Open("../../../testdata/reference/earth_tube_experiments.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		if l[0] != id {
			continue
		}
		in = map[string]float64{}
		for pair := range strings.SplitSeq(l[2], ";") {
			name, text, _ := strings.Cut(pair, "=")
			if in[name], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		return in
	}
	t.Fatalf("there is no row %s", id)
	return nil
}

// TestPipesAreCountedOnForLessThanPublishedTubesGave in their first hours, and for no less than 70 % of it:
// they are laid out by what soil takes some hours into a run. earth_tube_experiments-S013: 40.8 °C into ground
// of 26.6 °C falls by 14 K. S010: 20.6 °C into 26.7 °C, both from memory, rises by 4.8 K at 2 m/s and 4.1 K at
// 5 m/s.
func TestPipesAreCountedOnForLessThanPublishedTubesGave(t *testing.T) {
	for _, c := range []struct {
		row        string
		speedMs    float64
		in, ground unit.Celsius
		measuredK  float64
	}{
		{"earth_tube_experiments-S013", 11, 40.8, 26.6, 14},
		{"earth_tube_experiments-S010", 2, 20.6, 26.7, 4.8},
		{"earth_tube_experiments-S010", 5, 20.6, 26.7, 4.1},
	} {
		in := tube(t, c.row)
		p := physics.Pipe{DiameterM: in["D_m"], LengthM: in["L_m"]}
		flowM3s := c.speedMs * math.Pi / 4 * p.DiameterM * p.DiameterM
		ntu := p.NTU(flowM3s, physics.Air{C: c.in, W: 0.006}, 101325, soilKmW)
		got := physics.Effectiveness(ntu) * math.Abs(float64(c.in.Sub(c.ground))) / c.measuredK
		t.Logf("%s at %g m/s: %.0f %% of what was measured", c.row, c.speedMs, 100*got)
		if !(got >= 0.7 && got <= 1) {
			t.Errorf("%s at %g m/s: the pipes are counted on for %.0f %% of what was measured", c.row, c.speedMs, 100*got)
		}
	}
}
