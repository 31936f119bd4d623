package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"loambank/config"
)

// The farm of speeds has one fan of two speeds, each behind a relay that switches on at the low level;
// a meter in its supply, which gives a pulse for each kJ; and a smoke loop that is closed at rest.
var speedFarm = strings.NewReplacer(
	`path = "/run/air" } ]`, `path = "/run/air" },
             { role = "smoke", driver = "contact", pin = "gpiochip0:4", normally = "closed" } ]`,
	`path = "/run/soil" } ]`, `path = "/run/soil" },
            { role = "fan-power", driver = "pulse", pin = "gpiochip0:5", pulses_per_kwh = 3600 } ]`,
	`pin = "gpiochip0:1", active = "low", power = "300 W"`,
	`pins = ["gpiochip0:1", "gpiochip0:2"], levels = ["50 %", "100 %"], active = "low", power = "600 W"`,
	`    { name = "west", driver = "relay", pin = "gpiochip0:2", active = "high", power = "300 W", flow = "2800 m³/h", flow_is = "measured" },
`, "",
).Replace(boardFarm)

// Who holds the two relays' lines and the contact's and the meter's.
const (
	relayOpen, relayClosed = "loambank out hi", "loambank out lo"
	hears                  = "loambank in "

	metrics = "get http://127.0.0.1:9798/metrics "
	holding = `loambank_state{house="lower",state="hold",store="beds"} 1`
	ran     = metrics + `loambank_fan_run_seconds_total{fan="east",house="lower",state=`
	used    = metrics + `loambank_fan_energy_kwh_total{fan="east",house="lower"`
)

// pulses are so many of the meter, about one in a second.
func pulses(n int) (all []step) {
	for range n {
		all = append(all, step{"wire 5 lo", "done"}, step{"pause 0.3", "done"}, step{"wire 5 hi", "done"}, step{"pause 0.7", "done"})
	}
	return all
}

// ordered has a person run the fan at a speed, slow 1 or fast 2, and waits until it does.
func ordered(speed int) []step {
	lines := [...]string{relayOpen, relayOpen}
	lines[speed-1] = relayClosed
	name := fmt.Sprintf("hand%d", speed)
	return []step{
		{fmt.Sprintf("start %s /loambank hand --config /farm.toml --house lower run --stage %d --for 1h", name, speed), "done"},
		{"end " + name, "exit 0"},
		{"until 20 held 1 = " + lines[0], lines[0]},
		{"until 20 held 2 = " + lines[1], lines[1]},
	}
}

// speedStory is an evening with a smoke loop that is cut.
var speedStory = slices.Concat(
	[]step{
		{"wire 4 lo", "done"},
		{"wire 5 hi", "done"},
		{"write /run/soil 14", "done"},
		{"write /run/air 5.6", "done"},
		{"mark start", "done"},
		{"start daemon /loambank run --config /farm.toml", "done"},
		{"until 20 held 1 = " + relayOpen, relayOpen},
		{"until 20 held 2 = " + relayOpen, relayOpen},
		{"until 20 held 4 = " + hears + "lo", hears + "lo"},
		{"until 20 held 5 = " + hears + "hi", hears + "hi"},
		{"until 20 " + metrics + `loambank_state{house="lower",state="rest" = ` + resting, resting},
		{"pause 1.5", "done"},
		{"held 1", relayOpen},
		{"held 2", relayOpen},
		{"mark slow", "done"},
	},
	ordered(1),
	pulses(4),
	[]step{{"mark fast", "done"}},
	ordered(2),
	pulses(10),
	[]step{
		{ran, ""},
		{used, ""},
		// The loop is cut.
		{"mark smoke", "done"},
		{"wire 4 hi", "done"},
		{"until 20 held 2 = " + relayOpen, relayOpen},
		{"held 1", relayOpen},
		{"until 20 " + metrics + `loambank_state{house="lower",state="hold" = ` + holding, holding},
		// It is mended, and nobody has cleared the fault.
		{"mark mended", "done"},
		{"wire 4 lo", "done"},
		{"pause 2.5", "done"},
		{ran, ""}, // as at the checkpoint that the hold has taken
		{used, ""},
		{metrics + `loambank_state{house="lower",state="hold"`, holding},
		{"held 2", relayOpen},
		{"mark cleared", "done"},
		{"start clear /loambank hand --config /farm.toml --house lower --clear-fault", "done"},
		{"end clear", "exit 0"},
		{"until 20 held 2 = " + relayClosed, relayClosed},
		{"mark back", "done"},
	},
	ordered(1),
	[]step{
		{"mark stop", "done"},
		{"signal daemon TERM", "done"},
		{"end daemon", "exit 0"},
		{"free 1", "out hi"},
		{"free 2", "out hi"},
		{"mark end", "done"},
	},
)

// TestSpeedsAndContactsOnAKernel runs the daemon as it is shipped on the lines of an emulated board
// whose inputs are driven from outside. What a chip's own resistor does to a wire that is cut only a
// real board shows: here the cut wire is put high, as that resistor would.
func TestSpeedsAndContactsOnAKernel(t *testing.T) {
	t.Parallel() // it waits more than it computes
	image := kernelImage(t)
	if _, err := config.Parse("farm.toml", []byte(speedFarm), nil); err != nil {
		t.Fatal(err)
	}
	b := newBoard(t, image, map[string]string{"farm.toml": speedFarm}, speedStory)
	for _, c := range []struct{ phase, slow, fast string }{
		{"start", "off claim off", "off claim off"},
		{"slow", "on", "off"},
		{"fast", "off", "off on"},
		{"smoke", "off", "off"},
		{"mended", "", ""},
		{"cleared", "off", "off on"},
		{"back", "off on", "off"},
		{"stop", "off", "off"},
		{"end", "", ""},
	} {
		words := map[string]string{"set 0": "on", "set 1": "off", "out (0)": "claim"}
		slow, _ := b.orders(c.phase, 1, words)
		fast, offS := b.orders(c.phase, 2, words)
		if slow != c.slow || fast != c.fast {
			t.Errorf("phase %q: the slow relay was told %q and the fast one %q, want %q and %q", c.phase, slow, fast, c.slow, c.fast)
		}
		if c.phase == "smoke" && offS > 2 {
			t.Errorf("the fan was off %.2f s after the loop was cut, want 2 s at most", offS)
		}
	}
	breaksBeforeMake(t, b)
	metered(t, b)
	if t.Failed() {
		b.log(t)
	}
}

// breaksBeforeMake reads in the trace that the relays of two speeds are never closed together, and
// that from one to the other both are open for half a second: common practice, no source.
func breaksBeforeMake(t *testing.T, b *board) {
	t.Helper()
	closed, opened := 0, 0 // the line whose relay is, and the last whose was; 0 is none
	openedS, changes := 0.0, 0
	for _, e := range b.trace {
		var number, level int
		if n, _ := fmt.Sscanf(e.what, "%d set %d", &number, &level); n != 2 || e.kind != "gpio_value" {
			continue
		}
		line := number - b.base
		switch {
		case level == 1 && line == closed:
			closed, opened, openedS = 0, line, e.seconds
		case level == 1 || line == closed: // it stays
		case closed != 0:
			t.Errorf("at %.6f the relay of line %d closes while that of line %d is closed", e.seconds, line, closed)
		case opened != 0 && opened != line && e.seconds-openedS < 0.5:
			t.Errorf("at %.6f line %d closes %.3f s after line %d has opened, want 0.5 s", e.seconds, line, e.seconds-openedS, opened)
			closed = line
		default:
			if opened != 0 && opened != line {
				changes++
			}
			closed = line
		}
	}
	if changes != 2 {
		t.Errorf("the fan went %d times from one speed to the other, want 2", changes)
	}
}

// metered compares the fan's energy between two checkpoints with the meter's pulses, 1 kJ each, at the
// times that the trace has.
func metered(t *testing.T, b *board) {
	t.Helper()
	var ranS, usedKWh []float64
	for _, lines := range b.figures[ran] {
		ranS = append(ranS, sum(t, lines))
	}
	for _, lines := range b.figures[used] {
		usedKWh = append(usedKWh, sum(t, lines))
	}
	var beganS []float64
	phase := ""
	for _, e := range b.trace {
		if mark, ok := strings.CutPrefix(e.what, "mark "); ok {
			phase = mark
		}
		if phase == "fast" && e.what == "wire 5 lo" {
			beganS = append(beganS, e.seconds)
		}
	}
	if len(beganS) != 10 || len(ranS) != 2 || len(usedKWh) != 2 {
		t.Fatalf("%d pulses, run times %v, energies %v; want 10, 2 and 2", len(beganS), ranS, usedKWh)
	}
	wantW := 1000 * float64(len(beganS)-1) / (beganS[len(beganS)-1] - beganS[0])
	gotW := 3.6e6 * (usedKWh[1] - usedKWh[0]) / (ranS[1] - ranS[0])
	t.Logf("%.0f W in the ledger, %.0f W by the pulses", gotW, wantW)
	// The fan runs a moment longer than the pulses come, and some of ten may be late on a busy machine.
	if !(math.Abs(gotW-wantW) < 0.15*wantW) {
		t.Errorf("the ledger has %.0f W, want %.0f W as the meter", gotW, wantW)
	}
}

// sum adds up the values of metrics, parted by "; ".
func sum(t *testing.T, lines string) (all float64) {
	t.Helper()
	for line := range strings.SplitSeq(lines, "; ") {
		v, err := strconv.ParseFloat(line[strings.LastIndexByte(line, ' ')+1:], 64)
		if err != nil {
			t.Errorf("%q: %v", line, err)
		}
		all += v
	}
	return all
}
