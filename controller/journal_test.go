package controller

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/replay"
)

// inMemory is a folder for many checkpoints, in memory where the machine has that.
func inMemory(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "loambank")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// TestASeasonsJournalReplaysToTheBit runs two houses through 36 days of an accelerated autumn,
// one of them simulated, with restarts, reloads, orders by hand, a probe that comes and goes and a
// fan that does not obey. Each decision of the 30 days that the
// journal keeps must come out again.
func TestASeasonsJournalReplaysToTheBit(t *testing.T) {
	g := stake(t, "1 min", "lower", "upper")
	g.state = inMemory(t)
	asModel := strings.NewReplacer(
		`driver = "file", path = "`+g.dir+`/upper/air"`, `driver = "model"`, `driver = "file", path = "`+g.dir+`/upper/deep"`,
		`driver = "model" }, { role = "duct-out", driver = "model"`, // which teaches the exchange
		`driver = "file", path = "`+g.dir+`/upper/east"`, `driver = "model"`, `driver = "file", path = "`+g.dir+`/upper/west"`, `driver = "model"`,
	)
	settings := func(setpoint string) *config.Settings {
		text := strings.ReplaceAll(asModel.Replace(string(g.s.Source)), `setpoint = "6 °C"`, fmt.Sprintf("setpoint = %q", setpoint))
		s, err := config.Parse("farm.toml", []byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	const days, speed = 36, 600
	hours := func(h float64) { pass(time.Duration(h * float64(time.Hour) / speed)) }
	synctest.Test(t, func(t *testing.T) {
		g.s = settings("6 °C")
		g.clock = Scaled(speed, from)
		f := g.run(t, nil)
		for day := range days {
			hours(6)
			g.put("lower/air", fmt.Sprintf("%.2f", 3+float64(day%9)))
			switch day % 6 {
			case 1:
				order := decide.Order{Kind: decide.OrderRun, ForS: 1800}
				if day%4 == 1 {
					order = decide.Order{Kind: decide.OrderOff, ForS: 7200}
				}
				if err := f.Order("upper", "", order, grower); err != nil {
					t.Fatal(err)
				}
			case 2:
				g.remove("lower/air")
			case 3:
				if err := f.Reload(settings(fmt.Sprintf("%d °C", 5+day%4))); err != nil {
					t.Fatal(err)
				}
			case 4:
				if err := f.end(); err != nil {
					t.Fatal(err)
				}
				hours(0.6)
				f = g.run(t, nil)
			case 5:
				if err := f.ClearFault("lower", grower); err != nil {
					t.Fatal(err)
				}
			}
			hours(18)
			if day%6 == 2 {
				g.put("lower/air", "4.5")
			}
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
		if l := f.houses()[1].house.State().Decide.Stores[0].Learned; !l.Known() {
			t.Errorf("the upper house decides by %+v after %d days: no replay of what was learned is proved", l, days)
		}
	})
	r, err := history.OpenReader(g.state)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for _, name := range []string{"lower", "upper"} {
		sum, err := replay.CompareJournal(r, name, time.Time{}, time.Unix(1<<40, 0))
		if err != nil {
			t.Fatal(err)
		}
		if sum.Differ != 0 {
			t.Errorf("%s: %d of %d ticks differ, the first at %v", name, sum.Differ, sum.Ticks, sum.Differences[0].Time)
		}
		if sum.Ticks < 25*24*60 || sum.Gaps > 0 {
			t.Errorf("%s: only %+v were replayed of a month", name, sum)
		}
	}
	t.Run("what is reported is what the ledger counted", func(t *testing.T) { reportAgrees(t, r, g) })
	t.Run("its recording replays", func(t *testing.T) { recordingReplays(t, r, g) })
	hands := 0
	for n, err := range r.Notes(time.Time{}, time.Unix(1<<40, 0)) {
		if err != nil {
			t.Fatal(err)
		}
		if n.Kind == history.HandNote && n.UID == grower.UID && n.User == grower.Name && n.House != "" {
			hands++
		}
	}
	if hands != 2*days/6 {
		t.Errorf("%d orders by hand are in the journal, want %d", hands, 2*days/6)
	}
}
