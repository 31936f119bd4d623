package controller

import (
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
)

// TestAMistakeInOneHouseCostsThatHouseAlone takes the memory of a house whose fans run away from
// it, which is a mistake no reading can make, and wants its fans off and both houses to go on.
func TestAMistakeInOneHouseCostsThatHouseAlone(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	synctest.Test(t, func(t *testing.T) {
		var log lines
		c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from), Log: slog.New(slog.NewTextHandler(&log, nil))})
		if err != nil {
			t.Fatal(err)
		}
		lower, upper := c.houses()[0], c.houses()[1]
		ticks := func(d time.Duration) {
			for range int(d / (10 * time.Second)) {
				time.Sleep(10 * time.Second)
				lower.survive(t.Context(), false)
				upper.survive(t.Context(), false)
			}
		}
		ticks(6 * time.Minute)
		if g.holds("lower/east") != "1" || g.holds("upper/east") != "1" {
			t.Fatal("the fans do not run")
		}
		before := lower.account.Stores[0].Fans[0]
		lower.house = nil
		ticks(10 * time.Second)
		if g.holds("lower/east") != "0" || g.holds("lower/west") != "0" || g.holds("upper/east") != "1" {
			t.Errorf("after the mistake the fans hold %s and %s, those of the other house %s; want 0, 0 and 1",
				g.holds("lower/east"), g.holds("lower/west"), g.holds("upper/east"))
		}
		if n := log.with("tick broke off", "house=lower", "runner.go"); n != 1 {
			t.Errorf("%d lines say where the tick of the lower house broke off, want one", n)
		}
		ticks(10 * time.Second)
		if d := &lower.snapshot.Load().Decision.Stores[0]; d.State != decide.Fallback {
			t.Errorf("after the mistake the house is in %v, want fallback", d.State)
		}
		ticks(16 * time.Minute) // its eyes come back after 5, its starts an hour let it start after 15
		if g.holds("lower/east") != "1" {
			t.Errorf("the house does not go on after its rest: %s, %+v", lower.snapshot.Load().Sentence, lower.mended)
		}
		if after := lower.account.Stores[0].Fans[0]; after.Starts != before.Starts+1 || after.RunTotalS() <= before.RunTotalS() {
			t.Errorf("its account went from %+v to %+v", before, after)
		}
		for _, r := range c.houses() {
			if err := r.close(); err != nil {
				t.Error(err)
			}
		}
	})
}
