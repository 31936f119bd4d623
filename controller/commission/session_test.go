package commission_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"loambank/controller/commission"
	"loambank/controller/judge"
)

// whole is what a person types through a round of fernHollow in which all is well.
func whole() []string {
	return []string{
		"",                                  // everybody is clear
		"", "y", "650 640 660 fpm in 12 in", // east at full speed
		"", "y", "", // at its first speed
		"", "s", "800 cfm", // north
		"",     // water
		"", "", // smoke, and cleared
		"", // air
	}
}

// willing does all that whole asks for.
func willing() []deed {
	return []deed{
		{"under water", set("water", 1)},
		{"Take it out", set("water", 0)},
		{"test button", set("smoke", 1)},
		{"Let go", set("smoke", 0)},
		{"pull the plug", age("air", 100)},
		{"Plug it back", age("air", 0)},
	}
}

// TestARoundInWhichAllIsWell from the first question to the baseline.
func TestARoundInWhichAllIsWell(t *testing.T) {
	h := fernHollow(t)
	h.look.Stores[0].Learned = &commission.Flow{M3s: 0.38, SE: 0.02}
	h.look.Stores[1].Learned = &commission.Flow{M3s: 0.38, SE: 0.2} // not well enough
	h.types, h.does = whole(), willing()
	s := begin(h)
	h.walk(s)
	got := s.Baseline()
	// 650 ft/min through a round duct of 12 in: 3.302 m/s times pi (0.3048 m)²/4 is 0.24094 m³/s, by hand.
	want := commission.Baseline{
		Schema: 1, House: "lower", Begun: begun, Finished: h.now,
		Fans: []commission.FanResult{
			{Store: "beds", Fan: "east", Stage: 2, Full: true, Verdict: commission.Passed, Direction: "right", FlowM3s: number(0.24094), Readings: "650 640 660 fpm in 12 in", PowerW: number(480), DuctInC: number(18), DuctOutC: number(14.5)},
			{Store: "beds", Fan: "east", Stage: 1, Verdict: commission.Passed, Direction: "right", PowerW: number(480), DuctInC: number(18), DuctOutC: number(14.5)},
			{Store: "path", Fan: "north", Stage: 1, Full: true, Verdict: commission.Passed, FlowM3s: number(0.377558), Readings: "800 cfm", PowerW: number(300)},
		},
		Stores: []commission.StoreResult{{Store: "beds", Learned: commission.Flow{M3s: 0.38, SE: 0.02}}},
		Interlocks: []commission.InterlockResult{
			{Probe: "water", Store: "beds", Role: judge.PipeWater, Verdict: commission.Passed, LagS: number(0)},
			{Probe: "smoke", Role: judge.Smoke, Verdict: commission.Passed, LagS: number(0)},
		},
		Probes: []commission.ProbeResult{{Probe: "air", Role: judge.Air, Verdict: commission.Passed, LostS: number(1)}},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-5)); diff != "" {
		t.Errorf("baseline (-want +got):\n%s", diff)
	}
	if err := got.Check(); err != nil {
		t.Error(err)
	}
	if h.kept != 7 || len(h.types) != 0 || len(h.does) != 0 {
		t.Errorf("kept %d times, %q not typed and %d deeds not done; want one for each of 6 steps and one at the end", h.kept, h.types, len(h.does))
	}
	for _, words := range []string{
		"lock out the disconnect", "licensed electrician", "not a safety device", "6 passed, 0 failed, 0 skipped",
		"That is 511 cfm; stated are 848 cfm. Put what you measured into the settings: flow = \"511 cfm\"", "That is 800 cfm; stated are 848 cfm.",
	} {
		if !h.heard(words) {
			t.Errorf("%q was not said", words)
		}
	}
	if h.heard("800 cfm; stated are 848 cfm. Put") {
		t.Error("a flow that is nearly the stated one is asked for in the settings")
	}
	text, err := json.Marshal(&got)
	if err != nil {
		t.Fatal(err)
	}
	var back commission.Baseline
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, back); diff != "" {
		t.Errorf("through JSON (-before +after):\n%s", diff)
	}
}

// TestWhatGoesWrongIsSaidAndKept has one thing wrong in each round.
func TestWhatGoesWrongIsSaidAndKept(t *testing.T) {
	const (
		fan1  = "\n\ny\n\n"
		fans  = fan1 + "\ny\n\n\ny\n\n"
		water = fans + "\n"
		air   = fans + "s\ns\n\n"
	)
	tests := []struct {
		name  string
		types string // lines
		wrong func(*stand)
		does  []deed
		said  string
		holds func(*commission.Baseline) bool
	}{
		{
			"the air goes the wrong way", "\n\nn\n\nq", nil, nil, "the air goes the wrong way",
			func(b *commission.Baseline) bool {
				return b.Fans[0].Verdict == commission.Failed && b.Fans[0].Direction == "wrong"
			},
		},
		{
			"a fan does not start", "\n\nf\nq", func(h *stand) { h.stuck["east"] = true; h.look.Stores[0].Why = "it waits for a fault" }, nil, "The house says: it waits for a fault.",
			func(b *commission.Baseline) bool {
				return b.Fans[0].Verdict == commission.Failed && b.Fans[0].PowerW == nil
			},
		},
		{
			"a fan runs at another speed, as there is no power for more", "\n\nf\nq", func(h *stand) { h.stuck["east"] = true; h.look.Stores[0].Fans[0].Stage = 1 }, nil, "does not run as ordered",
			func(b *commission.Baseline) bool { return b.Fans[0].Verdict == commission.Failed },
		},
		{
			"smoke stays latched", fans + "s\n\n\nf\nq", func(h *stand) { h.stuck["smoke"] = true },
			[]deed{{"test button", set("smoke", 1)}, {"Let go", set("smoke", 0)}},
			"still holds the fans",
			func(b *commission.Baseline) bool { return b.Interlocks[1].Verdict == commission.Failed },
		},
		{
			"a fan takes no orders", "\n\nf\nq", func(h *stand) { h.look.Stores[0].Fans[0].Obeys = false }, nil, "takes no orders",
			func(b *commission.Baseline) bool { return b.Fans[0].Verdict == commission.Failed },
		},
		{
			"another fan runs on", "\n\nf\nq", func(h *stand) { h.stuck["north"] = true; h.look.Stores[1].Fans[0].Stage = 1 }, nil, "Fan path/north runs too",
			func(b *commission.Baseline) bool { return b.Fans[0].Verdict == commission.Failed },
		},
		{
			"a fan of another store that the program runs is kept off meanwhile", "\n\ny\n\nq", func(h *stand) { h.look.Stores[1].Fans[0].Stage = 1 }, nil, "Passed.",
			func(b *commission.Baseline) bool { return b.Fans[0].Verdict == commission.Passed },
		},
		{
			"a fan is tried again and runs then", "\n\n\ny\n\nq", func(h *stand) { h.stuck["east"] = true },
			[]deed{{"does not run as ordered", func(h *stand) { h.stuck["east"] = false }}},
			"Passed.",
			func(b *commission.Baseline) bool { return b.Fans[0].Verdict == commission.Passed },
		},
		{
			"a flow that is none is asked for again", "\n\ny\n650 fpm\n650 fpm in 12 in\nq", nil, nil, "650 fpm",
			func(b *commission.Baseline) bool { return b.Fans[0].FlowM3s != nil },
		},
		{
			"an answer that is none is asked for again", "\nx\n\nperhaps\ny\n\nq", nil, nil, `"perhaps" is no answer`,
			func(b *commission.Baseline) bool { return b.Fans[0].Direction == "right" },
		},
		{
			"an interlock is skipped", fans + "s\nq", nil, nil, "Skipped.",
			func(b *commission.Baseline) bool { return b.Interlocks[0].Verdict == commission.Skipped },
		},
		{
			"an interlock is not seen", water + "f\nq", nil, nil, "has not seen it trip",
			func(b *commission.Baseline) bool {
				return b.Interlocks[0].Verdict == commission.Failed && b.Interlocks[0].LagS == nil
			},
		},
		{
			"an interlock is read and stops nothing", water + "f\nq", func(h *stand) { h.stuck["water"] = true },
			[]deed{{"under water", set("water", 1)}},
			"fan beds/east runs on",
			func(b *commission.Baseline) bool { return b.Interlocks[0].Verdict == commission.Failed },
		},
		{
			"an interlock reads on before", water + "f\nq", nil,
			[]deed{{"interlock water", set("water", 1)}},
			"It reads on already",
			func(b *commission.Baseline) bool { return b.Interlocks[0].Verdict == commission.Failed },
		},
		{
			"an interlock is not put back", water + "f\nq", nil,
			[]deed{{"under water", set("water", 1)}},
			"It still reads on",
			func(b *commission.Baseline) bool { return b.Interlocks[0].Verdict == commission.Failed },
		},
		{
			"the wrong probe is pulled", air + "f\nq", nil, nil, "still reads it",
			func(b *commission.Baseline) bool {
				return b.Probes[0].Verdict == commission.Failed && b.Probes[0].LostS == nil
			},
		},
		{
			"a probe does not come back", air + "f\nq", nil,
			[]deed{{"pull the plug", age("air", 100)}},
			"has not come back",
			func(b *commission.Baseline) bool { return b.Probes[0].Verdict == commission.Failed },
		},
		{
			"a probe was lost before", air + "f\nq", age("air", 100), nil, "not read even now",
			func(b *commission.Baseline) bool { return b.Probes[0].Verdict == commission.Failed },
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := fernHollow(t)
			h.types, h.does = strings.Split(tt.types, "\n"), tt.does
			if tt.wrong != nil {
				tt.wrong(h)
			}
			s := begin(h)
			h.walk(s)
			b := s.Baseline()
			if !h.heard(tt.said) {
				t.Errorf("%q was not said, but %q", tt.said, h.said)
			}
			if complete := strings.HasPrefix(tt.types, air); b.Finished.IsZero() == complete {
				t.Errorf("the round ended at %v; it is the last step: %v", b.Finished, complete)
			}
			if !tt.holds(&b) {
				t.Errorf("kept is %+v", b)
			}
		})
	}
}

// TestARoundGoesOn stops after one fan, and begins again with what was kept.
func TestARoundGoesOn(t *testing.T) {
	h := fernHollow(t)
	h.types = []string{"", "", "y", "", "", "n", "", "q"} // at its first speed the air goes the wrong way
	s := begin(h)
	h.walk(s)
	if h.look.Stores[0].Fans[0].Stage != 0 || len(h.left) != 0 && h.left["beds"] > 0 {
		t.Errorf("after q orders are left: %v", h.left)
	}
	again := fernHollow(t)
	again.types, again.does = whole()[:1], willing()
	again.types = append(again.types, whole()[4:]...)
	look := again.look
	s = commission.Begin(commission.Options{SettleS: 60}, &look, s.Baseline(), again.now)
	again.walk(s)
	if !again.heard("goes on: 1 of 6 steps are done") || !again.heard("2 of 6: fan east of beds at speed 1") {
		t.Errorf("said was %q", again.said)
	}
	if b := s.Baseline(); len(b.Fans) != 3 || b.Finished.IsZero() || !b.Begun.Equal(begun) {
		t.Errorf("kept is %+v", b)
	}
}

// TestFrostEndsTheRound in the middle of a fan's time.
func TestFrostEndsTheRound(t *testing.T) {
	h := fernHollow(t)
	h.types = []string{"", ""}
	h.does = []deed{{"It runs for", func(h *stand) { h.look.Frost = true }}}
	s := begin(h)
	h.walk(s)
	if !h.heard("at its frost limit") || h.look.Stores[0].Fans[0].Stage != 0 || len(s.Baseline().Fans) != 0 {
		t.Errorf("said was %q; the fan is at stage %d", h.said, h.look.Stores[0].Fans[0].Stage)
	}
}

// TestAnOrderEndsWhereNobodyAttends leaves a question open for half an hour.
func TestAnOrderEndsWhereNobodyAttends(t *testing.T) {
	h := fernHollow(t)
	s := begin(h)
	lines, ask := []string{"", ""}, ""
	ran := 0
	for range 1800 {
		var line *string
		if ask != "" {
			line = typed(&lines)
		}
		if h.look.Stores[0].Fans[0].Stage > 0 {
			ran++
		}
		ask = h.update(s, line).Ask
	}
	// A minute to settle, a quarter of an hour for the answer, and the last order's time.
	if h.look.Stores[0].Fans[0].Stage != 0 || ran < 960 || ran > 960+90 {
		t.Errorf("the fan ran for %d s and is at stage %d", ran, h.look.Stores[0].Fans[0].Stage)
	}
}

// TestASilentHouseEndsTheRound, whether the daemon is gone or its last tick is old.
func TestASilentHouseEndsTheRound(t *testing.T) {
	for _, gone := range []bool{true, false} {
		h := fernHollow(t)
		s := begin(h)
		look, over := h.look, false
		for i := 0; i < 200 && !over; i++ {
			h.now = h.now.Add(time.Second)
			e := commission.Event{Now: h.now, PassedS: 1, Look: &look}
			if gone {
				e.Look = nil
			}
			if turn := s.Update(e); turn.Done {
				over = true
				if want := 31 + map[bool]int{false: 40}[gone]; i+1 != want {
					t.Errorf("it ended after %d s, want %d", i+1, want)
				}
			}
		}
		if !over {
			t.Error("it goes on in silence")
		}
	}
}

// TestSpeedsThatAreTried are three at most.
func TestSpeedsThatAreTried(t *testing.T) {
	for stages, want := range map[uint8][]uint8{0: nil, 1: {1}, 2: {2, 1}, 3: {3, 2, 1}, 10: {10, 5, 1}, 255: {255, 128, 1}} {
		l := commission.Look{Stores: []commission.StoreLook{{Name: "beds", Fans: []commission.FanLook{{Name: "east", Stages: stages}}}}}
		var got []uint8
		for _, s := range commission.Steps(&l) {
			got = append(got, s.Stage)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("of %d stages (-want +got):\n%s", stages, diff)
		}
	}
}

// TestAirflowAsItIsTyped against figures worked by hand.
func TestAirflowAsItIsTyped(t *testing.T) {
	for _, tt := range []struct {
		text string
		want float64 // m³/s
		err  string
	}{
		{"800 cfm", 0.3775579, ""},                     // greenhouse-S019 to S021: 800 × 0.0004719474
		{"650 fpm in 12 in", 0.240942, ""},             // 3.302 m/s × 0.0729659 m²
		{"3.2 3.4 m/s in 0.07 m2", 0.231, ""},          // 3.3 × 0.07
		{"3.2, 3.4 m/s in 0.07 m2", 0.231, ""},         // with a comma between
		{"10 km/h in 0.5 m", 0.545415, ""},             // 2.77778 × 0.1963495
		{"0 fpm in 12 in", 0, "no airflow"},            // a fan that moves nothing has no baseline
		{"650 in 12 in", 0, "no readings with a unit"}, // which unit?
		{"650 knots in 12 in", 0, "no unit of air speed"},
		{"-3 4 fpm in 12 in", 0, "is no reading"},
		{"650 fpm in 12", 0, "diameter"},
		{"650 fpm in 900 in", 0, "no diameter"},
		{"390 mph in 1 cm", 0.0136930, ""},    // 174.34 m/s × 7.85398e-5 m²
		{"650 ft/min in 12 in", 0.240942, ""}, // as fpm
		{"fast", 0, "write \"800 cfm\""},
		{strings.Repeat("650 ", 51) + "fpm in 12 in", 0, "too many"},
	} {
		got, err := commission.ParseAirflow(tt.text)
		if (err == nil) != (tt.err == "") || err != nil && !strings.Contains(err.Error(), tt.err) {
			t.Errorf("%q: %v, want an error with %q", tt.text, err, tt.err)
		}
		if math.Abs(got-tt.want) > 1e-5 {
			t.Errorf("%q is %v m³/s, want %v", tt.text, got, tt.want)
		}
	}
}

func FuzzParseAirflow(f *testing.F) {
	for _, text := range []string{"800 cfm", "650 640 655 fpm in 12 in", "3.2 m/s in 0.07 m2", " in ", "1e308 1e308 fpm in 5 m"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		flow, err := commission.ParseAirflow(text)
		if err == nil && !(flow >= 0 && flow <= 1000) {
			t.Errorf("%q is read as %v m³/s", text, flow)
		}
	})
}

// TestARoundThatIsNotBegunLeavesNothing, by q or by another answer.
func TestARoundThatIsNotBegunLeavesNothing(t *testing.T) {
	for _, line := range []string{"q", "no"} {
		h := fernHollow(t)
		h.types = []string{line}
		s := begin(h)
		h.walk(s)
		if h.kept != 0 {
			t.Errorf("after %q a round is kept %d times", line, h.kept)
		}
	}
}

// TestTheSecondHalfIsMeasured of the time that a fan runs: a motor that starts draws more.
func TestTheSecondHalfIsMeasured(t *testing.T) {
	h := fernHollow(t)
	s := begin(h)
	lines, ask := []string{"", "", "y", "", "q"}, ""
	for ran := 0; ; {
		f := &h.look.Stores[0].Fans[0]
		if f.PowerW = number(480); f.Stage > 0 {
			if ran++; ran <= 28 { // of 60 s
				f.PowerW = number(1500)
			}
		}
		var line *string
		if ask != "" {
			line = typed(&lines)
		}
		turn := h.update(s, line)
		if ask = turn.Ask; turn.Done {
			break
		}
	}
	if f := s.Baseline().Fans; len(f) != 1 || f[0].PowerW == nil || *f[0].PowerW != 480 {
		t.Errorf("kept is %+v", f)
	}
}

// TestAnInterlockHasTwoSeconds from its reading to fans off.
func TestAnInterlockHasTwoSeconds(t *testing.T) {
	h := fernHollow(t)
	h.stuck["water"] = true
	h.types = strings.Split("\n\ny\n\n\ny\n\n\ny\n\n\nf\nq", "\n")
	var tripped time.Time
	h.does = []deed{
		{"under water", func(h *stand) { set("water", 1)(h); tripped = h.now }},
		{"runs on", func(h *stand) {
			if took := h.now.Sub(tripped); took > 5*time.Second {
				t.Errorf("it took %v to be found", took)
			}
		}},
	}
	h.walk(begin(h))
	if len(h.does) != 0 {
		t.Error("nobody was told")
	}
}
