package tune

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"loambank/controller/trial"
	"loambank/controller/weather"
)

// year is a year of the test files (testdata/weather).
func year(t *testing.T, name string) *trial.Year {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "weather", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	read, err := weather.Read(name, f)
	if err != nil {
		t.Fatal(err)
	}
	y, err := trial.Lay(read, time.FixedZone("", int(read.ZoneH*3600)))
	if err != nil {
		t.Fatal(err)
	}
	return y
}

const burlington = "USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz"

func TestAReshuffledYearKeepsItsSeasons(t *testing.T) {
	y := year(t, burlington)
	monthly := func(y *trial.Year) (mean [12]float64) {
		n := len(y.Samples)
		for i := range y.Samples {
			mean[i*12/n] += float64(y.Samples[i].Outside) * 12 / float64(n)
		}
		return mean
	}
	was := monthly(y)
	for seed := range uint64(20) {
		again := Reshuffled(y, seed)
		if len(again.Samples) != len(y.Samples) {
			t.Fatalf("seed %d: %d samples", seed, len(again.Samples))
		}
		for i := range again.Samples {
			if again.Samples[i].Day != y.Samples[i].Day {
				t.Fatalf("seed %d: the calendar moved at %d", seed, i)
			}
		}
		// A month of Burlington differs from year to year by a standard deviation of 1 to 3.5 K
		// (common knowledge of its climate normals, from memory); fifteen days of spring are 3 K.
		for m, mean := range monthly(again) {
			if math.Abs(mean-was[m]) > 7 {
				t.Errorf("seed %d: month %d is %.1f °C, was %.1f", seed, m+1, mean, was[m])
			}
		}
	}
}

func TestSeedsMakeYears(t *testing.T) {
	y := year(t, burlington)
	if Reshuffled(y, 0) != y {
		t.Error("seed 0 is not the year itself")
	}
	if !slices.Equal(Reshuffled(y, 7).Samples, Reshuffled(y, 7).Samples) {
		t.Error("one seed made two years")
	}
	a, b := Reshuffled(y, 7).Samples, Reshuffled(y, 8).Samples
	same := 0
	for i := range a {
		if a[i].Outside == b[i].Outside {
			same++
		}
	}
	if same > len(a)/2 {
		t.Errorf("two seeds agree in %d of %d steps", same, len(a))
	}
	if a[0].Outside == y.Samples[0].Outside && a[len(a)/2].Outside == y.Samples[len(a)/2].Outside {
		t.Error("nothing was moved")
	}
}
