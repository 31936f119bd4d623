package commission_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/judge"
)

// measured is a baseline of fernHollow: east drew 480 W and 90 W, north 300 W and moved 0.4 m³/s.
func measured() *commission.Baseline {
	return &commission.Baseline{
		Schema: 1, House: "lower", Begun: begun, Finished: begun,
		Fans: []commission.FanResult{
			{Store: "beds", Fan: "east", Stage: 2, Full: true, Verdict: commission.Passed, PowerW: number(500)},
			{Store: "beds", Fan: "east", Stage: 1, Verdict: commission.Passed, PowerW: number(100)},
			{Store: "path", Fan: "north", Stage: 1, Full: true, Verdict: commission.Passed, PowerW: number(300), FlowM3s: number(0.4)},
		},
		Stores: []commission.StoreResult{{Store: "beds", Learned: commission.Flow{M3s: 0.5, SE: 0.02}}},
	}
}

// TestAFanStraysFromItsBaseline once it has run off it by a fifth for an hour.
func TestAFanStraysFromItsBaseline(t *testing.T) {
	type run struct {
		stage   uint8
		powerW  float64
		learned *commission.Flow
		minutes int
	}
	flow := func(m3s, se float64) *commission.Flow { return &commission.Flow{M3s: m3s, SE: se} }
	east := func(what commission.Measure, was, is float64) []commission.Comparison {
		return []commission.Comparison{{Store: "beds", Fan: "east", What: what, Was: was, Is: is}}
	}
	tests := []struct {
		name string
		runs []run
		want []commission.Comparison
	}{
		{"power a fifth under", []run{{2, 400, nil, 60}}, east(commission.Power, 500, 400)},
		{"a fifth over", []run{{2, 600, nil, 60}}, east(commission.Power, 500, 600)},
		{"a little less than a fifth", []run{{2, 401, nil, 600}}, nil},
		{"for less than an hour", []run{{2, 400, nil, 59}}, nil},
		{"its rest does not count and breaks nothing", []run{{2, 400, nil, 40}, {0, 0, nil, 300}, {2, 400, nil, 20}}, east(commission.Power, 500, 400)},
		{"nor does rest alone", []run{{2, 400, nil, 30}, {0, 0, nil, 300}}, nil},
		{"it runs well again in between", []run{{2, 400, nil, 40}, {2, 500, nil, 120}, {2, 400, nil, 40}}, nil},
		{"at its other speed it is held against that", []run{{1, 80, nil, 60}}, east(commission.Power, 100, 80)},
		{"which is well at what is little at full speed", []run{{1, 100, nil, 600}}, nil},
		{"learned airflow a fifth under", []run{{2, 500, flow(0.4, 0.02), 60}}, east(commission.Airflow, 0.5, 0.4)},
		{"but not known so well", []run{{2, 500, flow(0.4, 0.06), 600}}, nil},
		{"nor learned to a quarter", []run{{2, 500, flow(0.3, 0.09), 600}}, nil},
		{"a fifth over", []run{{2, 500, flow(0.6, 0.02), 60}}, east(commission.Airflow, 0.5, 0.6)},
		{"still as it was", []run{{2, 500, flow(0.45, 0.02), 600}}, nil},
		{"airflow of a fan at rest", []run{{0, 0, flow(0.4, 0.02), 600}}, nil},
	}
	for _, tt := range tests {
		h := fernHollow(t)
		b, w := measured(), commission.Watch{}
		for _, r := range tt.runs {
			f := &h.look.Stores[0].Fans[0]
			f.Stage, f.PowerW, h.look.Stores[0].Learned = r.stage, number(r.powerW), r.learned
			for range 6 * r.minutes {
				w = w.Update(b, &h.look, 10)
			}
			text, err := json.Marshal(&w)
			if err != nil {
				t.Fatal(err)
			}
			w = commission.Watch{}
			if err := json.Unmarshal(text, &w); err != nil {
				t.Fatal(err)
			}
		}
		if diff := cmp.Diff(tt.want, w.Strays(b, &h.look)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
}

// TestOneFansAnemometerIsItsStoresAirflow, but not where fans share the pipes.
func TestOneFansAnemometerIsItsStoresAirflow(t *testing.T) {
	h, b := fernHollow(t), measured()
	path := &h.look.Stores[1]
	path.Fans[0].Stage, path.Learned = 1, &commission.Flow{M3s: 0.3, SE: 0.01}
	after := func() []commission.Comparison {
		w := commission.Watch{}.Update(b, &h.look, 3600)
		return w.Strays(b, &h.look)
	}
	want := []commission.Comparison{{Store: "path", Fan: "north", What: commission.Airflow, Was: 0.4, Is: 0.3}}
	if diff := cmp.Diff(want, after()); diff != "" {
		t.Errorf("one fan (-want +got):\n%s", diff)
	}
	path.Fans = append(path.Fans, commission.FanLook{Name: "south", Stage: 1, Stages: 1, Obeys: true})
	if got := after(); len(got) != 0 {
		t.Errorf("two fans on common pipes: %v", got)
	}
}

// TestWhatCanBeComparedNow, also where it is as it was.
func TestWhatCanBeComparedNow(t *testing.T) {
	h, b := fernHollow(t), measured()
	if got := commission.Compare(b, &h.look); len(got) != 0 {
		t.Errorf("fans at rest: %v", got)
	}
	beds, path := &h.look.Stores[0], &h.look.Stores[1]
	beds.Fans[0].Stage, beds.Fans[0].PowerW, beds.Learned = 1, number(99), &commission.Flow{M3s: 0.51, SE: 0.02}
	path.Fans[0].Stage, path.Fans[0].PowerW = 1, nil
	want := []commission.Comparison{
		{Store: "beds", Fan: "east", What: commission.Power, Was: 100, Is: 99},
		{Store: "beds", What: commission.Airflow, Was: 0.5, Is: 0.51},
	}
	if diff := cmp.Diff(want, commission.Compare(b, &h.look)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestAMeterThatFlickersIsNoStray has a reading that falls away every other minute.
func TestAMeterThatFlickersIsNoStray(t *testing.T) {
	h, b, w := fernHollow(t), measured(), commission.Watch{}
	f := &h.look.Stores[0].Fans[0]
	f.Stage = 2
	for i := range 3600 {
		f.PowerW = number(500)
		if i/6%4 == 0 {
			f.PowerW = number(390) // one minute of four, a mean of 472.5 W
		}
		w = w.Update(b, &h.look, 10)
		if got := w.Strays(b, &h.look); len(got) != 0 {
			t.Fatalf("after %d s it strays: %v", 10*i, got)
		}
	}
}

// TestANoisyMeterIsAveraged: every other reading is near enough, the mean is not.
func TestANoisyMeterIsAveraged(t *testing.T) {
	h, b, w := fernHollow(t), measured(), commission.Watch{}
	f := &h.look.Stores[0].Fans[0]
	f.Stage = 2
	for i := range 600 {
		f.PowerW = number(300 + 120*float64(i%2)) // a mean of 360 W
		w = w.Update(b, &h.look, 10)
	}
	if got := w.Strays(b, &h.look); len(got) != 1 || got[0].Is < 350 || got[0].Is > 370 {
		t.Errorf("after 100 min %v", got)
	}
}

// TestAWatchTakesNoHarm from long times, times that are none, fans that take no orders and meters that are
// lost.
func TestAWatchTakesNoHarm(t *testing.T) {
	b := measured()
	strange := func(dtS float64, change func(*commission.FanLook)) []commission.Comparison {
		h := fernHollow(t)
		f := &h.look.Stores[0].Fans[0]
		f.Stage, f.PowerW = 2, number(400)
		change(f)
		w := commission.Watch{}.Update(b, &h.look, dtS)
		if x := w.Fans[0]; !(x.W >= 0 && x.W <= 500 && x.PowerS >= 0 && x.PowerS <= 3600) {
			t.Errorf("after %v s %+v is known", dtS, x)
		}
		return w.Strays(b, &h.look)
	}
	same := func(*commission.FanLook) {}
	if got := strange(7200, same); len(got) != 1 {
		t.Errorf("two hours at once: %v", got)
	}
	for _, dtS := range []float64{-7200, 0, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := strange(dtS, same); len(got) != 0 {
			t.Errorf("%v s: %v", dtS, got)
		}
	}
	if got := strange(7200, func(f *commission.FanLook) { f.Obeys = false }); len(got) != 0 {
		t.Errorf("a fan that takes no orders: %v", got)
	}
	if got := strange(7200, func(f *commission.FanLook) { f.PowerW = nil }); len(got) != 0 {
		t.Errorf("a meter that is lost: %v", got)
	}
}

// TestEachFanIsWatchedForItself, also beside another on the same pipes.
func TestEachFanIsWatchedForItself(t *testing.T) {
	h, b := fernHollow(t), measured()
	beds := &h.look.Stores[0]
	beds.Fans = append(beds.Fans, commission.FanLook{Name: "west", Stages: 1, Obeys: true, Stage: 1, PowerW: number(100)})
	b.Fans = append(b.Fans, commission.FanResult{Store: "beds", Fan: "west", Stage: 1, Full: true, PowerW: number(200)})
	beds.Fans[0].Stage, beds.Fans[0].PowerW = 2, number(500)
	w := commission.Watch{}
	for range 7 {
		w = w.Update(b, &h.look, 600)
	}
	want := []commission.Comparison{{Store: "beds", Fan: "west", What: commission.Power, Was: 200, Is: 100}}
	if diff := cmp.Diff(want, w.Strays(b, &h.look)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestAnemometersOfOtherFansAndSpeeds are not the store's airflow.
func TestAnemometersOfOtherFansAndSpeeds(t *testing.T) {
	for name, r := range map[string]commission.FanResult{
		"another store": {Store: "beds", Fan: "north", Stage: 1, Full: true, FlowM3s: number(0.4)},
		"another fan":   {Store: "path", Fan: "south", Stage: 1, Full: true, FlowM3s: number(0.4)},
		"a slow speed":  {Store: "path", Fan: "north", Stage: 1, FlowM3s: number(0.4)},
		"not measured":  {Store: "path", Fan: "north", Stage: 1, Full: true},
	} {
		h, b := fernHollow(t), measured()
		h.look.Stores[1].Learned = &commission.Flow{M3s: 0.2, SE: 0.01}
		b.Fans = []commission.FanResult{r}
		if got := commission.Compare(b, &h.look); len(got) != 0 {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// TestMeasuresHaveWords for the log.
func TestMeasuresHaveWords(t *testing.T) {
	if a, b := commission.Power.String(), commission.Airflow.String(); a != "power" || b != "airflow" {
		t.Errorf("%q and %q", a, b)
	}
}

// TestForeignBaselinesAreChecked names what is wrong with each.
func TestForeignBaselinesAreChecked(t *testing.T) {
	for name, spoil := range map[string]func(*commission.Baseline){
		"another schema":         func(b *commission.Baseline) { b.Schema = 2 },
		"no house":               func(b *commission.Baseline) { b.House = "" },
		"no beginning":           func(b *commission.Baseline) { b.Begun = time.Time{} },
		"an end before it":       func(b *commission.Baseline) { b.Finished = b.Begun.Add(-time.Second) },
		"a power under 0":        func(b *commission.Baseline) { b.Fans[0].PowerW = number(-1) },
		"a flow under 0":         func(b *commission.Baseline) { b.Fans[2].FlowM3s = number(-1) },
		"more fans than a house": func(b *commission.Baseline) { b.Fans = make([]commission.FanResult, 1001) },
		"more interlocks":        func(b *commission.Baseline) { b.Interlocks = make([]commission.InterlockResult, 1001) },
		"more probes":            func(b *commission.Baseline) { b.Probes = make([]commission.ProbeResult, 1001) },
	} {
		b := measured()
		if err := b.Check(); err != nil {
			t.Fatal(err)
		}
		if spoil(b); b.Check() == nil {
			t.Errorf("%s is taken", name)
		}
	}
	still := measured()
	still.Fans[0].PowerW, still.Fans[2].FlowM3s, still.Fans[1].PowerW = number(0), number(0), nil
	if err := still.Check(); err != nil {
		t.Errorf("a fan that draws and moves nothing: %v", err)
	}
	var v commission.Verdict
	if err := v.UnmarshalText([]byte("good")); err == nil {
		t.Error("a word that is no verdict is read")
	}
	for want := range commission.Passed + 1 {
		text, err := want.MarshalText()
		if err != nil || v.UnmarshalText(text) != nil || v != want {
			t.Errorf("%v comes back as %v, %v", want, v, err)
		}
	}
	for _, n := range []commission.Verdict{commission.Passed + 1, 9} {
		if _, err := n.MarshalText(); err == nil || !strings.Contains(err.Error(), "verdict(") {
			t.Errorf("a number that is no verdict is written: %v", err)
		}
	}
}

// TestAnyRoundIsSafe types anything at a house where anything happens.
func TestAnyRoundIsSafe(t *testing.T) {
	words := []string{"", "", "", "y", "n", "s", "f", "800 cfm", "x"}
	rapid.Check(t, func(rt *rapid.T) {
		h := fernHollow(t)
		look := h.look
		s := commission.Begin(commission.Options{SettleS: 20, Display: unit.SI}, &look, commission.Baseline{}, h.now)
		aloneS, over, stops := 0.0, false, ""
		n := rapid.IntRange(1, 400).Draw(rt, "events")
		for range n {
			h.pass()
			p := &h.look.Probes[rapid.IntRange(0, 2).Draw(rt, "probe")]
			switch rapid.IntRange(0, 9).Draw(rt, "what") {
			case 0:
				p.Usable = !p.Usable
			case 1, 2:
				p.Value = 1 - min(1, p.Value)
			case 3:
				p.AgeS = 100 - p.AgeS
			case 4:
				h.stuck["east"] = !h.stuck["east"]
			}
			look := h.look
			look.Frost = rapid.IntRange(0, 300).Draw(rt, "frost") == 0
			e := commission.Event{Now: h.now, PassedS: 1, Look: &look}
			if rapid.Bool().Draw(rt, "typed") {
				word := rapid.SampledFrom(words).Draw(rt, "word")
				e.Line = &word
			}
			if look.Stores[0].Fans[0].Stage > 0 && look.Stores[1].Fans[0].Stage == 0 {
				aloneS++
			}
			fans := len(s.Baseline().Fans)
			turn := s.Update(e)
			for _, o := range turn.Orders {
				h.obey(o)
				stops = ""
				if o.Do != commission.Auto {
					stops = "an order stands"
				}
			}
			if b := s.Baseline(); len(b.Fans) > fans {
				if f := b.Fans[fans]; f.Store == "beds" && f.Verdict == commission.Passed && aloneS < 20 {
					rt.Errorf("%s passed after %v s alone", f.Fan, aloneS)
				}
				aloneS = 0
			}
			if look.Frost && !turn.Done {
				rt.Error("it goes on in frost")
			}
			if over = turn.Done; over {
				break
			}
		}
		if over && stops != "" {
			rt.Error("the round is over, and " + stops)
		}
		for _, r := range s.Baseline().Interlocks {
			if r.Verdict == commission.Passed && r.Role != judge.Air && r.LagS != nil && *r.LagS > 3 {
				rt.Errorf("%s passed with %v s", r.Probe, *r.LagS)
			}
		}
	})
}
