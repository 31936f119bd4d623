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
    { name = "east", driver = "relay", pin = "gpiochip0:1", active = "low", power = "300 W", flow = "2800 m³/h" },
    { name = "west", driver = "relay", pin = "gpiochip0:2", active = "high", power = "300 W", flow = "2800 m³/h" },
  ]
`

// Who holds line 1 (active low) and line 2 (active high), and how they stand.
const (
	east, west       = 1, 2
	eastOff, westOff = "loambank out hi", "loambank out lo"
	eastOn, westOn   = "loambank out lo", "loambank out hi"
)

// boardStory is one cold night on the board. Each step has the answer it wants.
var boardStory = []struct{ step, want string }{
	// The house is warm enough: the daemon takes its lines and leaves the fans off.
	{"write /run/soil 14", "done"},
	{"write /run/air 5.6", "done"},
	{"line 1", "free in lo"},
	{"line 2", "free in lo"},
	{"mark start", "done"},
	{"start daemon /loambank run --config /farm.toml", "done"},
	{"until 20 line 1 = " + eastOff, eastOff},
	{"until 20 line 2 = " + westOff, westOff},
	{"until 20 get http://127.0.0.1:9798/metrics loambank_probe_up = " + probesUp, probesUp},
	// The board came up in 1970. The daemon says so and runs all the same.
	{"get http://127.0.0.1:9798/metrics loambank_clock_believed", "loambank_clock_believed 0"},
	{"pause 1.5", "done"},
	{"line 1", eastOff},
	{"line 2", westOff},

	// It becomes cold: the store gives heat.
	{"mark cold", "done"},
	{"write /run/air 4.4", "done"},
	{"until 20 line 1 = " + eastOn, eastOn},
	{"until 20 line 2 = " + westOn, westOn},

	// While it runs, nobody else gets its farm or its lines.
	{"mark second", "done"},
	{"start second LOAMBANK_LISTEN=127.0.0.1:9799 /loambank run --config /farm.toml", "done"},
	{"end second", "exit 69"},
	{"start early /loambank safe --config /farm.toml", "done"},
	{"end early", "exit 69"},
	{"output early line gpiochip0:1 is taken by loambank itself", "yes"},
	{"output early line gpiochip0:2 is taken by loambank itself", "yes"},
	{"line 1", eastOn},
	{"line 2", westOn},

	// Told to stop, it leaves both fans off.
	{"mark stop", "done"},
	{"signal daemon TERM", "done"},
	{"end daemon", "exit 0"},
	{"line 1", "free out hi"},
	{"line 2", "free out lo"},

	// It starts into the cold.
	{"mark again", "done"},
	{"start again /loambank run --config /farm.toml", "done"},
	{"until 20 line 1 = " + eastOn, eastOn},
	{"until 20 line 2 = " + westOn, westOn},

	// Killed, it cannot put its fans off: both stay on.
	{"mark kill", "done"},
	{"signal again KILL", "done"},
	{"end again", "killed"},
	{"pause 1.5", "done"},
	{"line 1", "free out lo"},
	{"line 2", "free out hi"},

	// Which is what safe is for.
	{"mark safe", "done"},
	{"start safe /loambank safe --config /farm.toml", "done"},
	{"end safe", "exit 0"},
	{"output safe 2 fans off", "yes"},
	{"line 1", "free out hi"},
	{"line 2", "free out lo"},
	{"mark end", "done"},
}

const probesUp = `loambank_probe_up{house="lower",probe="air crop",store=""} 1; ` +
	`loambank_probe_up{house="lower",probe="soil between 45 cm",store="beds"} 1`

// TestOnAKernel runs the daemon as it is shipped on the GPIO lines of an emulated board, and reads
// in the kernel's own trace what it did to them. The trace is of what the kernel was asked for:
// what a chip makes of it in the microseconds after, and any wiring, only a real board shows.
func TestOnAKernel(t *testing.T) {
	image := kernelImage(t)
	var steps []string
	for _, s := range boardStory {
		steps = append(steps, s.step)
	}
	b := newBoard(t, image, map[string]string{"farm.toml": boardFarm}, steps)
	for i, s := range boardStory {
		if i >= len(b.answers) {
			t.Fatalf("no answer to step %q", s.step)
		}
		if b.answers[i] != s.want {
			t.Errorf("step %q: %s\nwant %s", s.step, b.answers[i], s.want)
		}
	}
	for _, c := range []struct {
		phase   string
		want    string // each order once as long as it is repeated
		claimed int    // how often the line was made an output
	}{
		{"", "", 0},
		{"start", "off", 1},
		{"cold", "on", 0},
		{"second", "", 0},
		{"stop", "off", 0},
		{"again", "off on", 1},
		{"kill", "", 0},
		{"safe", "off", 1},
		{"end", "", 0},
	} {
		for number, levels := range map[int][2]string{east: {"on", "off"}, west: {"off", "on"}} {
			o := ordersOf(b, c.phase, number)
			var words []string
			for _, level := range o.levels {
				words = append(words, levels[level])
			}
			if got := strings.Join(slices.Compact(words), " "); got != c.want {
				t.Errorf("phase %q: line %d was put %q, want %q", c.phase, number, got, c.want)
			}
			if want := slices.Repeat([]string{"out (0)"}, c.claimed); !slices.Equal(o.directions, want) {
				t.Errorf("phase %q: line %d was turned %q, want %q", c.phase, number, o.directions, want)
			}
			if c.phase == "stop" && o.lastS > 2 {
				t.Errorf("line %d was off %.2f s after the daemon was told to stop, want 2 s at most", number, o.lastS)
			}
		}
	}
	if t.Failed() {
		t.Logf("programs:\n%s\ntrace:", b.output)
		for _, e := range b.trace {
			t.Logf("%10.6f %-12s %s %s", e.seconds, e.by, e.kind, e.what)
		}
	}
}

// orders is what the kernel was asked for on one line in one phase.
type orders struct {
	levels     []int    // as put on the wire
	directions []string // "in (0)", "out (0)"; the number is the chip's error
	lastS      float64  // when the last level was put, after the phase began
}

func ordersOf(b *board, phase string, number int) (o orders) {
	now, beganS := "", 0.0
	line := fmt.Sprintf("%d ", b.base+number)
	for _, e := range b.trace {
		if mark, ok := strings.CutPrefix(e.what, "mark "); ok && e.kind == "tracing_mark_write" {
			now, beganS = mark, e.seconds
			continue
		}
		what, ours := strings.CutPrefix(e.what, line)
		if now != phase || !ours {
			continue
		}
		switch level, set := strings.CutPrefix(what, "set "); {
		case e.kind == "gpio_direction":
			o.directions = append(o.directions, strings.Join(strings.Fields(what), " "))
		case set:
			o.levels = append(o.levels, int(level[0]-'0'))
			o.lastS = e.seconds - beganS
		}
	}
	return o
}
