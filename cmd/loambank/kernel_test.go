package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// The farm of the board has two fans, one behind a relay board that switches on at the low level
// and one behind a relay that does so at the high level. Its probes are files.
const boardFarm = `
zone      = "America/New_York"
tick      = "1 s"
listen    = "127.0.0.1:9798"
state_dir = "/run/loambank"
site      = { latitude = 43.1, longitude = -75.2, elevation = "150 m" }
season    = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }

[[house]]
name     = "lower"
crop     = "lettuce"
setpoint = "5 °C"
frost    = "1 °C"
fallback = "night"
stagger  = "0 s"
heater   = { setpoint = "3 °C" }
probe    = [ { role = "air", place = "crop", driver = "file", path = "/run/air" } ]

  [[house.store]]
  name            = "beds"
  min_run         = "1 s"
  min_rest        = "1 s"
  starts_per_hour = 0
  probe = [ { role = "soil", place = "between", depth = "45 cm", driver = "file", path = "/run/soil" } ]
  fan = [
    { name = "east", driver = "relay", pin = "gpiochip0:1", active = "low", power = "300 W", flow = "2800 m³/h", flow_is = "measured" },
    { name = "west", driver = "relay", pin = "gpiochip0:2", active = "high", power = "300 W", flow = "2800 m³/h", flow_is = "measured" },
  ]
`

// Who holds line 1 (active low) and line 2 (active high), and how they stand; what the farm does.
const (
	eastOff, westOff = "loambank out hi", "loambank out lo"
	eastOn, westOn   = "loambank out lo", "loambank out hi"

	resting = `loambank_state{house="lower",state="rest",store="beds"} 1`
)

// boardStory is one cold night on the board. Each step has the answer it wants.
var boardStory = []step{
	// The house is warm enough: the daemon takes its lines and leaves the fans off.
	{"write /run/soil 14", "done"},
	{"write /run/air 5.6", "done"},
	{"mark start", "done"},
	{"start daemon /loambank run --config /farm.toml", "done"},
	{"until 20 held 1 = " + eastOff, eastOff},
	{"until 20 held 2 = " + westOff, westOff},
	{`until 20 get http://127.0.0.1:9798/metrics loambank_state{house="lower",state="rest" = ` + resting, resting},
	// The board came up in 1970. The daemon says so and runs all the same.
	{"get http://127.0.0.1:9798/metrics loambank_clock_believed", "loambank_clock_believed 0"},
	{"pause 1.5", "done"},
	{"held 1", eastOff},
	{"held 2", westOff},

	// It becomes cold: the store gives heat.
	{"mark cold", "done"},
	{"write /run/air 4.4", "done"},
	{"until 20 held 1 = " + eastOn, eastOn},
	{"until 20 held 2 = " + westOn, westOn},

	// Its settings are changed while the fans run: only the one that is named otherwise is touched.
	// Settings with a fault touch nothing.
	{"mark reload", "done"},
	{"copy /renamed.toml /farm.toml", "done"},
	{"signal daemon HUP", "done"},
	{"until 20 output daemon settings reloaded = yes", "yes"},
	{"held 1", eastOn},
	{"until 20 held 2 = " + westOn, westOn},
	{"mark faulty", "done"},
	{"copy /faulty.toml /farm.toml", "done"},
	{"signal daemon HUP", "done"},
	{"until 20 output daemon settings not reloaded = yes", "yes"},
	{"copy /renamed.toml /farm.toml", "done"},

	// While it runs, nobody else gets its farm or its lines.
	{"mark second", "done"},
	{"start second LOAMBANK_LISTEN=127.0.0.1:9799 /loambank run --config /farm.toml", "done"},
	{"end second", "exit 69"},
	{"output second another loambank runs on it", "yes"},
	{"start early /loambank safe --config /farm.toml", "done"},
	{"end early", "exit 69"},
	{"output early line gpiochip0:1 is taken by loambank itself", "yes"},
	{"output early line gpiochip0:2 is taken by loambank itself", "yes"},
	{"start third LOAMBANK_LISTEN=127.0.0.1:9799 LOAMBANK_STATE_DIR=/run/third /loambank run --config /farm.toml", "done"},
	{"until 20 output third line gpiochip0:1 is taken by loambank itself = yes", "yes"},
	{"until 20 output third line gpiochip0:2 is taken by loambank itself = yes", "yes"},
	{"pause 1.5", "done"},
	{"signal third TERM", "done"},
	{"end third", "exit 0"},
	{"held 1", eastOn},
	{"held 2", westOn},

	// Told to stop, it leaves both fans off.
	{"mark stop", "done"},
	{"signal daemon TERM", "done"},
	{"end daemon", "exit 0"},
	{"free 1", "out hi"},
	{"free 2", "out lo"},

	// It starts into the cold.
	{"mark again", "done"},
	{"start again /loambank run --config /farm.toml", "done"},
	{"until 20 held 1 = " + eastOn, eastOn},
	{"until 20 held 2 = " + westOn, westOn},

	// Killed, it cannot put its fans off: both stay on.
	{"mark kill", "done"},
	{"signal again KILL", "done"},
	{"end again", "killed"},
	{"pause 1.5", "done"},
	{"free 1", "out lo"},
	{"free 2", "out hi"},

	// Which is what safe is for.
	{"mark safe", "done"},
	{"start safe /loambank safe --config /farm.toml", "done"},
	{"end safe", "exit 0"},
	{"output safe 2 fans off", "yes"},
	{"free 1", "out hi"},
	{"free 2", "out lo"},
	{"mark end", "done"},
}

// TestOnAKernel runs the daemon as it is shipped on the GPIO lines of an emulated board, and reads
// in the kernel's own trace what it did to them. The trace is of what the kernel was asked for:
// what a chip makes of it in the microseconds after, and any wiring, only a real board shows.
func TestOnAKernel(t *testing.T) {
	t.Parallel() // it waits more than it computes
	image := kernelImage(t)
	b := newBoard(t, image, map[string]string{
		"farm.toml":    boardFarm,
		"renamed.toml": strings.Replace(boardFarm, `"west"`, `"far"`, 1),
		"faulty.toml":  strings.Replace(boardFarm, "zone", "zoo", 1),
	}, boardStory)
	for _, c := range []struct {
		phase      string
		east, west string // each order once as long as it is repeated, "claim" where the line is made an output
	}{
		{"", "", ""},
		{"start", "off claim off", "off claim off"},
		{"cold", "on", "on"},
		{"reload", "", "off claim off on"},
		{"faulty", "", ""},
		{"second", "", ""},
		{"stop", "off", "off"},
		{"again", "off claim off on", "off claim off on"},
		{"kill", "", ""},
		{"safe", "off claim off", "off claim off"},
		{"end", "", ""},
	} {
		for _, line := range []struct {
			number int
			want   string
			levels map[string]string
		}{
			{1, c.east, map[string]string{"set 0": "on", "set 1": "off", "out (0)": "claim"}},
			{2, c.west, map[string]string{"set 0": "off", "set 1": "on", "out (0)": "claim"}},
		} {
			got, lastS := b.orders(c.phase, line.number, line.levels)
			if got != line.want {
				t.Errorf("phase %q: line %d was told %q, want %q", c.phase, line.number, got, line.want)
			}
			if c.phase == "stop" && lastS > 2 {
				t.Errorf("line %d was off %.2f s after the daemon was told to stop, want 2 s at most", line.number, lastS)
			}
		}
	}
	if t.Failed() {
		b.log(t)
	}
}

// log shows what the board told, for the one who looks for a fault.
func (b *board) log(t *testing.T) {
	t.Helper()
	t.Logf("programs:\n%s\ntrace:", b.output)
	for _, e := range b.trace {
		t.Logf("%10.6f %-12s %s %s", e.seconds, e.by, e.kind, e.what)
	}
}

// orders returns what the kernel was told on one line in one phase, in the test's words and each
// once as long as it is repeated, and how long after the phase began the last came. An order that
// has no word stands as the trace has it.
func (b *board) orders(phase string, number int, words map[string]string) (told string, lastS float64) {
	now, beganS := "", 0.0
	var all []string
	for _, e := range b.trace {
		if mark, ok := strings.CutPrefix(e.what, "mark "); ok && e.kind == "tracing_mark_write" {
			now, beganS = mark, e.seconds
			continue
		}
		what, ours := strings.CutPrefix(e.what, fmt.Sprintf("%d ", b.base+number))
		what = strings.Join(strings.Fields(what), " ")
		if now != phase || !ours || strings.HasPrefix(what, "get ") {
			continue
		}
		word, ok := words[what]
		if !ok {
			word = what
		}
		all = append(all, word)
		lastS = e.seconds - beganS
	}
	return strings.Join(slices.Compact(all), " "), lastS
}
