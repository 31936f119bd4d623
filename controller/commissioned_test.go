package controller

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/commission"
	"loambank/controller/decide"
)

// metered gives every fan of a farm a power meter, which shows nothing.
func (g *ground) metered() {
	g.t.Helper()
	for _, fan := range []string{"east", "west"} {
		g.put("lower/"+fan+"-power", "0")
	}
	dir := g.dir + "/lower"
	g.edit(`path = "`+dir+`/deep" }`, `path = "`+dir+`/deep" },
    { role = "fan-power", name = "east-power", fan = "east", driver = "file", path = "`+dir+`/east-power" },
    { role = "fan-power", name = "west-power", fan = "west", driver = "file", path = "`+dir+`/west-power" }`)
}

// stakeMetered is a farm that keeps what it does, its fans at rest in mild air and each with a power meter.
func stakeMetered(t *testing.T) *ground {
	t.Helper()
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "12.0")
	g.keep()
	g.metered()
	return g
}

// madeRound is a complete one, made at a time: east drew 300 W.
func madeRound(at time.Time) *commission.Baseline {
	watts := 300.0
	return &commission.Baseline{
		Schema: 1, House: "lower", Begun: at.Add(-time.Hour), Finished: at,
		Fans: []commission.FanResult{{Store: "beds", Fan: "east", Stage: 1, Full: true, Verdict: commission.Passed, PowerW: &watts}},
	}
}

// TestAFanThatStraysIsWarnedOf after an hour of running with 0.7 of the power it was commissioned with,
// also when the program starts anew meanwhile.
func TestAFanThatStraysIsWarnedOf(t *testing.T) {
	g := stakeMetered(t)
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		standing := func() Commissioned { return f.Snapshots()[0].Commissioned }
		pass(15 * time.Second)
		if c := standing(); !c.Kept || c.Whole != nil {
			t.Fatalf("before the first round it stands at %+v", c)
		}
		must(t, f.KeepBaseline(madeRound(from), grower))
		run := func(d time.Duration, watts string) {
			g.put("lower/east-power", watts)
			must(t, f.OrderOne("lower", "beds", "east", decide.Order{Kind: decide.OrderRun, ForS: d.Seconds()}, grower))
			pass(d)
		}
		run(40*time.Minute, "210")
		if c := standing(); len(c.Strays) != 0 || c.Due {
			t.Errorf("after 40 min it stands at %+v", c)
		}
		must(t, f.end())
		g.later(time.Hour)
		f = g.run(t, nil)
		pass(15 * time.Second)
		if c := standing(); c.Whole == nil || c.Whole.By != grower.Name || len(c.Strays) != 0 {
			t.Fatalf("after a restart it stands at %+v", c)
		}
		run(30*time.Minute, "210")
		want := commission.Comparison{Store: "beds", Fan: "east", What: commission.Power, Was: 300, Is: 210}
		if c := standing(); len(c.Strays) != 1 || c.Strays[0].Fan != want.Fan || c.Strays[0].Was != want.Was || c.Strays[0].Is > 215 {
			t.Errorf("after 70 min of running it stands at %+v, want %+v", c, want)
		}
		if n := f.log.with("fan strays from its baseline", "fan=east", "look for water, roots, nests, collapsed pipe, clogged screen"); n != 1 {
			t.Errorf("it was logged %d times, want once", n)
		}
		run(time.Hour, "300")
		if c := standing(); len(c.Strays) != 0 {
			t.Errorf("with its power back it stands at %+v", c)
		}
		if n := f.log.with("fan is as its baseline again", "fan=east"); n != 1 {
			t.Errorf("its return was logged %d times, want once", n)
		}
		must(t, f.end())
	})
}

// TestANewRoundBeginsTheWatchAnew: what was seen was held against another baseline.
func TestANewRoundBeginsTheWatchAnew(t *testing.T) {
	g := stakeMetered(t)
	g.put("lower/east-power", "210")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Second)
		must(t, f.KeepBaseline(madeRound(from), grower))
		must(t, f.OrderOne("lower", "beds", "east", decide.Order{Kind: decide.OrderRun, ForS: 9000}, grower))
		pass(40 * time.Minute)
		must(t, f.KeepBaseline(madeRound(from.Add(30*time.Minute)), grower))
		pass(40 * time.Minute)
		if c := f.Snapshots()[0].Commissioned; len(c.Strays) != 0 {
			t.Errorf("40 min after a new round it stands at %+v", c)
		}
		pass(25 * time.Minute)
		if c := f.Snapshots()[0].Commissioned; len(c.Strays) != 1 {
			t.Errorf("65 min after a new round it stands at %+v", c)
		}
		must(t, f.end())
	})
}

// TestEachFanThatStraysIsLogged, also while another of its store does so already.
func TestEachFanThatStraysIsLogged(t *testing.T) {
	g := stakeMetered(t)
	g.put("lower/east-power", "210")
	g.put("lower/west-power", "210")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Second)
		round := madeRound(from)
		west := round.Fans[0]
		west.Fan = "west"
		round.Fans = append(round.Fans, west)
		must(t, f.KeepBaseline(round, grower))
		for _, fan := range []string{"east", "west"} {
			must(t, f.OrderOne("lower", "beds", fan, decide.Order{Kind: decide.OrderRun, ForS: 4200}, grower))
			pass(70 * time.Minute)
			if n := f.log.with("fan strays from its baseline", "fan="+fan); n != 1 {
				t.Errorf("%s was logged %d times, want once", fan, n)
			}
		}
		g.put("lower/west-power", "300")
		must(t, f.OrderOne("lower", "beds", "west", decide.Order{Kind: decide.OrderRun, ForS: 4200}, grower))
		pass(70 * time.Minute)
		if east, west := f.log.with("fan is as its baseline again", "fan=east"), f.log.with("fan is as its baseline again", "fan=west"); east != 0 || west != 1 {
			t.Errorf("east is as before %d times and west %d, want 0 and 1", east, west)
		}
		must(t, f.end())
	})
}

// TestARoundIsAskedForAgainAsTheSeasonTurns, and not in the season that it was made in.
func TestARoundIsAskedForAgainAsTheSeasonTurns(t *testing.T) {
	turned := time.Date(from.Year(), time.September, 10, 0, 0, 0, 0, time.UTC)
	if turned.After(from) {
		turned = turned.AddDate(-1, 0, 0)
	}
	for _, tt := range []struct {
		name string
		made time.Time
		due  bool
	}{
		{"in the last season", turned.Add(-time.Minute), true},
		{"in this one", turned.Add(time.Minute), false},
	} {
		g := stake(t, "10 s", "lower")
		g.keep()
		synctest.Test(t, func(t *testing.T) {
			f := g.run(t, nil)
			pass(5 * time.Second)
			must(t, f.KeepBaseline(madeRound(tt.made), grower))
			pass(20 * time.Second)
			if c := f.Snapshots()[0].Commissioned; c.Due != tt.due || c.Whole == nil {
				t.Errorf("made %s it stands at %+v", tt.name, c)
			}
			must(t, f.Reload(g.s))
			pass(20 * time.Second)
			if c := f.Snapshots()[0].Commissioned; c.Due != tt.due || c.Whole == nil {
				t.Errorf("made %s it stands at %+v after a reload", tt.name, c)
			}
			must(t, f.end())
		})
	}
}

// TestRoundsThatCannotBeKept are refused with the reason.
func TestRoundsThatCannotBeKept(t *testing.T) {
	g := stake(t, "10 s", "lower")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Second)
		other := madeRound(from)
		other.House = "middle"
		if err := f.KeepBaseline(other, grower); err == nil || !strings.Contains(err.Error(), `there is no house "middle"`) {
			t.Errorf("of another house: %v", err)
		}
		if err := f.KeepBaseline(madeRound(from), grower); err == nil || !strings.Contains(err.Error(), "no state directory") {
			t.Errorf("without a state directory: %v", err)
		}
		if c := f.Snapshots()[0].Commissioned; c.Kept || c.Whole != nil {
			t.Errorf("it stands at %+v", c)
		}
		must(t, f.end())
	})
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Second)
		bad := madeRound(from)
		bad.Schema = 2
		if err := f.KeepBaseline(bad, grower); err == nil || !strings.Contains(err.Error(), "schema 2") {
			t.Errorf("of another schema: %v", err)
		}
		half := madeRound(from)
		half.Finished = time.Time{}
		// What the next tick shows as whole, and what is kept as begun.
		standing := func() (whole, begun *commission.Baseline) {
			pass(20 * time.Second)
			_, begun, err := f.Baselines("lower")
			must(t, err)
			return f.Snapshots()[0].Commissioned.Whole, begun
		}
		must(t, f.KeepBaseline(half, grower))
		if whole, begun := standing(); whole != nil || begun == nil {
			t.Errorf("half a round stands at %+v, %+v", whole, begun)
		}
		must(t, f.KeepBaseline(madeRound(from), grower))
		if whole, begun := standing(); whole == nil || begun != nil {
			t.Errorf("the whole round stands at %+v, %+v", whole, begun)
		}
		must(t, f.end())
	})
}

// TestALookShowsTheHouseAsItIs with a fan run alone, a probe gone and smoke.
func TestALookShowsTheHouseAsItIs(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "12.0")
	g.metered()
	g.contact("smoke")
	g.put("lower/east-power", "280")
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Second)
		must(t, f.OrderOne("lower", "beds", "east", decide.Order{Kind: decide.OrderRun, ForS: 600}, grower))
		g.remove("lower/deep")
		pass(25 * time.Second)
		l := f.Snapshots()[0].Look
		fans := l.Stores[0].Fans
		if fans[0].Stage != 1 || fans[1].Stage != 0 || !fans[0].Obeys || fans[0].PowerW == nil || *fans[0].PowerW != 280 || fans[0].StatedW != 300 ||
			!strings.Contains(l.Stores[0].Why, "run by hand") || l.Smoke || l.Frost || l.TickS != 10 {
			t.Errorf("the look is %+v", l)
		}
		i := slices.IndexFunc(l.Probes, func(p commission.ProbeLook) bool { return p.Name == "deep" })
		if p := l.Probes[i]; p.Store != "beds" || p.AgeS < 20 || p.AgeS > 40 {
			t.Errorf("the probe that is gone is %+v", p)
		}
		g.put("lower/smoke", "1")
		pass(15 * time.Second)
		l = f.Snapshots()[0].Look
		if !l.Smoke || l.Stores[0].Fans[0].Stage != 0 || !strings.Contains(l.Stores[0].Why, "smoke") {
			t.Errorf("in smoke the look is %+v", l)
		}
		must(t, f.end())
	})
}

// TestALookTellsOfFrost, in which no round is made.
func TestALookTellsOfFrost(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.put("lower/air", "1.0") // under its limit of 1.5 °C, over soil of 12 °C
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(15 * time.Second)
		if s := f.Snapshots()[0]; !s.Look.Frost || s.Decision.Stores[0].State != decide.Frost {
			t.Errorf("the look is %+v", s.Look)
		}
		must(t, f.Order("lower", "", decide.Order{Kind: decide.OrderOff, ForS: 60}, grower))
		pass(15 * time.Second)
		if s := f.Snapshots()[0]; !s.Look.Frost || s.Decision.Stores[0].State != decide.Hand {
			t.Errorf("with fans kept off the look is %+v", s.Look)
		}
		must(t, f.end())
	})
}

// TestARoundIsSeenAsSoonAsItIsKept, also before the house ticks again: whoever made it asks for it at once.
func TestARoundIsSeenAsSoonAsItIsKept(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Second)
		half := madeRound(from)
		half.Finished = time.Time{}
		must(t, f.KeepBaseline(half, grower))
		if whole, begun, err := f.Baselines("lower"); err != nil || whole != nil || begun == nil || !begun.Begun.Equal(half.Begun) {
			t.Errorf("half a round is kept as %+v and %+v, %v", whole, begun, err)
		}
		must(t, f.KeepBaseline(madeRound(from), grower))
		if whole, begun, err := f.Baselines("lower"); err != nil || whole == nil || begun != nil || !whole.Finished.Equal(from) {
			t.Errorf("a whole round is kept as %+v and %+v, %v", whole, begun, err)
		}
		if _, _, err := f.Baselines("middle"); err == nil || !strings.Contains(err.Error(), `there is no house "middle"`) {
			t.Errorf("of another house: %v", err)
		}
		must(t, f.end())
	})
}

// TestABaselineThatCannotBeReadIsNamed as the farm starts, and costs it nothing.
func TestABaselineThatCannotBeReadIsNamed(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.keep()
	synctest.Test(t, func(t *testing.T) {
		f := g.run(t, nil)
		pass(5 * time.Second)
		must(t, f.KeepBaseline(madeRound(from), grower))
		must(t, f.end())
		if n := f.log.with("a baseline cannot be read"); n != 0 {
			t.Errorf("a sound one is called unreadable %d times", n)
		}
		files, err := filepath.Glob(filepath.Join(g.state, "commission", "*.json"))
		if err != nil || len(files) != 1 {
			t.Fatalf("there are %q, %v", files, err)
		}
		must(t, os.WriteFile(files[0], []byte("{"), 0o600))
		f = g.run(t, nil)
		pass(15 * time.Second)
		if n := f.log.with("level=ERROR", "a baseline cannot be read and is passed over", files[0]); n != 1 {
			t.Errorf("it was named %d times, want once", n)
		}
		if c := f.Snapshots()[0].Commissioned; c.Whole != nil || !c.Kept {
			t.Errorf("the house stands at %+v", c)
		}
		must(t, f.end())
	})
}
