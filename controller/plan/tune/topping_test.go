package tune

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

func TestNear(t *testing.T) {
	for _, c := range []struct {
		costs              []float64
		least, first, last int
		worst              float64
	}{
		{[]float64{7}, 0, 0, 0, 0},
		{[]float64{5, 5, 5}, 0, 0, 2, 0},
		{[]float64{20, 11, 10, 10.9, 11.1, 10.5, 15}, 2, 1, 3, 10},
		{[]float64{3, 2, 1}, 2, 2, 2, 2},
		{[]float64{1, 1.2, 3}, 0, 0, 1, 2},
	} {
		if least, first, last, worst := Near(c.costs); least != c.least || first != c.first || last != c.last || worst != c.worst {
			t.Errorf("%v: %d, %d to %d, %v", c.costs, least, first, last, worst)
		}
	}
}

// TestNoClimateAsksForSummersHeat lets a heated house stand in a cold climate and in a mild one, with
// the frosts of each weather file. Common practice, no source: no charging ahead in summer is needed.
// The model says so too, and that the day hardly matters from September on; it does not tell climates
// apart by it.
func TestNoClimateAsksForSummersHeat(t *testing.T) {
	if testing.Short() {
		t.Skip("it lives through 28 years")
	}
	for _, name := range []string{burlington, "USA_WA_Tacoma.Narrows.AP.727938_TMY3.epw.gz"} {
		sp, costs := toppingUps(t, name)
		points := sp.ToppingUps(sp.Today())
		_, first, last, worst := Near(costs)
		from, to := sp.ToppingUp(points[first*every]), sp.ToppingUp(points[last*every])
		t.Logf("%s: from %v to %v, the worst date costs %.1f $ a year more", name, from, to, worst)
		if from.Month < time.September || worst <= 0 {
			t.Errorf("%s: it pays to charge from %v on", name, from)
		}
	}
}

// every so many of the dates are tried.
const every = 2

// toppingUps is what a year comes to in a climate, by date.
func toppingUps(t *testing.T, name string) (*Space, []float64) {
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "weather", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	read, err := weather.Read(name, f)
	if err != nil {
		t.Fatal(err)
	}
	s := settled(t, read)
	laid, err := trial.Lay(read, s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	ground, err := trial.Ground(read)
	if err != nil {
		t.Fatal(err)
	}
	sp := NewSpace(s, &s.Houses[0])
	points := sp.ToppingUps(sp.Today())
	costs := make([]float64, (len(points)+every-1)/every)
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for i := range costs {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			h, _ := sp.House(points[i*every])
			plant, err := trial.NewPlant(h, ground, trial.SettleDay(h))
			if err != nil {
				t.Error(err)
				return
			}
			costs[i] = OutcomeOf(plant.Run(laid, trial.NewConfigured(&h.House), false, nil), true).Cost
		})
	}
	group.Wait()
	return sp, costs
}

// settled is the example farm where a weather file was made, with a heater that holds it and fans that
// were measured, free to charge from summer on.
func settled(t *testing.T, y *weather.Year) *config.Settings {
	first, last := frosts(y)
	text := string(farm(t, "example.toml").Source)
	for was, now := range map[string]string{
		`latitude = 43.1, longitude = -75.2, elevation = "480 ft"`: fmt.Sprintf(`latitude = %g, longitude = %g, elevation = "%g m"`, y.LatitudeDeg, y.LongitudeDeg, y.ElevationM),
		`first_frost = "10-05", last_frost = "05-12"`:              fmt.Sprintf("first_frost = %q, last_frost = %q", first, last),
		`"catalogue"`: `"measured"`, `"60 kBtu/h"`: `"150 kBtu/h"`,
		`"09-15..10-31"`: `"07-01..10-31"`, `"06-01..08-31"`: `"06-01..06-30"`,
	} {
		if !strings.Contains(text, was) {
			t.Fatalf("the example says %s no more", was)
		}
		text = strings.Replace(text, was, now, 1)
	}
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// frosts are the first and the last day of frost of the winter in a weather file, MM-DD.
func frosts(y *weather.Year) (first, last string) {
	for i := range y.Rows {
		r := &y.Rows[i]
		if r.DryBulb > 0 {
			continue
		}
		date := fmt.Sprintf("%02d-%02d", int(r.Month), r.Day)
		if r.Month < time.July {
			last = date
		} else if first == "" {
			first = date
		}
	}
	return first, last
}
