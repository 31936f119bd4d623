package learn_test

import (
	"testing"

	"loambank/controller/learn"
)

// TestAccountsThatPartNameTheCause has a store that was learned for two months and then fails in one way.
func TestAccountsThatPartNameTheCause(t *testing.T) {
	for _, c := range []struct {
		name string
		fail func(*rig)
		want learn.Cause
	}{
		{"nothing fails", func(*rig) {}, learn.Agree},
		{"the belt slips", func(g *rig) { g.speed = 0.4 }, learn.Airflow},
		{"a probe drifts", func(g *rig) { g.ductOffK = -3 }, learn.Probe},
		{"the pipes are broken", func(g *rig) { g.leak = 0.9 }, learn.Leak},
		{"water stands in the pipes", func(g *rig) { g.wetBring = 0.2 }, learn.Water},
	} {
		t.Run(c.name, func(t *testing.T) {
			u := usual()
			u.meter = true
			g, s := newRig(u, 11), settings()
			p := g.learnFor(s, learn.Params{}, 60, nil)
			if b := p.Balance(0); b.Cause != learn.Agree || b.OffFor >= 3 {
				t.Fatalf("before: %+v", b)
			}
			c.fail(g)
			named := learn.Agree
			var at learn.Balance
			for day := 0; day < 25 && named == learn.Agree; day++ {
				p = g.learnFor(s, p, 1, nil)
				at = p.Balance(0)
				named = at.Cause
				if named != learn.Agree && day < 2 {
					t.Errorf("named after %d days", day+1)
				}
			}
			t.Logf("%+v", at)
			if named != c.want {
				t.Errorf("named is %v, want %v", named, c.want)
			}
		})
	}
}
