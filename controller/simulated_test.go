package controller

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
	"loambank/drivers/model"
)

// simulate puts model devices in the place of a house's files.
func (g *ground) simulate(house string) {
	for _, name := range []string{"air", "deep", "east", "west"} {
		g.edit(fmt.Sprintf(`driver = "file", path = "%s"`, filepath.Join(g.dir, house, name)), `driver = "model"`)
	}
}

// TestASimulatedHouseGoesOnOverAReload runs the model's fans into its soil, by hand, and reloads.
func TestASimulatedHouseGoesOnOverAReload(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.simulate("lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		soil := func() float64 { return f.Snapshots()[0].Verdicts[1].Value }
		must(t, f.Order("lower", "", decide.Order{Kind: decide.OrderRun, ForS: 40 * 3600}, grower))
		pass(time.Minute)
		began := soil()
		pass(24 * time.Hour)
		before := soil()
		if began-before < 0.1 {
			t.Fatalf("the soil went from %v to %v °C under running fans: nothing is proven", began, before)
		}
		simulated := func() *model.House { return f.houses()[0].probes[1].stanza.Simulated.House }
		house := simulated()
		must(t, f.Reload(g.edit(`margin = "4 K"`, `margin = "5 K"`)))
		pass(time.Second)
		if now := soil(); simulated() != house || now > before+0.01 || now < before-0.01 {
			t.Errorf("after a reload the soil is %v °C, before %v: it is another house", now, before)
		}
		if s := f.Snapshots()[0]; !s.Decision.Stores[0].Running() || s.Account.Stores[0].Fans[0].Starts != 1 {
			t.Errorf("the fans did not run on: %+v", s.Account.Stores[0].Fans[0])
		}
		must(t, f.Reload(g.edit(`length   = "30 m"`, `length   = "40 m"`)))
		pass(5 * time.Minute)
		if simulated() == house {
			t.Error("a longer house is still the old simulation")
		}
		must(t, f.end())
	})
}

// TestAModelThatLacksAProbe wants it named, and the farm untouched.
func TestAModelThatLacksAProbe(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.simulate("lower")
	good := g.s
	g.edit(`name = "air", driver = "model" }`, `name = "air", driver = "model" }, { role = "radon", name = "cellar", driver = "model" }`)
	const want = "probe lower/cellar: the model has no radon"
	c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from), StateDir: t.TempDir()})
	if c != nil || err == nil || !strings.HasPrefix(err.Error(), "farm.toml:") || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v, %v; want %s, and its line", c, err, want)
	}
	bad := g.s
	g.s = good
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(time.Minute)
		if err := f.Reload(bad); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("the reload said %v", err)
		}
		pass(time.Minute)
		s := f.Snapshots()[0]
		if len(s.Verdicts) != 2 || s.Account.StateS != f.houses()[0].account.StateS || f.View().Reloaded {
			t.Errorf("after a reload that failed there are %d probes", len(s.Verdicts))
		}
		if sum := total(s.Account.StateS[:]); sum != 120 {
			t.Errorf("%v s are booked, want 120", sum)
		}
		must(t, f.end())
	})
}

func total(all []float64) (sum float64) {
	for _, v := range all {
		sum += v
	}
	return sum
}
