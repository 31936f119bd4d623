package controller

import (
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/decide"
)

// TestAHouseWhoseEveryTickBreaksOff takes the account of a house away for a while, without which no
// tick ends, with readings or without.
func TestAHouseWhoseEveryTickBreaksOff(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "1.0") // frost: it wants its fans whatever it forgot
	synctest.Test(t, func(t *testing.T) {
		var log lines
		c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from), Log: slog.New(slog.NewTextHandler(&log, nil))})
		must(t, err)
		r := c.houses()[0]
		ticks := func(n int) {
			for range n {
				time.Sleep(10 * time.Second)
				if again := r.survive(t.Context(), false); again > 10*time.Second || again < time.Second {
					t.Fatalf("the next tick is in %v", again)
				}
			}
		}
		ticks(6)
		if g.holds("lower/east") != "1" {
			t.Fatal("the fan does not run")
		}
		account := r.account
		r.account = nil
		ticks(1)
		if g.holds("lower/east") != "0" || g.holds("lower/west") != "0" {
			t.Errorf("after the mistake the fans hold %s and %s", g.holds("lower/east"), g.holds("lower/west"))
		}
		ticks(60)
		if n := log.with("tick broke off"); n != 4 || r.mended.count != 61 {
			t.Errorf("61 ticks broke off, %d are counted; %d lines say so, want one with readings and one without, each five minutes", r.mended.count, n)
		}
		r.account = account
		ticks(1)
		if d := &r.snapshot.Load().Decision.Stores[0]; r.snapshot.Load().Inputs.CropAir.Quality.Usable() {
			t.Errorf("in the tick after it reads the air, and does %v", d.State)
		}
		ticks(31) // it is blind for 5 min
		if d := &r.snapshot.Load().Decision.Stores[0]; d.State != decide.Frost || g.holds("lower/east") != "1" {
			t.Errorf("seeing again it is in %v, the fan holds %s", d.State, g.holds("lower/east"))
		}
		must(t, r.close())
	})
}

// TestAMistakeFreesTheLine has a house break off that drew all of the farm's power.
func TestAMistakeFreesTheLine(t *testing.T) {
	g := stake(t, "10 s", "lower", "upper")
	g.edit(`elevation = "150 m" }`, `elevation = "150 m", max_power = "400 W" }`)
	g.put("lower/air", "1.0")
	g.put("upper/air", "1.2")
	synctest.Test(t, func(t *testing.T) {
		c, err := New(t.Context(), g.s, Options{Clock: Scaled(1, from)})
		must(t, err)
		lower, upper := c.houses()[0], c.houses()[1]
		ticks := func(n int) {
			for range n {
				time.Sleep(10 * time.Second)
				lower.survive(t.Context(), false)
				upper.survive(t.Context(), false)
			}
		}
		ticks(6)
		if g.holds("lower/east") != "1" || g.holds("upper/east") != "0" {
			t.Fatal("the colder house does not run, or both do")
		}
		lower.account = nil
		ticks(6)
		if g.holds("lower/east") != "0" || g.holds("upper/east") != "1" {
			t.Errorf("with one house broken off the fans hold %s and %s, want the other served", g.holds("lower/east"), g.holds("upper/east"))
		}
		must(t, lower.close())
		must(t, upper.close())
	})
}
