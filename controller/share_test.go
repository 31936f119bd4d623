package controller

import (
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// starts notes when each of a farm's fans started and stopped, by its orders.
type starts struct {
	fans []*slow
	name []string
}

func watchStarts(c *Controller) *starts {
	s := &starts{}
	for _, r := range c.houses() {
		for _, f := range r.fans {
			w := &slow{Fan: f.device}
			f.device = w
			s.fans, s.name = append(s.fans, w), append(s.name, f.stanza.Name)
		}
	}
	return s
}

// turn is one fan switched on or off.
type turn struct {
	fan string
	moment
}

// turns lists all of them as they came.
func (s *starts) turns() []turn {
	var all []turn
	for i, f := range s.fans {
		for _, m := range f.set() {
			all = append(all, turn{s.name[i], m})
		}
	}
	slices.SortStableFunc(all, func(a, b turn) int { return a.time.Compare(b.time) })
	return all
}

// TestHousesShareTheLine lets one fan of 300 W run at a time, in two houses at their frost limit.
func TestHousesShareTheLine(t *testing.T) {
	g := stake(t, "10 s", "warmer", "colder")
	g.edit(`elevation = "150 m" }`, `elevation = "150 m", max_power = "400 W" }`)
	g.put("warmer/air", "1.2")
	g.put("colder/air", "0.2")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		running := func() (all []string) {
			for _, name := range []string{"warmer/east", "warmer/west", "colder/east", "colder/west"} {
				if g.holds(name) == "1" {
					all = append(all, name)
				}
			}
			return all
		}
		pass(time.Second)
		for range 60 {
			if on := running(); len(on) > 1 {
				t.Fatalf("%v run together on 400 W", on)
			}
			pass(10 * time.Second)
		}
		if on := running(); !slices.Equal(on, []string{"colder/east"}) {
			t.Errorf("after ten minutes %v run, want a fan of the colder house", on)
		}
		warmer := f.Snapshots()[0]
		if !warmer.Decision.Alarms.FrostNoHelp || !strings.Contains(warmer.Sentence, "only 0 W of its 300 W are free") {
			t.Errorf("of the warmer is told: %s", warmer.Sentence)
		}
		g.put("colder/air", "9.0") // it needs its fan no more
		for range 60 {
			if on := running(); len(on) > 1 {
				t.Fatalf("%v run together on 400 W", on)
			}
			pass(10 * time.Second)
		}
		if on := running(); !slices.Equal(on, []string{"warmer/east"}) {
			t.Errorf("with the colder one served %v run, want a fan of the warmer house", on)
		}
		must(t, f.Reload(g.edit(`max_power = "400 W"`, `max_power = "1300 W"`)))
		g.put("colder/air", "0.5")
		pass(time.Hour)
		if on := running(); len(on) != 4 {
			t.Errorf("with 1300 W %v run, want all four", on)
		}
		must(t, f.end())
	})
}

// TestStartsOfTheBoardAreStaggered has three houses wake to frost.
func TestStartsOfTheBoardAreStaggered(t *testing.T) {
	names := []string{"lower", "middle", "upper"}
	g := stake(t, "10 s", names...)
	for i, name := range names {
		g.put(name+"/air", []string{"1.2", "0.2", "0.8"}[i])
	}
	synctest.Test(t, func(t *testing.T) {
		var s *starts
		f := g.run(t, func(c *Controller) { s = watchStarts(c) })
		pass(3 * time.Minute)
		turns := s.turns()
		if len(turns) != 6 {
			t.Fatalf("the fans took over %v, want six starts", turns)
		}
		for i, turn := range turns {
			if turn.stage != 1 {
				t.Errorf("%s was put off", turn.fan)
			}
			if i == 0 {
				continue
			}
			if gap := turn.time.Sub(turns[i-1].time); gap < 10*time.Second || gap > 12*time.Second {
				t.Errorf("%s started %v after %s, want 10 s, and 2 s at most until it is noticed", turn.fan, gap, turns[i-1].fan)
			}
		}
		var first []string // fan of each house
		for _, turn := range turns {
			if house, _, found := strings.Cut(turn.fan, "/beds/east"); found {
				first = append(first, house)
			}
		}
		if !slices.Equal(first, []string{"middle", "upper", "lower"}) {
			t.Errorf("the houses came in the order %v, want the coldest first", first)
		}
		must(t, f.end())
	})
}
