package controller

import (
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

func TestGateServesTheHouseNearestItsFrostLimitFirst(t *testing.T) {
	g := newGate(3, 10, 1000, 0)
	for i, frost := range []unit.Kelvin{5, 1, 3} {
		g.tell(i, 0, claim{wants: true, frost: frost}, false)
	}
	if grant := g.ask(0, 1); !grant.Closed {
		t.Errorf("the warmest house may start while colder ones wait: %+v", grant)
	}
	g.tell(0, 1, claim{wants: true, frost: 5}, false)
	grant := g.ask(1, 2)
	if grant.Closed || !grant.Limited || grant.PowerW != 1000 {
		t.Errorf("the coldest house gets %+v, want leave and the whole line", grant)
	}
	if other := g.ask(2, 2); !other.Closed || other.PowerW != 0 {
		t.Errorf("while it starts another house gets %+v, want none", other)
	}
	g.tell(2, 2, claim{wants: true, frost: 3}, false)
	g.tell(1, 2, claim{drawnW: 600, frost: 1}, true)
	if grant := g.ask(2, 11.9); !grant.Closed {
		t.Errorf("the next house may start %v s after the last start, want 10", 9.9)
	}
	g.tell(2, 11.9, claim{wants: true, frost: 3}, false)
	if grant := g.ask(2, 12); grant.Closed || grant.PowerW != 400 {
		t.Errorf("the next house gets %+v, want leave and the 400 W that are left", grant)
	}
}

func TestGateTakesFromTheLastServedWhenTheGeneratorRuns(t *testing.T) {
	g := newGate(2, 0, 2000, 700)
	g.tell(0, 0, claim{drawnW: 600, frost: 4}, true)
	g.tell(1, 0, claim{drawnW: 600, frost: 1, onGenerator: true}, true)
	if grant := g.ask(1, 20); grant.PowerW != 600 {
		t.Errorf("the house nearer its frost limit keeps %v W, want its 600", grant.PowerW)
	}
	g.tell(1, 20, claim{drawnW: 600, frost: 1, onGenerator: true}, false)
	if grant := g.ask(0, 21); grant.PowerW != 100 {
		t.Errorf("the other keeps %v W, want the 100 that are left", grant.PowerW)
	}
}

// Whatever the houses do within what they are granted, they never draw more together than the
// line gives, and no two starts are closer than the stagger.
func TestGateKeepsTheLineAndTheStagger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		houses := rapid.IntRange(1, 5).Draw(t, "houses")
		const stagger, line = 10.0, 1500.0
		g := newGate(houses, stagger, line, 0)
		drawn := make([]float64, houses)
		now, last := 0.0, -1e9
		for range 200 {
			now += rapid.Float64Range(0, 4).Draw(t, "pause")
			asking := rapid.Permutation(indexes(houses)).Draw(t, "order")
			asking = asking[:rapid.IntRange(1, houses).Draw(t, "asking")]
			limits := make([]float64, houses)
			open := make([]bool, houses)
			for _, i := range asking {
				grant := g.ask(i, now)
				limits[i], open[i] = grant.PowerW, !grant.Closed
			}
			for _, i := range asking {
				wants := rapid.Float64Range(0, 900).Draw(t, "wants")
				started := false
				switch {
				case wants <= drawn[i]:
					drawn[i] = wants
				case open[i] && wants <= limits[i]:
					started = true
					drawn[i] = wants
				}
				if started {
					if now-last < stagger-2*roundingS { // of the gate, and of this difference
						t.Fatalf("starts at %v and %v s", last, now)
					}
					last = now
				}
				frost := unit.Kelvin(rapid.IntRange(0, 5).Draw(t, "frost"))
				g.tell(i, now, claim{drawnW: drawn[i], wants: wants > drawn[i], frost: frost}, started)
			}
			sum := 0.0
			for _, w := range drawn {
				sum += w
			}
			if sum > line {
				t.Fatalf("%v W drawn of %v", sum, line)
			}
		}
	})
}

func indexes(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}
