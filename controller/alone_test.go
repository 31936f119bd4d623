package controller

import (
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
)

// TestOneFanRunsAloneUntilItsTimeIsOver orders a fan alone in a house that is warm enough to rest.
func TestOneFanRunsAloneUntilItsTimeIsOver(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "12.0")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		runs := func(what, east, west string) {
			t.Helper()
			if e, w := g.holds("lower/east"), g.holds("lower/west"); e != east || w != west {
				t.Errorf("%s: east holds %s and west %s, want %s and %s", what, e, w, east, west)
			}
		}
		pass(15 * time.Second)
		must(t, f.OrderOne("lower", "beds", "west", decide.Order{Kind: decide.OrderRun, ForS: 60}, grower))
		pass(20 * time.Second)
		runs("west alone", "0", "1")
		pass(time.Minute)
		runs("its time is over", "0", "0")
		must(t, f.end())
	})
}

// TestAnOrderForOneFanSurvivesAReload gives the order while the settings change: the fan stands at
// another place then, or is gone.
func TestAnOrderForOneFanSurvivesAReload(t *testing.T) {
	for _, fan := range []string{"east", "west"} {
		g := stake(t, "10 s", "lower")
		g.put("lower/air", "12.0")
		synctest.Test(t, func(t *testing.T) {
			f := g.run(t, nil)
			pass(15 * time.Second)
			r := f.houses()[0]
			order := decide.Order{Kind: decide.OrderRun, Fan: 2, ForS: 60}
			if fan == "east" {
				order.Fan = 1
			}
			now := *r.s
			now.House.Decide.Stores = []decide.Store{now.House.Decide.Stores[0]}
			now.House.Decide.Stores[0].Fans = now.House.Decide.Stores[0].Fans[1:]
			heir := &runner{s: &now, inbox: inbox{called: make(chan struct{}, 1)}}
			r.inbox.order(0, order, "beds", grower)
			heir.inherit(r)
			got := heir.inbox.orders[0]
			if fan == "east" && got.Kind != decide.NoOrder {
				t.Errorf("the fan is gone, and its order is %v for fan %d", got, got.Fan)
			}
			if fan == "west" && (got.Kind != decide.OrderRun || got.Fan != 1) {
				t.Errorf("west stands first now, and its order is %v for fan %d", got, got.Fan)
			}
			must(t, f.end())
		})
	}
}
