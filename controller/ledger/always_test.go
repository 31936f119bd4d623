package ledger_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// TestNoCounterFallsWhateverHappens runs a house through saves, kills at every step of a save,
// damage, changed settings and restarts. What a reader was shown is what was last saved without
// error; no counter of it may ever be lower later, except that damage to the last file falls back
// to the checkpoint before it, exactly.
func TestNoCounterFallsWhateverHappens(t *testing.T) {
	root := t.TempDir()
	settings := []*decide.Settings{two(), layout(store("path", "middle", "east"), store("beds", "west")), layout(store("bench", "north"))}
	met := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(root, "")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(dir)
		f, _, _ := open(t, dir)
		s := settings[0]
		account := ledger.New("lower", s)
		unix := fair.Unix()
		var shown, before map[string]float64 // of the last checkpoint and the one before it
		restart := func(least map[string]float64) {
			var c *ledger.Checkpoint
			f, c, _ = open(t, dir)
			var last *ledger.House
			if len(c.Houses) > 0 {
				last = &c.Houses[0].Account
			}
			account = ledger.Adopt(last, "lower", s)
			now := byFan(account)
			for name, v := range least {
				if now[name] < v {
					t.Fatalf("%s is %v after a start, it was %v", name, now[name], v)
				}
			}
		}
		written := func() ledger.Checkpoint {
			unix++
			return ledger.Checkpoint{Unix: unix, Believed: true, Houses: []ledger.Entry{{Account: *account, State: json.RawMessage("{}")}}}
		}
		for range rapid.IntRange(1, 25).Draw(t, "steps") {
			what := rapid.SampledFrom([]string{"run", "run", "save", "save", "kill", "half saved", "linked", "damage", "reload"}).Draw(t, "what")
			met[what]++
			switch what {
			case "run":
				d := does(0, decide.Charge, 1, 1)
				d.Stores[0].HeatW = 2000
				account.Add(s, unseen, d, rapid.Float64Range(0, 1e4).Draw(t, "s"))
			case "save":
				save(t, f, written())
				before, shown = shown, byFan(account)
			case "kill": // what was not saved is lost, and was never shown
				restart(shown)
			case "half saved":
				if data, err := os.ReadFile(filepath.Join(dir, "ledger")); err == nil {
					put(t, dir, ".ledger99", data[:rapid.IntRange(0, len(data)).Draw(t, "cut")])
				}
				restart(shown)
			case "linked":
				os.Remove(filepath.Join(dir, ".ledger.link"))
				if err := os.Link(filepath.Join(dir, "ledger"), filepath.Join(dir, ".ledger.link")); err == nil {
					before = shown
					if err := os.Rename(filepath.Join(dir, ".ledger.link"), filepath.Join(dir, "ledger.previous")); err != nil {
						t.Fatal(err)
					}
				}
				restart(shown)
			case "damage":
				data, err := os.ReadFile(filepath.Join(dir, "ledger"))
				if before == nil || err != nil {
					continue
				}
				at := rapid.IntRange(0, len(data)-1).Draw(t, "at")
				if err := os.Remove(filepath.Join(dir, "ledger")); err != nil {
					t.Fatal(err)
				}
				data[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
				put(t, dir, "ledger", data)
				restart(before)
				shown, before = before, nil
			case "reload":
				s = rapid.SampledFrom(settings).Draw(t, "settings")
				was := byFan(account)
				account = ledger.Adopt(account, "lower", s)
				for name, v := range byFan(account) {
					if v < was[name] {
						t.Fatalf("%s fell from %v to %v with new settings", name, was[name], v)
					}
				}
			}
		}
	})
	for _, what := range []string{"save", "kill", "half saved", "linked", "damage", "reload"} {
		if met[what] == 0 {
			t.Errorf("%s never came: too tame to prove anything", what)
		}
	}
}
