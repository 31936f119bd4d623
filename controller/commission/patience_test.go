package commission_test

import (
	"strings"
	"testing"

	"loambank/controller/commission"
	"loambank/controller/judge"
)

// TestASlowRoundPassesTheSame: fans start half a minute after their order, interlocks act within their two
// seconds, and the person walks a minute and a half for each deed.
func TestASlowRoundPassesTheSame(t *testing.T) {
	h := fernHollow(t)
	h.startsS, h.actsS = 30, 1
	h.types = whole()
	for _, d := range willing() {
		if d.words != "Let go" { // Enter is for when that is done
			d.do = slowly(90, d.do)
		}
		h.does = append(h.does, d)
	}
	s := begin(h)
	h.walk(s)
	b := s.Baseline()
	if b.Count(commission.Passed) != 6 || !h.heard("6 passed, 0 failed, 0 skipped") {
		t.Errorf("kept is %+v; said was %q", b, h.said)
	}
	for _, r := range b.Interlocks {
		if r.LagS == nil || *r.LagS != 1 {
			t.Errorf("%s stopped the fans after %v, want 1 s", r.Probe, r.LagS)
		}
	}
	if lost := b.Probes[0].LostS; lost == nil || *lost < 90 || *lost > 92 {
		t.Errorf("the probe was missed after %v, want a minute and a half", lost)
	}
	if h.heard("Mend what failed") {
		t.Error("something is to be mended")
	}
}

// TestOrdersAreFewAndEnd: they are renewed each half minute, and no fan runs once its step is done.
func TestOrdersAreFewAndEnd(t *testing.T) {
	h := fernHollow(t)
	h.types, h.does = whole(), willing()
	for _, words := range []string{"interlock water", "interlock smoke", "probe air", "fan north"} {
		h.does = append([]deed{{words, func(h *stand) {
			h.after(1, func(h *stand) {
				h.fans("", func(f *commission.FanLook) {
					if f.Stage > 0 {
						t.Errorf("fan %s still runs as the next step begins: %q", f.Name, words)
					}
				})
			})
		}}}, h.does...)
	}
	// In the order in which they are said.
	north, air, smoke, water := h.does[0], h.does[1], h.does[2], h.does[3]
	does := h.does[4:]
	h.does = []deed{north, water, does[0], does[1], smoke, does[2], does[3], air, does[4], does[5]}
	h.walk(begin(h))
	if len(h.does) != 0 {
		t.Errorf("%d deeds are left", len(h.does))
	}
	runs := 0
	for _, o := range h.gave {
		if o.Do == commission.Run {
			runs++
		}
	}
	// Three fan runs of a minute, given at once and after half a minute and a minute, and one for each of two
	// interlocks.
	if runs < 3*2+2 || runs > 3*3+2 {
		t.Errorf("fans were ordered to run %d times: %+v", runs, h.gave)
	}
}

// TestAFanIsSkippedWhileItRuns, and is off then.
func TestAFanIsSkippedWhileItRuns(t *testing.T) {
	h := fernHollow(t)
	s := begin(h)
	skip, stray := "s", "what?"
	ask, lines := "", []string{"", ""}
	for i := range 21 {
		var line *string
		switch {
		case i == 10:
			line = &stray // nothing is asked
		case i == 20:
			if h.look.Stores[0].Fans[0].Stage == 0 || ask != "" {
				t.Fatalf("after 20 s the fan is at rest, or %q is asked", ask)
			}
			line = &skip
		case ask != "":
			line = typed(&lines)
		}
		ask = h.update(s, line).Ask
	}
	if f := s.Baseline().Fans; len(f) != 1 || f[0].Verdict != commission.Skipped || h.look.Stores[0].Fans[0].Stage != 0 || !strings.HasPrefix(ask, "Go where") {
		t.Errorf("kept is %+v, the fan is at stage %d, %q is asked", f, h.look.Stores[0].Fans[0].Stage, ask)
	}
}

// TestALineTooManyAtTheEnd, after the last step, skips nothing.
func TestALineTooManyAtTheEnd(t *testing.T) {
	h := fernHollow(t)
	h.look.Stores, h.look.Probes = h.look.Stores[1:], nil
	s := begin(h)
	lines := []string{"", "s", "s"} // clear, north, and one more
	ask := ""
	for range 10 {
		var line *string
		if ask != "" || len(lines) == 1 {
			line = typed(&lines)
		}
		turn := h.update(s, line)
		if ask = turn.Ask; turn.Done {
			break
		}
	}
	if b := s.Baseline(); b.Finished.IsZero() || b.Count(commission.Skipped) != 1 {
		t.Errorf("kept is %+v", b)
	}
}

// TestWhatIsMeasuredIsTold beside what is stated, which is of full speed only.
func TestWhatIsMeasuredIsTold(t *testing.T) {
	h := fernHollow(t)
	h.look.Stores[1].Fans[0].PowerW = nil
	h.types = strings.Split("\n\ny\n800 cfm\n\ny\n400 cfm\n\ny\n\nq", "\n")
	h.walk(begin(h))
	for _, words := range []string{
		"Measured: it draws 480 W, stated are 500 W; air goes in at 64 °F; air comes out at 58 °F.",
		"Measured: it draws 480 W; air goes in at 64 °F; air comes out at 58 °F.",
		"That is 400 cfm.", "No probe tells its power or the temperatures of its air.",
	} {
		if !h.heard(words) {
			t.Errorf("%q was not said, but %q", words, h.said)
		}
	}
}

// TestWhatIsDoneIsNotDoneAgain, but for what failed; a round with nothing left says so.
func TestWhatIsDoneIsNotDoneAgain(t *testing.T) {
	h := fernHollow(t)
	h.types = strings.Split("\ns\ns\ns\n\nf\ns\n\nf\nq", "\n") // water and air fail
	s := begin(h)
	h.walk(s)
	b := s.Baseline()
	if b.Finished.IsZero() || b.Count(commission.Failed) != 2 || !h.heard("Mend what failed, then make the round anew.") {
		t.Fatalf("kept is %+v", b)
	}
	again := fernHollow(t)
	again.types = []string{"", "", ""}
	for _, i := range []int{0, 1, 4, 5} { // water and air
		again.does = append(again.does, willing()[i])
	}
	look := again.look
	s = commission.Begin(commission.Options{}, &look, b, again.now)
	again.walk(s)
	b = s.Baseline()
	if !again.heard("4 of 6 steps are done") || b.Count(commission.Passed) != 2 || b.Count(commission.Skipped) != 4 || b.Count(commission.Failed) != 0 {
		t.Errorf("kept is %+v, said was %q", b, again.said)
	}
	done := fernHollow(t)
	s = commission.Begin(commission.Options{}, &look, b, done.now)
	done.walk(s)
	if !done.heard("Every step of this round is done.") || len(done.said) != 1 {
		t.Errorf("said was %q", done.said)
	}
}

// TestOnlySomeInterlocksStopFans that a person runs; the others are seen, and run none.
func TestOnlySomeInterlocksStopFans(t *testing.T) {
	for _, tt := range []struct {
		role       judge.Role
		trip, back string
		runs       bool
	}{
		{judge.HandSwitch, "Turn the switch at the panel to off", "Turn the switch back", true},
		{judge.PipeWater, "under water", "Take it out", true},
		{judge.HeaterOn, "until the heater runs", "Turn the thermostat back", false},
		{judge.VentOpen, "Open the side", "Close it again", false},
	} {
		h := fernHollow(t)
		p := h.probe("water")
		p.Role, p.Store = tt.role, "path"
		h.look.Probes = h.look.Probes[1:2]
		h.types = strings.Split("\ns\ns\ns\n", "\n")
		h.does = []deed{{tt.trip, set("water", 1)}, {tt.back, set("water", 0)}}
		s := begin(h)
		h.walk(s)
		b := s.Baseline()
		if len(b.Interlocks) != 1 || b.Interlocks[0].Verdict != commission.Passed || (b.Interlocks[0].LagS != nil) != tt.runs {
			t.Errorf("%v: kept is %+v", tt.role, b.Interlocks)
		}
		for _, o := range h.gave {
			if o.Do == commission.Run && (!tt.runs || o.Store != "path") {
				t.Errorf("%v: %+v was ordered", tt.role, o)
			}
		}
	}
}

// TestTheStoreOfAnInterlockSaysWhy no fan runs there.
func TestTheStoreOfAnInterlockSaysWhy(t *testing.T) {
	h := fernHollow(t)
	h.probe("water").Store, h.stuck["north"] = "path", true
	h.look.Stores[0].Why, h.look.Stores[1].Why = "the beds rest", "its switch is off"
	h.types = strings.Split("\ns\ns\ns\n\nf\nq", "\n")
	h.walk(begin(h))
	if !h.heard("No fan runs that it could stop. The house says: its switch is off.") {
		t.Errorf("said was %q", h.said)
	}
}
