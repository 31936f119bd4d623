package learn_test

import (
	"testing"

	"loambank/controller/learn"
)

// TestWarningsComeFromWhatWasLearned has a house that was learned and then fails in one way, and one
// that does not.
func TestWarningsComeFromWhatWasLearned(t *testing.T) {
	for _, c := range []struct {
		name string
		fail func(*rig)
		days float64
		want learn.Warning
	}{
		{"nothing fails", func(*rig) {}, 20, learn.NoWarning},
		{"a side is left up", func(g *rig) { g.openWK = 6000 }, 1, learn.SideOpen},
		{"the sun finds the probe", func(g *rig) { g.airSunK = 5 }, 20, learn.ProbeInSun},
		{"a probe was pushed against a pipe", func(g *rig) { g.touchK = 0.7 }, 20, learn.ProbeAtPipe},
		{"the soil was flooded", func(g *rig) { g.capacityJK *= 3 }, 90, learn.StoreWetter},
		{"the soil dried out", func(g *rig) { g.capacityJK /= 3 }, 90, learn.StoreDrier},
	} {
		t.Run(c.name, func(t *testing.T) {
			g, s := newRig(usual(), 21), settings()
			g.charge = func(air, soil float64) bool { return air > soil+3 }
			p := g.learnFor(s, learn.Params{}, 170, nil)
			if got := p.Notices(s); len(got) > 0 {
				t.Fatalf("before: %+v", got)
			}
			c.fail(g)
			seen := map[learn.Warning]bool{}
			for range int(c.days * 24) {
				p = g.learnFor(s, p, 1.0/24, nil)
				for _, n := range p.Notices(s) {
					seen[n.Warning] = true
					if n.Warning == learn.StoreDrier && n.Have >= n.Need || n.Warning != learn.StoreDrier && n.Have <= n.Need {
						t.Errorf("%+v", n)
					}
				}
			}
			for w := range seen {
				if w != c.want {
					t.Errorf("warned of %v", w)
				}
			}
			if c.want != learn.NoWarning && !seen[c.want] {
				t.Errorf("no warning that %v: %+v %v", c.want, p.Stores[0].First, p.Stores[0].Soil.X)
			}
		})
	}
}

// TestAProbeAtAPipeIsToldOnTheThirdRun, common practice, no source: of each run after a rest the between
// probe goes a third of the way to the air in its first hour.
func TestAProbeAtAPipeIsToldOnTheThirdRun(t *testing.T) {
	s := settings()
	var p learn.Params
	live := func(hours int, level, betweenC float64) {
		for range hours * 12 {
			x := learn.Sample{StepS: 300, Air: known(27)}
			x.Stores[0] = learn.StoreSample{Level: level, DuctIn: known(27), Between: known(betweenC)}
			p = learn.Update(s, p, x)
		}
	}
	for run := 1; run <= 4; run++ {
		live(3, 0, 15)
		live(2, 1, 19)
		if n := p.Notices(s); len(n) > 0 != (run >= 3) || run >= 3 && (n[0].Warning != learn.ProbeAtPipe || n[0].Have < 0.3 || n[0].Have > 0.35) {
			t.Errorf("after run %d: %+v", run, n)
		}
	}
}
