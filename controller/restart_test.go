package controller

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// kept is what a state directory holds.
func (g *ground) kept() *ledger.Checkpoint {
	g.t.Helper()
	c, notes, err := ledger.Load(g.state)
	if err != nil || len(notes.Refused) > 0 {
		g.t.Fatalf("the state directory: %v, %+v", err, notes)
	}
	return c
}

// account is what the state directory holds of a house.
func (g *ground) account(house string) *ledger.House {
	g.t.Helper()
	for _, e := range g.kept().Houses {
		if e.Account.Name == house {
			return &e.Account
		}
	}
	g.t.Fatalf("nothing is kept of house %s", house)
	return nil
}

// later makes the next run start that long after from.
func (g *ground) later(d time.Duration) { g.clock = Scaled(1, from.Add(d)) }

// TestWhatAFarmDidSurvivesARestart stops a farm after a while of running and starts it again.
func TestWhatAFarmDidSurvivesARestart(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(20*time.Minute + 5*time.Second) // between two ticks
		if err := f.end(); err != nil {
			t.Fatal(err)
		}
		before := g.account("lower")
		east := before.Stores[0].Fans[0]
		// The minimum rest is 5 min, and the stop comes 5 s after a tick.
		if east.Starts != 1 || east.RunTotalS() != 15*60+5 {
			t.Fatalf("kept is %+v, want one start and 905 s: what the last tick left open is booked", east)
		}

		g.later(21 * time.Minute)
		f = g.run(t, func(c *Controller) {
			if diff := cmp.Diff(before, c.View().Kept.Accounts["lower"]); diff != "" {
				t.Errorf("before the first tick it publishes another account (-kept +published):\n%s", diff)
			}
		})
		pass(time.Second)
		if diff := cmp.Diff(before.Stores, f.View().Houses[0].Counted.Stores); diff != "" {
			t.Errorf("after the first tick it publishes another account (-kept +published):\n%s", diff)
		}
		pass(30 * time.Minute)
		now := f.View().Houses[0].Counted.Stores[0].Fans[0]
		if now.Starts != 2 || now.RunTotalS() <= east.RunTotalS() || now.EnergyKWh <= east.EnergyKWh {
			t.Errorf("half an hour later it is %+v, want it to go on from %+v", now, east)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestAHandOrderGoesOnAfterARestart gives an order for an hour and stops the farm within it: the
// time that it was down counts too.
func TestAHandOrderGoesOnAfterARestart(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(time.Second)
		if err := f.Order("lower", "beds", decide.Order{Kind: decide.OrderOff, ForS: 3600}, grower); err != nil {
			t.Fatal(err)
		}
		pass(19*time.Minute + 59*time.Second)
		if err := f.end(); err != nil {
			t.Fatal(err)
		}
		g.later(30 * time.Minute)
		f = g.run(t, nil)
		pass(time.Second)
		st := &f.Snapshots()[0].State.Stores[0]
		if st.Order != decide.OrderOff || st.OrderLeftS < 30*60-10 || st.OrderLeftS > 30*60+10 {
			t.Errorf("the order is %v for %v s more, want off for half an hour, give or take a tick", st.Order, st.OrderLeftS)
		}
		pass(29 * time.Minute)
		if g.holds("lower/east") != "0" {
			t.Error("the fan runs against the order")
		}
		pass(2 * time.Minute)
		if g.holds("lower/east") != "1" {
			t.Errorf("the fan stands after the order: %s", f.Snapshots()[0].Sentence)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
}

// TestStartsPerHourSurviveARestart has a farm that starts anew with every start of its fans.
func TestStartsPerHourSurviveARestart(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.edit(`min_rest = "5 min"`, `min_rest = "1 min"`)
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		for range 6 {
			g.later(time.Since(began))
			f := g.run(t, nil)
			pass(5 * time.Minute)
			if err := f.end(); err != nil {
				t.Fatal(err)
			}
		}
		// Four starts an hour are one each 15 min: at 1 min and at 16 min.
		if n := g.account("lower").Stores[0].Fans[0].Starts; n != 2 {
			t.Errorf("%d starts in half an hour, want 2: a crash loop must not hammer a relay", n)
		}
	})
}

// TestSmokeStaysLatchedOverARestart has smoke that is gone when the farm starts again.
func TestSmokeStaysLatchedOverARestart(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.contact("smoke")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(6 * time.Minute)
		g.put("lower/smoke", "1")
		pass(2 * time.Second)
		g.put("lower/smoke", "0")
		if err := f.end(); err != nil {
			t.Fatal(err)
		}
		g.later(24 * time.Hour)
		f = g.run(t, nil)
		pass(time.Hour)
		if s := f.Snapshots()[0]; !s.State.Smoke || s.Decision.Stores[0].State != decide.Hold || g.holds("lower/east") != "0" {
			t.Errorf("a day later the store is in %v, its fan holds %s; want it held", s.Decision.Stores[0].State, g.holds("lower/east"))
		}
		if err := f.ClearFault("lower", grower); err != nil {
			t.Fatal(err)
		}
		pass(11 * time.Second)
		if s := f.Snapshots()[0]; s.State.Smoke || g.holds("lower/east") != "1" {
			t.Errorf("cleared, the fan holds %s: %s", g.holds("lower/east"), s.Sentence)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
		if state := string(g.kept().Houses[0].State); !strings.Contains(state, `"Smoke":false`) {
			t.Errorf("kept is %s", state)
		}
	})
}
