package learn_test

import (
	"fmt"
	"math"
	"testing"

	"loambank/controller/learn"
)

// within counts how often a truth lay within two standard errors.
type within struct {
	name    string
	hit, of int
	worst   float64
}

func (w *within) add(e learn.Estimate, truth float64) {
	z := math.Abs(e.Value-truth) / e.SE
	w.of++
	if z <= 2 {
		w.hit++
	}
	w.worst = max(w.worst, z)
}

// varied is the usual truth with every figure moved by chance: flow by what a measured one errs by,
// capacity by what soil errs by.
func varied(seed uint64) *rig {
	g := newRig(usual(), seed)
	by := func(v *float64, share float64) { *v *= math.Exp(share * g.r.NormFloat64()) }
	by(&g.flowM3s, 0.06)
	by(&g.ntu, 0.25)
	by(&g.quickKW, 0.3)
	by(&g.slowKW, 0.3)
	by(&g.capacityJK, 0.25)
	by(&g.loss, 0.25)
	by(&g.houseWK, 0.2)
	by(&g.floorWK, 0.2)
	return g
}

// TestWhatIsKnownIsFound: of forty small houses whose every figure is known and moved by chance, nine
// in ten or more of each figure lie within two standard errors after two months, and the errors have
// shrunk to where they are of use.
func TestWhatIsKnownIsFound(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(g *rig) func(*learn.Sample)
	}{
		{"with all probes", func(*rig) func(*learn.Sample) { return nil }},
		{"with each reading missing one time in ten", missing},
	} {
		t.Run(c.name, func(t *testing.T) {
			found := [...]within{{name: "flow"}, {name: "transfer units"}, {name: "near"}, {name: "capacity"}, {name: "loss"}, {name: "house loss"}, {name: "floor"}}
			var last learn.Values
			for seed := range uint64(40) {
				g, s := varied(seed), settings()
				p := g.learnFor(s, learn.Params{}, 60, c.change(g))
				v, h := p.Values(s, 0), p.HouseValues(s)
				found[0].add(v.FlowM3s, g.flowM3s)
				found[1].add(v.NTU, g.ntu)
				found[2].add(v.NearKW, g.quickKW+g.slowKW)
				found[3].add(v.CapacityJK, g.capacityJK)
				found[4].add(v.LossWK, g.loss*g.capacityJK)
				found[5].add(h.LossWK, g.houseWK)
				found[6].add(h.FloorWK, g.floorWK)
				last = v
			}
			for _, f := range found {
				t.Logf("%s: %d of %d, worst %.1f", f.name, f.hit, f.of, f.worst)
				if f.hit*10 < f.of*9 {
					t.Errorf("%s: the truth lies within 2 σ in %d of %d, worst %.1f σ", f.name, f.hit, f.of, f.worst)
				}
			}
			if e := last.NTU; e.SE > 0.1*e.Value {
				t.Errorf("transfer units are known to %.2f of %.2f", e.SE, e.Value)
			}
			if e := last.CapacityJK; e.SE > 0.25*e.Value {
				t.Errorf("the capacity is known to %.3g of %.3g J/K", e.SE, e.Value)
			}
		})
	}
}

func missing(g *rig) func(*learn.Sample) {
	return func(s *learn.Sample) {
		b := &s.Stores[0]
		for _, v := range []*learn.Temp{&s.Air, &s.Outside, &b.Between, &b.Root, &b.DuctIn, &b.DuctOut} {
			if g.r.IntN(10) == 0 {
				*v = learn.Temp{C: 999}
			}
		}
	}
}

func ExampleUpdate() {
	s := settings()
	g := newRig(usual(), 1)
	var p learn.Params
	for range 60 * 288 {
		p = learn.Update(s, p, g.step())
	}
	v := p.Values(s, 0)
	fmt.Printf("effectiveness %.1f, known to %.2f\n", v.Effectiveness.Value, v.Effectiveness.SE)
	// Output: effectiveness 0.7, known to 0.01
}
